"""What is done at once stands on the card whole, in five short lines at most: a law over every way that things can stand."""

import itertools
import random
import re
from dataclasses import replace
from functools import cache, lru_cache

import pytest
from brackets import SITES
from drawings import parts, words_on_words, words_outside, written

from mixlab import Glucose, Observation, decide, read_order
from mixlab.care.decision.readings import look_at
from mixlab.care.decision.swallowing import by_mouth_used_up, mouth
from mixlab.facts.decision_rows import TREATING
from mixlab.facts.reading import the_facts
from mixlab.figures.decision import bedside, card
from mixlab.figures.decision.bedside import Seen, draw_bedside
from mixlab.figures.decision.card import draw_card
from mixlab.figures.sites.fitting import width
from mixlab.figures.style import PAGE, ROOM
from mixlab.ward.observation import Earlier
from mixlab.words import Voice, speaking

ORDER = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
TREATS_NEAR = replace(SITES[0], near_low_answer=replace(SITES[0].near_low_answer, value="treat"))
WIDEST = replace(SITES[2], hold_line=replace(SITES[2].hold_line, comparison="at or below"))
WARDS = (*SITES, TREATS_NEAR, WIDEST)
SIZES = (ROOM, PAGE)
NUMBERS = tuple(Glucose(value, "mg/dL") for value in (12, 48, 62, 75, 120, 260)) + (
    Glucose(3.4, "mmol/L"),
    Glucose(98, "mmol/L"),
)
EVERY_WAY = {
    "glucose": ("LO", "HI", None, *NUMBERS),
    "signs": ((), ("sweating",), ("confusion",), ("drowsiness",), ("convulsion",), None),
    "alertness": ("awake", "drowsy", "unresponsive", None),
    "can_swallow": (True, False, None),
    "vomiting": (False, True),
    "fasting": (False, True),
    "eating": (True, False),
    "treated_by_mouth": (0, 1, 3),
    "minutes_old": (0, 61),
}
"""What the lines can hang on; readings and signs of one kind stand for each other here, and are all asked elsewhere."""

CALLS = re.compile(r"call for help|call the emergency team", re.IGNORECASE)
CALLS_FIRST = re.compile(r"(?:A serious low: |Nothing by mouth\. )?call (?:for help|the emergency)", re.IGNORECASE)
OFFERS = re.compile(r"carbohydrate|(?<!nothing )(?<!nothing more )by mouth", re.IGNORECASE)
TREATS = re.compile(r"\d g fast carbohydrate|protocol", re.IGNORECASE)


@cache
def grid():
    names = [*EVERY_WAY]
    ways = [dict(zip(names, way, strict=True)) for way in itertools.product(*EVERY_WAY.values())]
    return [way for way in ways if way["glucose"] is not None or way["minutes_old"] == 0]


def one_by_one():
    """Yield every reading and every sign of a low by itself, and what makes the list longer."""
    usual = {"signs": (), "eating": True}
    for value in range(20, 70):
        yield usual | {"glucose": Glucose(value, "mg/dL")}
        yield usual | {"glucose": Glucose(round(value / 18, 1), "mmol/L"), "vomiting": True}
    yield usual | {"glucose": Glucose(75, "mg/dL"), "treated_by_mouth": 3}
    yield usual | {"glucose": Glucose(12, "mg/dL"), "vomiting": True, "alertness": None}
    for sign, glucose in itertools.product(
        the_facts().signs, ("LO", None, Glucose(62, "mg/dL"), Glucose(120, "mg/dL"))
    ):
        yield usual | {"glucose": glucose, "signs": (sign,)}
        yield usual | {"glucose": glucose, "signs": (sign,), "vomiting": True, "fasting": True, "can_swallow": True}
    lows = (Earlier(Glucose(58, "mg/dL"), 2), Earlier("LO", 5))
    for glucose in ("LO", "HI", None, Glucose(62, "mg/dL")):
        yield {"glucose": glucose, "earlier": lows, "hours_since_dose": None, "minutes_old": None, "changed": True}


def said_by(site, way):
    with speaking(site.voice):
        decision = decide(ORDER, Observation(**way), site)
        return decision, tuple(map(str, decision.at_once))


@lru_cache(maxsize=4096)
def too_wide(line, size):
    at_bedside = size.words
    return width(f"• {line}", size.small) > card.WIDTH - 24 or width(f"• {line}", at_bedside) > bedside.WIDTH - 40


