"""What every panel puts on the page and says aloud, whatever is pressed: rows of a text and what somebody wrote in it.

Each panel is made for a ward that speaks in brackets while everybody else speaks plain English.
"""

import html
import json
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import ipywidgets as widgets
import pytest
from brackets import SITES, shown, speaking_so, texts, tree
from said_in_care import Rows, quoted

from mixlab.adapting.compare.comparison import compare_sites
from mixlab.adapting.site_desk import adapt_site
from mixlab.care.bench.actions import PullAir
from mixlab.care.bench.handling import TakeSyringe
from mixlab.care.order.checking import order_concerns
from mixlab.care.order.lesson import lesson_order
from mixlab.facts.reading import the_facts
from mixlab.figures.sites.two_wards import draw_site_changes
from mixlab.figures.sites.two_wards_words import describe_site_changes
from mixlab.panels import bedside, draw_up, live_dose, order_check, second_nurse, treat_low, when_it_acts
from mixlab.panels.action.words import ACTION_PICTURES, CLEAR, CURVES, DAY, FANS, NO_FAN, slips
from mixlab.panels.bench.controls import RIGHT_RUN
from mixlab.panels.bench.words import BUTTONS, RUNS
from mixlab.panels.order import FAULTY, OWN
from mixlab.quantities import Glucose
from mixlab.screen.frame import PanelFrame
from mixlab.screen.panel import Panel
from mixlab.ward.observation import Observation
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.record import Site, teaching_site
from mixlab.words import Voice, speaking

FIRST_ORDER = lesson_order(site=teaching_site())
LISPRO = "insulin lispro 8 units and NPH insulin 20 units subcut 10 minutes before breakfast"
HALF = "regular insulin 8.5 units and NPH insulin 20 units subcut 30 minutes before breakfast"
FULL = "regular insulin 50 units and NPH insulin 50 units subcut before breakfast"
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

QUOTED = tuple(
    piece
    for text in FAULTY.values()
    for one in order_concerns(text, usual=read_order(FIRST_ORDER))
    for piece in quoted(text, one.place)
)
"""Pieces of the example orders, which are quoted as somebody wrote them."""

PUSHED = ("DrawTo", "PullAir", "PushBackTo", "⟧to⟦")
"""How an amount that cannot be names what it is of."""

ALOUD: list[str] = []


def told(panel: Panel, *data: str, pictures: bool = True) -> Rows:
    """Yield all that a panel shows now, and what it said aloud since; `data` is what somebody wrote."""
    typed = [one.value for one in tree(panel) if isinstance(one, widgets.Text | widgets.Textarea) and one.value]
    written = (FIRST_ORDER, *data, *typed, *map(html.escape, typed))
    said = [*(text for one in tree(panel) for text in texts(one, pictures)), *ALOUD, getattr(panel, "message", "")]
    ALOUD.clear()
    yield from ((html.unescape(text), *written) for text in said if text)


def moved(panel: Panel, control: str, values: object, *data: str, pictures: bool = True) -> Rows:
    """Yield what a panel shows for each value of one control."""
    for value in values:
        getattr(panel, control).value = value
        yield from told(panel, *data, pictures=pictures)


def doses(wards: tuple[Site, ...]) -> Rows:
    for order in (FIRST_ORDER, LISPRO, HALF, *REFUSED):
        yield from told(live_dose(order, wards[0]))
    for ward in wards:
        panel = live_dose(site=ward)
        usual = panel.glucose_box.value
        yield from moved(panel, "glucose_box", (round(usual / 3, 1), round(usual / 3), round(usual * 4), -5, 5.45))
        panel.glucose_box.value = 120 if ward.glucose_unit == "mg/dL" else 6.7
        yield from moved(panel, "meal", (False, None, True))
        for box in panel.signs.values():
            box.value = True
            yield from told(panel)
        yield from moved(panel, "clear_box", (-1,))
        panel.order_text.value, panel.clear_units.value = REFUSED[0], 12
        assert "Correct the typed order" in panel.message
        yield from told(panel)


