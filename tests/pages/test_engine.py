"""The engine: what stands in a template is said in the voice in force and escaped, and what is missing is told."""

from datetime import date
from decimal import Decimal
from html import escape, unescape

import pytest
from brackets import in_brackets
from jinja2 import TemplateError, UndefinedError

from mixlab.pages.engine import _environment, marked_up, render, svg_parts
from mixlab.pages.labels import label_html, line_html, small_html, text_html
from mixlab.quantities import Glucose
from mixlab.words import Voice, counted, joined, sentence, speaking

HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "{order} {0} {order.__class__} {prescriber} {{ 7 * 7 }} {% raw %}",
    "&amp; &lt;b&gt; </b></p></div>",
)
COMMA = Voice(numbers="comma", terms=(("prescriber", "doctor"),))


def filled(source, **parts):
    return _environment().from_string(source).render(parts)


def test_a_sentence_is_said_in_the_voice_in_force_and_not_before():
    asked = sentence("ask the {prescriber} about {amount}", amount=8.5)
    label_html(asked)
    with speaking(COMMA):
        assert label_html(asked) == "<b>ask the doctor about 8,5</b>"
    assert label_html(asked) == "<b>ask the prescriber about 8.5</b>"


def test_a_number_is_written_as_the_site_writes_it():
    with speaking(COMMA):
        assert filled("{{ a }} {{ b }} {{ c }}", a=0.5, b=Decimal("5.40"), c=Glucose(5.4, "mmol/L")) == (
            "0,5 5,40 5,4 mmol/L"
        )


@pytest.mark.parametrize("text", HOSTILE)
def test_every_text_is_escaped_whatever_says_it(text):
    for made in (
        text_html(text),
        label_html(sentence("{text}", text=text))[3:-4],
        small_html(joined((text, text)))[7:-8],
        filled("{{ one }}{% set two %}{{ one }}{% endset %}{{ two }}", one=text),
    ):
        assert not set("<>\"'") & set(made), made
        assert text in unescape(made)


@pytest.mark.parametrize("text", HOSTILE)
def test_a_sentence_keeps_its_own_markup_and_none_of_what_stands_in_it(text):
    inside = sentence("it says {text}", text=text)
    for value in (text, inside, joined((inside, text), " ")):
        for words in (
            sentence("<b>Order:</b> {order}", order=value),
            counted(2, "<b>{count} order:</b> {order}", "<b>{count} orders:</b> {order}", count=2, order=value),
        ):
            made = line_html(words)
            assert made.startswith("<b>")
            assert made.count("<") == 2
            assert not set("\"'") & set(made)
            with speaking(Voice()):
                assert str(value) in unescape(made)


def test_what_a_site_calls_things_and_how_it_writes_dates_is_escaped_too():
    hostile = Voice(terms=(("prescriber", "<i>doctor</i>"),), dates="yyyy '<u>'MM'</u>'")
    words = sentence(
        "<b>Ask</b> the {prescriber}, {inside}, {day}", inside=sentence("the {prescriber}"), day=date(2031, 5, 9)
    )
    with speaking(hostile):
        doctor = "&lt;i&gt;doctor&lt;/i&gt;"
        assert line_html(words) == f"<b>Ask</b> the {doctor}, the {doctor}, 2031 &lt;u&gt;05&lt;/u&gt;"
        assert label_html(sentence("the {prescriber}")) == f"<b>the {doctor}</b>"
    with speaking(Voice(terms=(("prescriber", "<i>doctor</i>"),))):
        assert line_html(sentence("{Prescriber}")) == "&lt;i&gt;doctor&lt;/i&gt;"


def test_a_sentence_with_markup_may_say_how_a_number_is_printed():
    assert line_html(sentence("<b>{value:.2f}</b> mL", value=0.5)) == "<b>0.50</b> mL"


@pytest.mark.parametrize("text", ["<b>typed</b>", "", None, 8])
def test_only_a_sentence_may_carry_markup(text):
    with pytest.raises(TypeError, match="Only a sentence"):
        marked_up(text)
    with pytest.raises(TypeError, match="Only a sentence"):
        filled("{{ text | marked_up }}", text=text)


def test_markup_that_was_not_declared_is_shown_as_it_stands():
    assert text_html(sentence("<b>Order</b>")) == escape("<b>Order</b>")


def test_a_template_cannot_let_anything_through_unescaped():
    with pytest.raises(TemplateError, match="safe"):
        filled("{{ text | safe }}", text="<b>")


def test_what_is_missing_is_told():
    with pytest.raises(UndefinedError):
        render("label", note="")
    with pytest.raises(UndefinedError):
        filled("{{ row.what }}", row=object())


@pytest.mark.parametrize("nothing", [None, True, False])
def test_what_cannot_be_read_is_refused(nothing):
    with pytest.raises(TypeError, match="nothing that can be read"):
        text_html(nothing)
    with pytest.raises(TypeError, match="nothing that can be read"):
        line_html(sentence("<b>{text}</b>", text=nothing))


@pytest.mark.parametrize("source", ["{{ none }}", "{{ true }}"])
def test_nothing_is_said_while_a_template_is_compiled(source):
    with pytest.raises(TypeError, match="nothing that can be read"):
        filled(source)


def test_a_drawing_keeps_its_attributes_and_what_stands_in_it():
    attributes, inside = svg_parts(
        '<?xml version="1.0"?>\n<!DOCTYPE svg>\n<svg width="3" height="4">\n<g><path/></g>\n</svg>\n'
    )
    assert (attributes, inside.strip()) == ('width="3" height="4"', "<g><path/></g>")
    with pytest.raises(ValueError, match="substring"):
        svg_parts("no drawing")


def test_markup_stands_outside_the_words_of_a_label():
    with in_brackets():
        assert label_html(sentence("Order")) == "<b>⟦Order⟧</b>"
