"""Nothing on a panel bypasses the catalogue: made for a ward that speaks in brackets, every panel shows only brackets.

Everybody else speaks plain English meanwhile, so a panel that forgets whose words are its own shows bare words too.
"""

import html
import json
import re
from collections.abc import Iterator
from dataclasses import fields, replace

import ipywidgets as widgets
import pytest
from pseudo import LANGUAGE, bare_words, knowing_brackets

from mixlab.adapting.catalogue import messages
from mixlab.care.bench.actions import PullAir
from mixlab.care.bench.handling import TakeSyringe
from mixlab.care.order.lesson import lesson_order
from mixlab.facts.shelf import shelf
from mixlab.figures.action.evidence_words import short_name
from mixlab.panels import bedside, draw_up, live_dose, order_check, treat_low, when_it_acts
from mixlab.panels.action.words import ACTION_PICTURES, CLEAR, CURVES, DAY, FANS, NO_FAN, slips
from mixlab.panels.bench.controls import RIGHT_RUN
from mixlab.panels.bench.words import BUTTONS, RUNS
from mixlab.panels.decision.words import ALONE
from mixlab.panels.order import FAULTY, OWN
from mixlab.quantities import Glucose
from mixlab.screen.frame import PanelFrame
from mixlab.screen.panel import Panel
from mixlab.screen.picture import LivePicture
from mixlab.screen.setting import NotOnPanel
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import OrderError
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import Site, teaching_site
from mixlab.words import Voice, say, unsaid, voice_now

pytestmark = pytest.mark.usefixtures("closing_panels")

FIRST_ORDER = lesson_order(site=teaching_site())
BRACKETS = Voice(language=LANGUAGE)
LISPRO = "insulin lispro 8 units and NPH insulin 20 units subcut 10 minutes before breakfast"
HALF = "regular insulin 8.5 units and NPH insulin 20 units subcut 30 minutes before breakfast"
SUPPER = "regular insulin 8 units and NPH insulin 20 units 30 minutes before supper"
REFUSED = (
    "regular insulin 8U and NPH insulin 20 units",
    "insulin glargine 20 units and regular insulin 8 units",
    "regular insulin 8 units and insulin lispro 4 units",
    "regular insulin 0 units and NPH insulin 20 units",
    "regular insulin 8.5 units and NPH insulin 30 units",
    "regular insulin 50 units and NPH insulin 60 units",
    "regular insulin 8 units",
    "",
)
READINGS = ("5.4", "", "-3", "nan", "inf", "99999", "ninety", "69.5", "5,4", "98 mg/dL", "LO", "HI")


class Bracketed(Site):
    """A ward that speaks in brackets."""

    voice = property(lambda self: BRACKETS)


def bracketed(site: Site) -> Site:
    return Bracketed(**{one.name: getattr(site, one.name) for one in fields(site) if one.init})


WARDS = tuple(example_sites())


def shortened(name: str) -> list[str]:
    """Return a source's short name and every way in which a picture may cut it, its year apart."""
    words = [word for word in name.split() if word != "…" and not word.isdigit()]
    return [name, *(" ".join([*words[:count], "…"]) for count in range(1, len(words) + 1))]


DATA = (
    *(site.name for site in WARDS),
    *(name for source in shelf().sources.values() for name in shortened(short_name(source))),
    FIRST_ORDER,
)
"""What stands outside brackets by right: names of wards and of sources, and a written order."""


@pytest.fixture(autouse=True)
def said_in_english_by_everybody_else() -> Iterator[None]:
    before = unsaid(LANGUAGE)
    with knowing_brackets():
        yield
    assert unsaid(LANGUAGE) - before == frozenset()


