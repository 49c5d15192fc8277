"""What the floor of panels holds and what it leaves to others: no markup, no style, no voice; a law over its source."""

import re
from pathlib import Path

import pytest

import mixlab.panels

FOLDER = Path(mixlab.panels.__file__).parent
MODULES = sorted(FOLDER.rglob("*.py"))
FORBIDDEN = {
    "style": r"<style|_STYLE\b",
    "an element of a page": r"</?(div|span|p|ol|ul|li|table|tr|td|th|h\d|small|u|sup)\b",
    "escaping": r"\bescape\(|from html import",
    "whose voice it is": r"\bvoice_now\b|_voice\b|\bremembered\b",
    "a handler that is not registered by the panel": r"\.observe\(|\.on_click\(",
}


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(FOLDER)))
def test_a_panel_holds_nothing_that_belongs_to_the_page_or_the_voice(module):
    text = module.read_text(encoding="utf-8")
    found = {what: match[0] for what, pattern in FORBIDDEN.items() if (match := re.search(pattern, text))}
    assert found == {}


def test_one_style_sheet_knows_every_panel():
    sheet = (FOLDER.parent / "screen" / "panels.css").read_text(encoding="utf-8")
    kinds = {
        kind for path in MODULES for kind in re.findall(r'(?:voice|site), "(mixlab-[\w-]+)"', path.read_text("utf-8"))
    }
    assert len(kinds) == 7
    assert [kind for kind in kinds if f".{kind}" not in sheet] == []
