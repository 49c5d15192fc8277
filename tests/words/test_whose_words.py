"""Whose words are said: a panel speaks in those of its ward, and what is printed for an order box is read again in all of them."""

import html
import re
from dataclasses import replace

import ipywidgets as widgets
import pytest
from brackets import SITES, bare_words, every_site_speaks, in_brackets, knowing_brackets, speaking_so, tables, texts
from said_in_care import MMOL

from mixlab import read_order
from mixlab.care.order.checking import order_concerns
from mixlab.panels import bedside
from mixlab.panels.decision.words import ALONE
from mixlab.quantities import Glucose, number_text, units_text
from mixlab.screen.frame import PanelFrame
from mixlab.screen.panel import Panel
from mixlab.screen.setting import NotOnPanel
from mixlab.ward.insulin import insulins
from mixlab.ward.meter import read_meter
from mixlab.ward.order.order import Dose, OrderError
from mixlab.words import Voice, say, voice_now

pytestmark = pytest.mark.usefixtures("closing_panels")

TERMS = (("regular", "soluble insulin"), ("nph", "isophane insulin"), ("prescriber", "doctor"))
UNITS = (("unit", "international unit"), ("units", "international units"))
RENAMED = Voice(terms=TERMS + UNITS, numbers="comma")
READ = tables("ward/orders.py")["READ"]


@pytest.fixture
def speaker():
    with knowing_brackets() as speaker:
        yield speaker


@pytest.mark.parametrize("text", [row[0] for row in READ], ids=lambda text: ascii(text[:60]))
def test_a_printed_order_is_read_again_whoever_speaks(text):
    order = read_order(text)
    with in_brackets():
        assert read_order(str(order)) == read_order(text) == order
        assert "⟦" not in str(order)
    with every_site_speaks(RENAMED):
        assert read_order(str(order)) == order
        assert order_concerns(str(order), usual=order) == order_concerns(str(order), usual=read_order(text))
        assert not re.search(r"regular|NPH|,", str(order))


def test_a_dose_is_printed_for_the_order_box_and_said_in_a_sentence():
    dose = Dose(insulin=insulins()["regular"], units=8.5)
    assert (dose.written, str(dose)) == ("regular insulin 8.5 units", "regular insulin 8.5 units")
    with every_site_speaks(RENAMED):
        assert (dose.written, str(dose)) == ("soluble insulin 8.5 units", "soluble insulin 8,5 international units")


def test_a_reading_is_printed_with_the_wards_decimal_mark_and_asked_for_as_it_can_be_typed():
    with every_site_speaks(RENAMED):
        assert str(Glucose(4, "mmol/L")) == "4,0 mmol/L"
        assert (str(number_text(8.5)), str(units_text(1))) == ("8,5", "1 international unit")
        with pytest.raises(ValueError, match="no reading") as refusal:
            read_meter("", MMOL)
        example = re.search(r"for example (\S+ \S+),", str(refusal.value))[1]
        assert read_meter(example, MMOL) == Glucose(5.4, "mmol/L")


def test_two_wards_at_the_bedside_each_speak_in_their_own_words(speaker):
    plain, ward = SITES[0], speaking_so(speaker, replace(SITES[3], name="Ward Seven"))
    panel = bedside(site=plain, beside=ward)
    panel.reading.value = "64"
    assert bare_words(panel.pictures[0].alt)

    def of_the_ward(at):
        picture = panel.pictures[at]
        said = (picture.alt, panel.sheets[at].value, *texts(picture, True))
        return [html.unescape(text) for text in said if text != picture.stale_words]

    assert [words for text in of_the_ward(1) if (words := bare_words(text, ward.name, "as given"))] == []
    assert panel._frame.names["mixlab-bedside-meal"] == "Meal"
    panel.site.value, panel.beside.value = ward.name, ALONE
    assert [words for text in of_the_ward(0) if (words := bare_words(text, ward.name, "as given"))] == []


class Whole(Panel):
    """A panel of one button and one text."""

    state = None

    def build(self):
        self.text = widgets.Text(say("clear"))
        self.heard = []
        self.button("cloudy", say("cloudy"), lambda: self.soon(self.redraw))
        self.when(self.text, lambda text: self.heard.append((text, say("clear"))))
        self._frame = PanelFrame({})
        return [self.text, *self.pressable.values()]

    def redraw(self):
        self.heard.append(voice_now())


def test_a_panel_is_made_answers_and_is_drawn_in_its_own_words(speaker):
    panel = Whole(speaker, "whole")
    assert panel.text.value == "⟦clear⟧"
    panel.text.value = "typed"
    panel.press("⟦cloudy⟧")
    assert panel.heard == [("typed", "⟦clear⟧"), speaker]
    with panel.trying():
        pass
    assert panel.heard[2:] == [speaker]
    with panel.settling():
        panel.text.value = "set by itself"
    assert len(panel.heard) == 3
    assert (say("clear"), voice_now()) == ("clear", Voice())
    with pytest.raises(NotOnPanel) as refusal:
        panel.press("nothing of the kind")
    with panel.speaking():
        assert bare_words(str(refusal.value), "nothing of the kind") == []


def test_what_a_panel_cannot_make_leaves_everybody_s_words_as_they_were(speaker):
    with pytest.raises(OrderError):
        bedside("no order at all", speaking_so(speaker, SITES[0]))
    assert voice_now() == Voice()