@pytest.fixture(autouse=True)
def aloud(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    said: list[str] = []

    def send(self: PanelFrame, content: dict[str, object], *_: object) -> None:
        said.append(str(content.get("aloud", "")))

    monkeypatch.setattr(PanelFrame, "send", send)
    return said


@pytest.fixture
def ward() -> Site:
    return bracketed(WARDS[0])


def tree(widget: widgets.Widget) -> Iterator[widgets.Widget]:
    yield widget
    for child in getattr(widget, "children", ()):
        yield from tree(child)


def whole(text: str) -> str:
    """Close the brackets of a sentence that a picture cut short."""
    opened = re.compile("⟦[^⟦⟧]*⟧")
    while opened.search(text):
        text = opened.sub(" ", text)
    return re.sub("⟦[^⟦⟧]*…", " ", text)


def texts(widget: widgets.Widget, pictures: bool) -> Iterator[str]:
    """Yield every text that one widget puts on the page."""
    for name in ("description", "tooltip", "placeholder", "stale_words"):
        yield getattr(widget, name, None) or ""
    yield from getattr(widget, "tooltips", ())
    yield from map(str, getattr(widget, "_options_labels", ()))
    if isinstance(widget, widgets.HTML):
        yield re.sub(
            '<p class="mixlab-order-marked">.*?</p>', "", widget.value, flags=re.DOTALL
        )  # as somebody wrote it
        yield from map(html.unescape, re.findall('aria-label="([^"]*)"', widget.value))
    if isinstance(widget, PanelFrame):
        yield from (*widget.names.values(), *widget.parts.values())
        for reading in widget.readings.values():
            yield from [reading] if isinstance(reading, str) else reading
    if isinstance(widget, LivePicture):
        yield widget.alt
        if pictures:
            yield whole(html.unescape(" ".join(re.findall("<text[^>]*>(.*?)</text>", widget.svg()))))


def check(panel: widgets.Widget, aloud: list[str], *data: str, pictures: bool = True) -> None:
    """Demand that nothing on a panel, and nothing it said aloud, stands outside brackets; `data` is what somebody wrote."""
    message = getattr(panel, "message", "")
    typed = [one.value for one in tree(panel) if isinstance(one, widgets.Text | widgets.Textarea) and one.value]
    found = [
        (bare, text)
        for text in (*(text for one in tree(panel) for text in texts(one, pictures)), *aloud, message)
        if text and (bare := bare_words(html.unescape(text), *DATA, *data, *typed, *map(html.escape, typed)))
    ]
    aloud.clear()
    assert found == []


@pytest.mark.parametrize("order", [FIRST_ORDER, LISPRO, HALF, *REFUSED])
def test_the_live_panel_with_any_order(order, ward, aloud):
    panel = live_dose(order, ward)
    check(panel, aloud)


@pytest.mark.parametrize("site", WARDS, ids=lambda site: site.name)
def test_the_live_panel_with_anything_found(site, aloud):
    panel = live_dose(site=bracketed(site))
    low, high = panel.glucose_box.value / 3, panel.glucose_box.value * 4
    for value in (round(low, 1), round(low), round(high), -5, 5.45):
        panel.glucose_box.value = value
        check(panel, aloud)
    panel.glucose_box.value = 120 if panel.site.glucose_unit == "mg/dL" else 6.7
    for value in (False, None, True):
        panel.meal.value = value
        check(panel, aloud)
    for box in panel.signs.values():
        box.value = True
        check(panel, aloud)
    panel.clear_box.value = -1
    check(panel, aloud)
    panel.order_text.value = REFUSED[0]
    panel.clear_units.value = 12
    assert "Correct the typed order" in panel.message
    check(panel, aloud)


@pytest.mark.parametrize("example", [OWN, *FAULTY])
def test_the_order_check_with_every_example(example, ward, aloud):
    panel = order_check(site=ward)
    panel.example.value = example
    check(panel, aloud)


@pytest.mark.parametrize("usual", ["", "eight of the usual"])
def test_the_order_check_with_a_usual_order_or_none(usual, ward, aloud):
    panel = order_check(FAULTY["changed places"], usual, ward)
    check(panel, aloud)


@pytest.mark.parametrize("control", ["age", "meal", "alertness", "swallow", "last_dose", "earlier"])
def test_the_bedside_with_every_choice(control, ward, aloud):
    panel = bedside(site=ward)
    for value in [value for _, value in getattr(panel, control).options]:
        getattr(panel, control).value = value
        check(panel, aloud)


def test_the_bedside_with_every_sign_and_tick(ward, aloud):
    panel = bedside(site=ward)
    for box in (panel.looked, panel.changed, panel.says_give, *panel.signs.values()):
        box.value = not box.value
        check(panel, aloud)
        box.value = not box.value


@pytest.mark.parametrize("site", WARDS, ids=lambda site: site.name)
def test_the_bedside_with_any_reading(site, aloud):
    panel = bedside(site=bracketed(site))
    for typed in READINGS:
        panel.reading.value = typed
        check(panel, aloud)


def test_two_wards_at_the_bedside_each_speak_in_their_own_words(aloud):
    plain, ward = WARDS[0], bracketed(replace(WARDS[3], name="Ward Seven"))
    panel = bedside(site=plain, beside=ward)
    panel.reading.value = "64"
    assert bare_words(panel.pictures[0].alt)
    for text in (panel.pictures[1].alt, panel.sheets[1].value, *texts(panel.pictures[1], True)):
        if text != panel.pictures[1].stale_words:
            assert bare_words(html.unescape(text), ward.name) == []
    assert panel._frame.names["mixlab-bedside-meal"] == "Meal"
    panel.site.value, panel.beside.value = ward.name, ALONE
    for text in (panel.pictures[0].alt, panel.sheets[0].value, *texts(panel.pictures[0], True)):
        if text != panel.pictures[0].stale_words:
            assert bare_words(html.unescape(text), ward.name) == []


FOUND = (
    Observation(glucose=Glucose(61, "mg/dL"), signs=("sweating", "trembling"), eating=True, can_swallow=True),
    Observation(glucose=Glucose(61, "mg/dL"), signs=None, eating=False, can_swallow=False),
    Observation(glucose="LO", signs=("unresponsive",), eating=None, alertness="unresponsive"),
)
WALKS = (
    ("15 g by mouth", "wait 15 min", "66 none", "15 g by mouth", "wait 15 min", "92 none", "food", "tell prescriber: “give it”"),
    ("wait 5 min", "15 g by mouth", "wait 5 min", "64 confusion", "food", "tell prescriber: “wait”"),
    ("call for help", "not by mouth, by protocol", "wait 15 min", "96 convulsion", "LO none", "HI not looked for"),
    ("wait 5 min", "wait 15 min", "wait 15 min", "wait 15 min", "5.4 none", "abc none", " none", "300 none", "undo"),
)  # fmt: skip


@pytest.mark.parametrize("found", FOUND, ids=["awake", "cannot swallow", "unresponsive"])
@pytest.mark.parametrize("walk", WALKS, ids=["right", "too soon", "not by mouth", "waiting"])
def test_a_low_walked(found, walk, ward, aloud):
    panel = treat_low(found, site=ward)
    check(panel, aloud)
    for press in walk:
        if press not in panel.buttons:
            panel.reading.value, panel.signs.value = press.split(" ", 1)
            press = "measure"
        panel.buttons[press].click()
        check(panel, aloud, pictures=False)
    check(panel, aloud)


def test_every_wrong_run_has_its_words():
    assert set(RUNS) <= {message.sentence for message in messages()}


@pytest.fixture(scope="module")
def demonstration():
    """One panel that is given run after run."""
    with knowing_brackets():
        return draw_up(site=bracketed(WARDS[0]), demonstration=True)


@pytest.mark.parametrize("name", [RIGHT_RUN, *RUNS])
def test_every_run_at_the_bench(name, demonstration, aloud):
    panel = demonstration
    panel.run_name.value, panel.inside.value = name, False
    panel.restart.click()
    while not panel.message:
        panel.next.click()
        check(panel, aloud, pictures=False)
    panel.finish.click()
    check(panel, aloud)
    panel.inside.value = True
    check(panel, aloud)
    panel.undo.click()
    panel.next.click()
    panel.do(TakeSyringe("10 mL"))
    check(panel, aloud, pictures=False)
    panel.next.click()
    check(panel, aloud, pictures=False)


@pytest.mark.parametrize("site", WARDS, ids=lambda site: site.name)
@pytest.mark.parametrize("place", ["clear", "cloudy", "other"])
def test_every_button_at_the_bench(place, site, aloud):
    panel = draw_up(site=bracketed(site))
    if place not in [value for _, value in panel.vial.options]:
        return
    panel.vial.value, panel.mark.value = place, 8
    for some in BUTTONS.values():
        for name in some:
            panel.buttons[name].click()
            check(panel, aloud, pictures=False)
    for do in (lambda: panel.do(PullAir(500)), panel.finish.click):
        do()
        check(panel, aloud)
    panel.mark_box.value = -3
    panel.buttons["pull air"].click()
    check(panel, aloud)
    panel.replay_step.value = 1
    check(panel, aloud)


@pytest.mark.parametrize(
    "order", [*REFUSED, "regular insulin 50 units and NPH insulin 50 units subcut before breakfast", LISPRO]
)
def test_the_bench_with_any_order(order, ward, aloud):
    panel = draw_up(order, ward, demonstration=True)
    check(panel, aloud, order or FIRST_ORDER)
    panel.run_name.value = "cloudy overdrawn"
    check(panel, aloud, order or FIRST_ORDER)


def saved(order: str, site: str = "the teaching ward", **more: object) -> str:
    return json.dumps({"mixlab_attempt": 1, "order": order, "site": site, "vials": {}, "actions": []} | more)


OTHER_ORDER = "regular insulin 14 units and NPH insulin 26 units"


@pytest.mark.parametrize(
    "text", ['{"mixlab_attempt": 1, "ord', json.dumps({"mixlab_attempt": 99}), saved("insulin"), saved(OTHER_ORDER)]
)
def test_the_bench_with_a_file_that_cannot_be_played(text, ward, tmp_path, aloud):
    file = tmp_path / "run.json"
    file.write_text(text)
    panel = draw_up(site=ward, file=file)
    assert panel.message
    check(panel, aloud, FIRST_ORDER, file.name, OTHER_ORDER, "insulin")


def test_the_bench_with_a_folder_that_cannot_be_written(ward, tmp_path, aloud):
    file = tmp_path / "nowhere" / "run.json"
    panel = draw_up(site=ward, file=file)
    panel.do(TakeSyringe("1.0-one"))
    check(panel, aloud, FIRST_ORDER, str(file), "No such file or directory")


@pytest.mark.parametrize("shown", ACTION_PICTURES)
@pytest.mark.parametrize("order", [FIRST_ORDER, LISPRO])
def test_the_panel_of_when_it_acts(shown, order, ward, aloud):
    panel = when_it_acts(order, site=ward, shown=shown)
    check(panel, aloud)
    for _, row in panel.row.options:
        panel.row.value = row
        check(panel, aloud)
    panel.weight.value = -1
    check(panel, aloud)


@pytest.mark.parametrize("shown", [CURVES, CLEAR, DAY])
def test_the_panel_of_when_it_acts_after_a_slip_or_faster(shown, ward, aloud):
    panel = when_it_acts(site=ward, shown=shown)
    for control, values in (
        ("slip", list(slips())),
        ("body_site", [*shelf().body_sites, "abdomen"]),
        ("spell", [*shelf().speeds, "nothing"]),
        ("fan", [*FANS, NO_FAN]),
    ):
        for value in values:
            getattr(panel, control).value = value
            check(panel, aloud)
        getattr(panel, control).value = values[0]
    panel.order_text.value = LISPRO
    panel.slip.value = "the two doses swapped"
    assert "cannot be shown" in panel.message
    check(panel, aloud)


def test_a_guess_and_the_sum(ward, aloud):
    panel = when_it_acts(site=ward)
    panel.guess.value = 8.0
    check(panel, aloud)
    panel.show_sum.click()
    assert bare_words(panel.verdict) == []
    check(panel, aloud)
    panel.order_text.value = "regular insulin 0.5 units and NPH insulin 0.5 units before breakfast"
    check(panel, aloud)


@pytest.mark.parametrize("site", WARDS, ids=lambda site: site.name)
@pytest.mark.parametrize("order", [FIRST_ORDER, SUPPER])
def test_a_day_at_the_bedside(site, order, aloud):
    given = "17:30" if order == SUPPER else "07:30"
    panel = when_it_acts(order, given, bracketed(site), DAY)
    check(panel, aloud)
    for meal in panel.meals.values():
        usual = meal.text.value
        for at in ("06:00", "09:00", "12:30", "19:00", "noon"):
            meal.text.value = at
            check(panel, aloud)
        meal.text.value = usual
        meal.eaten.value = False
        check(panel, aloud)
        meal.eaten.value = True
    for at in ("05:30", "07:59", "08:20", "25:00", "half past"):
        panel.given_text.value = at
        check(panel, aloud)
    panel.given_text.value, panel.basal.value = given, 1.2
    check(panel, aloud)


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


def test_a_panel_is_made_answers_and_is_drawn_in_its_own_words(ward):
    panel = Whole(ward.voice, "whole")
    assert panel.text.value == "⟦clear⟧"
    panel.text.value = "typed"
    panel.press("⟦cloudy⟧")
    assert panel.heard == [("typed", "⟦clear⟧"), BRACKETS]
    with panel.trying():
        pass
    assert panel.heard[2:] == [BRACKETS]
    with panel.settling():
        panel.text.value = "set by itself"
    assert len(panel.heard) == 3
    assert (say("clear"), voice_now()) == ("clear", Voice())
    with pytest.raises(NotOnPanel) as refusal:
        panel.press("nothing of the kind")
    with panel.speaking():
        assert bare_words(str(refusal.value), "nothing of the kind") == []


def test_what_a_panel_cannot_make_leaves_everybody_s_words_as_they_were(ward):
    with pytest.raises(OrderError):
        bedside("no order at all", ward)
    assert voice_now() == Voice()
