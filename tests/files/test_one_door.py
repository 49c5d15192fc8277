"""Only `mixlab.files` reads and writes outside text; where another module must, its line stands here with the reason."""

import ast
from pathlib import Path

import mixlab

HOUSE = Path(mixlab.__file__).parent
OPENED = {"open", "read_text", "write_text", "read_bytes", "write_bytes", "replace", "rename", "touch"}
"""What takes text from the disk or puts it there; `replace` and `rename` only where they are given one thing."""

ELSEWHERE = {
    ("words/spelling.py", "open"),  # the words stand below the files; it is our own table
    ("words/translations.py", "open"),  # the same: our own translations
    ("adapting/catalogue.py", "open"),  # a translator's file, which Babel reads
    ("adapting/catalogue.py", "read_text"),  # our own modules
    ("screen/frame.py", "read_text"),  # our own script and style sheet
    ("screen/picture.py", "read_text"),  # likewise
    ("adapting/site_desk.py", "read_bytes"),  # a faulty file is shown as it is; load_site says what is wrong with it
    ("adapting/cohort/changed_since.py", "read_bytes"),  # digests of whatever a notebook has become
}


def test_no_other_module_opens_or_writes_a_file():
    found = set()
    for path in sorted(HOUSE.rglob("*.py")):
        place = path.relative_to(HOUSE)
        if place.parts[0] in ("files", "launch"):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            bare = isinstance(node.func, ast.Name)
            called = getattr(node.func, "id" if bare else "attr", "")
            one_thing = len(node.args) == 1 and not node.keywords
            if called in (["open"] if bare else OPENED) and (called not in ("replace", "rename") or one_thing):
                found.add((place.as_posix(), called))
    assert found == ELSEWHERE