def orders(wards: tuple[Site, ...]) -> Rows:
    yield from moved(order_check(site=wards[0]), "example", (OWN, *FAULTY), *QUOTED)
    for usual in ("", "eight of the usual"):
        yield from told(order_check(FAULTY["changed places"], usual, wards[0]), usual, "eight", *QUOTED)


def bedsides(wards: tuple[Site, ...]) -> Rows:
    panel = bedside(site=wards[0])
    for control in ("age", "meal", "alertness", "swallow", "last_dose", "earlier"):
        usual = getattr(panel, control).value
        yield from moved(panel, control, [value for _, value in getattr(panel, control).options])
        getattr(panel, control).value = usual
    for box in (panel.looked, panel.changed, panel.says_give, *panel.signs.values()):
        box.value = not box.value
        yield from told(panel)
        box.value = not box.value
    for ward in wards:
        yield from moved(bedside(site=ward), "reading", READINGS)


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


def lows(wards: tuple[Site, ...]) -> Rows:
    for found in FOUND:
        for walk in WALKS:
            panel = treat_low(found, site=wards[0])
            for press in walk:
                if press not in panel.buttons:
                    panel.reading.value, panel.signs.value = press.split(" ", 1)
                    press = "measure"
                panel.buttons[press].click()
                yield from told(panel, pictures=False)
            yield from told(panel)


def runs_at_the_bench(wards: tuple[Site, ...]) -> Rows:
    panel = draw_up(site=wards[0], demonstration=True)
    for name in (RIGHT_RUN, *RUNS):
        panel.run_name.value, panel.inside.value = name, False
        panel.restart.click()
        while not panel.message:
            panel.next.click()
            yield from told(panel, pictures=False)
        panel.finish.click()
        yield from told(panel)
        yield from moved(panel, "inside", (True,))
        panel.undo.click()
        panel.next.click()
        panel.do(TakeSyringe("10 mL"))
        yield from told(panel, pictures=False)
        panel.next.click()
        yield from told(panel, pictures=False)
    for order in (*REFUSED, FULL, LISPRO):
        panel = draw_up(order, wards[0], demonstration=True)
        yield from told(panel, order)
        yield from moved(panel, "run_name", ("cloudy overdrawn",), order)


def benches(wards: tuple[Site, ...]) -> Rows:
    for ward in wards:
        for place in ("clear", "cloudy", "other"):
            panel = draw_up(site=ward)
            if place not in [value for _, value in panel.vial.options]:
                continue
            panel.vial.value, panel.mark.value = place, 8
            for name in (name for some in BUTTONS.values() for name in some):
                panel.buttons[name].click()
                yield from told(panel, pictures=False)
            for do in (lambda panel=panel: panel.do(PullAir(500)), panel.finish.click):
                do()
                yield from told(panel)
            panel.mark_box.value = -3
            panel.buttons["pull air"].click()
            yield from moved(panel, "replay_step", (1,), *PUSHED)
    with tempfile.TemporaryDirectory() as folder:
        file, lost = Path(folder) / "run.json", Path(folder) / "nowhere" / "run.json"
        other = "regular insulin 14 units and NPH insulin 26 units"
        saved = {"mixlab_attempt": 1, "site": "the teaching ward", "vials": {}, "actions": []}
        for text in (
            '{"mixlab_attempt": 1, "ord',
            json.dumps({"mixlab_attempt": 99}),
            *(json.dumps(saved | {"order": order}) for order in ("insulin", other)),
        ):
            file.write_text(text)
            panel = draw_up(site=wards[0], file=file)
            assert panel.message
            yield from told(panel, file.name, other, "insulin")
        panel = draw_up(site=wards[0], file=lost)
        panel.do(TakeSyringe("1.0-one"))
        yield from told(panel, str(lost.parent), str(lost), "No such file or directory")


def second_nurses(wards: tuple[Site, ...]) -> Rows:
    for ward in wards:
        panel = second_nurse(site=ward, syringe="wrong vial", seed=1)
        for press in ("pass", "next syringe", "stop"):
            panel.press(press)
            yield from told(panel)