def breaches(site, way, decision, lines):
    """Yield what of the law is broken."""
    found, steps = Observation(**way), [str(step) for step in decision.next_steps]
    if decision.choice not in TREATING:
        if lines:
            yield "lines although nothing is done at once"
        return
    if not 1 <= len(lines) <= 5:
        yield f"{len(lines)} lines"
    yield from (f"no room for {line}" for line in lines for size in SIZES if too_wide(line, size))
    if len(set(lines)) < len(lines):
        yield "a line twice"
    treats = any(TREATS.search(line) for line in lines)
    if decision.treat and not treats:
        yield "no treatment"
    if not decision.treat and not any("easure again now" in line for line in lines):
        yield "nobody measures"
    first = steps[1] if "unit on the meter" in steps[0] else steps[0]
    ahead = sum("unit on the meter" in line for line in lines[:1])
    calling = next((at for at, line in enumerate(lines) if CALLS.search(line)), 99)
    treating = next((at for at, line in enumerate(lines) if TREATS.search(line)), 99)
    if ahead and first is steps[0]:
        yield "the unit before the call, though the list calls first"
    if CALLS.match(first.removeprefix("A serious low: ")) and calling != ahead:
        yield "help is not called first"
    if any(CALLS_FIRST.match(step) for step in steps) and calling > treating:
        yield "help after the treatment"
    alone = decision.treat and not any(CALLS_FIRST.match(step) for step in steps)
    telling = next((at for at, line in enumerate(lines) if CALLS.search(line)), 99)
    if alone and telling < treating and not way.get("fasting"):
        yield "the telling before the treatment"
    nothing = mouth(found) == "nothing" or decision.choice == "emergency" or by_mouth_used_up(found, site)
    offered = [line for line in lines if OFFERS.search(line)]
    if nothing and offered:
        yield f"by mouth: {offered}"
    if offered and not any("carbohydrate" in step for step in steps):
        yield "by mouth although no step says so"
    if nothing and not any(re.search("nothing (more )?(by|into the) mouth", line, re.IGNORECASE) for line in lines):
        yield "nobody says: nothing by mouth"
    yield from (f"without a condition: {line}" for line in offered if not re.search("swallow.*If not: ", line))
    if way.get("fasting") and offered and not any("No food" in line for line in lines):
        yield "food while fasting"
    amount = site.serious_carbohydrate if look_at(found.glucose, site).serious else site.carbohydrate
    if offered and f"{amount.value:g} g fast" not in "".join(offered):
        yield "another amount"
    if decision.treat and not any(f"{site.recheck.value:g} min" in line for line in lines):
        yield "not measured again"
    if way.get("vomiting") and offered and not any("not stay down" in line for line in lines):
        yield "what if it does not stay down?"


def broken(ways):
    found = {}
    for site, way in itertools.product(WARDS, ways):
        decision, lines = said_by(site, way)
        for breach in breaches(site, way, decision, lines):
            found.setdefault(breach, (site.name, way, lines))
    return found


def test_what_is_done_at_once_is_said_whole_and_safely_over_a_sample():
    some = random.Random(5).sample(grid(), 400)
    assert broken([*one_by_one(), *some]) == {}


@pytest.mark.long
def test_what_is_done_at_once_is_said_whole_and_safely_over_every_way_that_things_can_stand():
    assert broken(grid()) == {}


def one_of_each():
    """Yield a patient for each list of lines, on whichever ward it is met first; how wide a line is was asked on all."""
    chance, met = random.Random(6), set()
    for way in (*one_by_one(), *chance.sample(grid(), 1500)):
        site = chance.choice(WARDS)
        decision, lines = said_by(site, way)
        rows = tuple(step.keys for step in decision.at_once)
        if rows and rows not in met:
            met.add(rows)
            yield site, way, decision, lines


@pytest.mark.parametrize("size", SIZES, ids=["room", "page"])
def test_every_line_stands_in_both_pictures_on_one_line_and_no_step_is_counted_away(size):
    carded = beside = None
    lengths = set()
    for site, way, decision, lines in one_of_each():
        with speaking(site.voice):
            seen = Seen(order=ORDER, observation=Observation(**way), site=site, decision=decision)
            carded, beside = carded or draw_card(decision, size), beside or draw_bedside(seen, size)
            carded.show(decision)
            beside.show(seen)
        for drawn, name in ((carded, "card-line"), (beside, "words")):
            said = written(parts(drawn), name)
            assert [line.removeprefix("• ") for line in said if line.startswith("• ")] == [*lines]
            assert not [line for line in said if "more step" in line], (way, said)
            assert said[-1].startswith("Every step stands") or name == "card-line"
            assert not words_outside(drawn, 3), way
            assert not words_on_words(drawn), way
            assert any(str(decision.because[0].text)[:20] in line for line in said)
        lengths.add(len(lines))
    assert lengths == {3, 4, 5}


def test_a_line_with_a_ward_s_own_long_word_goes_on_below_and_loses_nothing():
    long = "doctor or nurse practitioner on call now"
    found = Observation(glucose=Glucose(12, "mg/dL"), signs=(), eating=True, treated_by_mouth=3)
    assert len(long) == 40  # no longer word is taken
    with speaking(Voice(terms=(("prescriber", long),))):
        decision = decide(ORDER, found)
        seen = Seen(order=ORDER, observation=found, site=SITES[0], decision=decision)
        for drawn, name in ((draw_card(decision, ROOM), "card-line"), (draw_bedside(seen, ROOM), "words")):
            said = written(parts(drawn), name)
            assert all(str(line) in " ".join(" ".join(said).split()) for line in decision.at_once)
            assert not {*said} & {*words_outside(drawn, 3)}


def test_the_answer_that_gives_or_asks_keeps_its_counted_list():
    decision = decide(ORDER, Observation(glucose=Glucose(120, "mg/dL"), signs=(), eating=False))
    assert (decision.choice, decision.at_once) == ("hold and ask", ())
    assert "more steps" in written(parts(draw_card(decision)), "card-line")[-1]


def test_a_step_of_an_answer_that_treats_stands_on_the_card_or_says_why_not():
    """What treats, calls, or keeps something from the mouth is never left off."""
    rows = {key: row for key, row in the_facts().next_steps.items() if not {*TREATING}.isdisjoint(row.answers)}
    off = {key: row for key, row in rows.items() if not row.short}
    assert len(rows) - len(off) > 20
    treats = re.compile(
        r"carbohydrate|protocol \(|\{protocol|nothing by mouth|call for help|measure again", re.IGNORECASE
    )
    assert [key for key, row in off.items() if treats.search(row.text.key)] == []
    assert {row.off_card for row in off.values()} == {
        "said by the answer", "beside the treatment", "what else it can be", "telling", "afterwards",
    }  # fmt: skip
    assert [key for key, row in off.items() if row.off_card == "said by the answer"] == ["hold-now"]
