"""Laws over every template: it says nothing itself, escapes nothing by hand, and lets nothing through unescaped."""

import ast
import re
from html.parser import HTMLParser
from importlib import resources
from pathlib import Path

import pytest
from jinja2 import nodes

import mixlab
from mixlab.adapting.catalogue import messages
from mixlab.pages.engine import _environment

FOLDER = Path(str(resources.files("mixlab.pages"))) / "templates"
TEMPLATES = sorted(FOLDER.iterdir())
PACKAGE = Path(mixlab.__file__).parent
FILLED = "\0"
"""Stands for whatever is printed into a template."""

every_template = pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)


class Reader(HTMLParser):
    """Gathers what is read or read out of a page, and the tags that are open."""

    VOID = ("br", "img", "hr")

    def __init__(self):
        super().__init__()
        self.read, self.open, self.wrong = [], [], []

    def handle_data(self, data):
        self.read.append(data)

    def handle_starttag(self, tag, attributes):
        self.read += [
            value or "" for name, value in attributes if name in ("aria-label", "title", "alt", "placeholder")
        ]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


def parsed(path):
    return _environment().parse(path.read_text(encoding="utf-8"))


def outline(tree):
    """Return a template's own text with every branch in it, and a sign wherever something is printed."""
    printed = (one for output in tree.find_all(nodes.Output) for one in output.nodes)
    return "".join(one.data if isinstance(one, nodes.TemplateData) else FILLED for one in printed)


def read(source):
    reader = Reader()
    reader.feed(source)
    reader.close()
    return reader


def bare_letters(source):
    return [text for text in read(source).read if re.search(r"[^\W\d_]", text)]


@every_template
def test_no_template_says_anything_itself(path):
    assert not bare_letters(outline(parsed(path)))


@pytest.mark.parametrize(
    "source", ["<p>Tell</p>", "{% if x %}<b>{{ x }} units</b>{% endif %}", '<p title="Tell {{ x }}"></p>', "no"]
)
def test_letters_in_a_template_would_be_found(source):
    assert bare_letters(outline(_environment().parse(source)))


@every_template
def test_every_tag_of_a_template_is_closed(path):
    reader = read(outline(parsed(path)))
    assert not reader.wrong
    assert not reader.open


@every_template
def test_no_template_escapes_by_hand_or_lets_anything_through(path):
    tree = parsed(path)
    assert {one.name for one in tree.find_all(nodes.Filter)} <= {"marked_up"}
    assert not list(tree.find_all((nodes.EvalContextModifier, nodes.ScopedEvalContextModifier, nodes.MarkSafe)))


@every_template
def test_templates_are_named_so_that_the_engine_finds_them_and_all_are_used(path):
    assert path.name.endswith(".html.j2")
    name = path.name.removesuffix(".html.j2")
    sources = [*FOLDER.glob("*.j2"), *(PACKAGE / "pages").glob("*.py")]
    asked = "\n".join(one.read_text(encoding="utf-8") for one in sources)
    assert f'render("{name}"' in asked.replace("(\n        ", "(") or f'include "{path.name}"' in asked


def test_the_only_markup_of_a_sentence_is_bold_and_it_is_closed():
    marked = [form for one in messages() for form in (one.sentence, one.many or "") if re.search(r"</?\w", form)]
    assert marked
    for form in marked:
        assert not re.search(r"[<>]", re.sub(r"<b>[^<>]+</b>", "", form)), form


@pytest.mark.parametrize("module", sorted((PACKAGE / "panels").rglob("*.py")), ids=lambda path: path.stem)
def test_no_panel_escapes_or_writes_html_by_hand(module):
    """A sentence may carry markup, and a style sheet is no words."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    names = {
        alias.name for node in ast.walk(tree) if isinstance(node, ast.ImportFrom | ast.Import) for alias in node.names
    }
    assert "escape" not in names
    said = {
        id(part)
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("sentence", "counted")
        for part in ast.walk(node)
    }
    texts = [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in said
    ]
    assert not [text for text in texts if re.search(r"</?[a-z]+[\s>]", text.partition("<style>")[0])]