def actions(wards: tuple[Site, ...]) -> Rows:
    for view in ACTION_PICTURES:
        for order in (FIRST_ORDER, LISPRO):
            panel = when_it_acts(order, site=wards[0], shown=view)
            yield from moved(panel, "row", [row for _, row in panel.row.options])
            yield from moved(panel, "weight", (-1,))
    for view in (CURVES, CLEAR, DAY):
        panel = when_it_acts(site=wards[0], shown=view)
        for control, values in (
            ("slip", [*slips()]),
            ("body_site", [*the_facts().body_sites, "abdomen"]),
            ("spell", [*the_facts().speeds, "nothing"]),
            ("fan", [*FANS, NO_FAN]),
        ):
            yield from moved(panel, control, (*values, values[0]))
        panel.order_text.value, panel.slip.value = LISPRO, "the two doses swapped"
        assert "cannot be shown" in panel.message
        yield from told(panel)
    panel = when_it_acts(site=wards[0])
    yield from moved(panel, "guess", (8.0,))
    panel.show_sum.click()
    yield (panel.verdict,)
    yield from told(panel)
    yield from moved(panel, "order_text", ("regular insulin 0.5 units and NPH insulin 0.5 units before breakfast",))


def days(wards: tuple[Site, ...]) -> Rows:
    for ward in wards:
        for order, given in ((FIRST_ORDER, "07:30"), (SUPPER, "17:30")):
            panel = when_it_acts(order, given, ward, DAY)
            for meal in panel.meals.values():
                usual = meal.text.value
                for at in ("06:00", "09:00", "12:30", "19:00", "noon"):
                    meal.text.value = at
                    yield from told(panel)
                meal.text.value, meal.eaten.value = usual, False
                yield from told(panel)
                meal.eaten.value = True
            yield from moved(panel, "given_text", ("05:30", "07:59", "08:20", "25:00", "half past", given))
            yield from moved(panel, "basal", (1.2,))


def comparisons(wards: tuple[Site, ...]) -> Rows:
    """The page to sign and the picture of two wards, told by a ward that speaks so."""
    teaching, harbour, _, hill, orchard = SITES
    written = {word for site in SITES for word in (*site.reasons.values(), *site.terms.values())}
    written |= {word for site in SITES for meal in site.meals for word in (meal.name, *meal.also_called)}
    written |= {source.title for source in the_facts().sources.values()} | {"en-GB", "en-US", "26 Nov 2026"}
    for pair in ((teaching, harbour), (hill, teaching), (teaching, orchard), (hill, hill)):
        comparison = compare_sites(*pair)
        with speaking(wards[0].voice):
            page, picture = comparison.report(), comparison.picture
            told = [*page, *shown(draw_site_changes(picture).figure), describe_site_changes(picture)]
        yield from ((text, *written) for text in told)


def desks(wards: tuple[Site, ...]) -> Rows:
    """The desk for a site file, made where such words are in force; the list behind the page quotes lessons and stays out."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "ward.toml"
        with speaking(wards[0].voice):
            desk = adapt_site(file)
        for text in ('name = "ward 3"', 'name = "ward 3"\nwaitng = 9\nwaiting = 240'):
            desk.text.value = text
            for press in (desk.make, desk.check, desk.make):
                press.click()
                desk.result.value = ""
                yield from told(desk, file.name, "ward 3", "waitng", "waiting", "waiting = 240")


PANELS: tuple[Callable[[tuple[Site, ...]], Rows], ...] = (
    doses, orders, bedsides, lows, runs_at_the_bench, benches, second_nurses, actions, days, comparisons, desks,
)  # fmt: skip


def on_the_panel(make: Callable[[tuple[Site, ...]], Rows], speaker: Voice) -> Iterator[tuple[object, ...]]:
    """Yield all that a panel says, whatever is pressed, at every worked ward."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(PanelFrame, "send", lambda _, content, *more: ALOUD.append(str(content.get("aloud", ""))))
        yield from make(tuple(speaking_so(speaker, site) for site in SITES))
