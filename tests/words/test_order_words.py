"""Every word about orders, readings, meals and amounts goes through the catalogue, and a printed order can be read again."""

import math
import re
import unicodedata
from dataclasses import replace
from fractions import Fraction

import pytest
from pseudo import every_site_speaks, in_brackets
from wide import asked, bare, in_wide_letters, plain_words, sentences_of, tables

from mixlab import read_order
from mixlab.care.order.checking import order_concerns
from mixlab.facts.shelf import shelf
from mixlab.quantities import (
    ClockTime,
    Glucose,
    NotAClockTime,
    NotAnAmount,
    exact_units,
    meter_reading,
    minutes_text,
    ml_text,
    number_text,
    read_clock,
    units_text,
)
from mixlab.ward.insulin import insulins
from mixlab.ward.meal import Meal
from mixlab.ward.meter import read_meter
from mixlab.ward.observation import Earlier, Observation
from mixlab.ward.order.notation import look_over
from mixlab.ward.order.order import Ambiguous, Dose, NotOneClearOneCloudy, Order
from mixlab.ward.order.problems import LONGEST_TEXT, find_problems
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site
from mixlab.ward.syringe import syringes
from mixlab.words import Voice, say, unsaid

ORDERS = tables("ward/orders.py")
CONCERNS = tables("care/test_concerns.py")
METER = tables("ward/test_meter.py")
OBSERVATION = tables("ward/test_observation.py")
USUAL = "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"
TAIL = " subcut before breakfast"

MODULES = [
    "quantities.py",
    *(f"care/order/{name}.py" for name in ("checking", "comparisons", "concern")),
    *(f"ward/{name}.py" for name in ("meal", "meter", "observation", "syringe")),
    *(f"ward/order/{name}.py" for name in ("order", "problems", "reading", "unreadable")),
]


def typed(text, *places):
    """What a refusal may quote of a text: the words at its place, and the times, whole or shortened."""
    if not isinstance(text, str):
        return ()
    times = [
        look_over(text).typed(phrase) for phrase in look_over(text).of("when", "clock", "how often", "route", "meal")
    ]
    pieces = [*times, *(text[slice(*place)] for place in places if place)]
    kept = [way for one in pieces for way in (one, one.strip(), " ".join(one.split()), one[:40])]
    return tuple(one for one in kept if len(one) > 1)


def told_of_problems():
    texts = [*(text for text, _ in ORDERS["REFUSED"]), *ORDERS["fuzzed"](400), None]
    for text in [
        *texts,
        "regular insulin ï¿¾8\u2060 units",
        "regular insulin 8\u20650 units",
        "x" * (LONGEST_TEXT + 1),
    ]:
        for problem in find_problems(text):
            hidden = {unicodedata.name(letter, "").lower() for letter in text or ""} - {""}
            names = [name for name in hidden if f"({name})" in str(problem)]
            yield str(problem), (*typed(text, problem.place), *names)
            if isinstance(problem, Ambiguous):
                yield from ((reading, typed(text, problem.place)) for reading in problem.readings)


def told_of_concerns():
    usual, lispro = read_order(USUAL), read_order("insulin lispro 8 units and NPH insulin 20 units")
    doses = [
        (f"regular insulin {clear} units and NPH insulin {cloudy} units" + TAIL, usual)
        for clear, cloudy in ((80, 20), (0.8, 20), (84, 20), (88, 20), (8, 2), (8, 220), (16, 20), (4, 20), (20, 8))
    ]
    doses += [
        ("regular insulin 0.5 units and NPH insulin 20 units", read_order("regular 5.5 units and NPH 20 units")),
        ("regular insulin 44 units and NPH insulin 20 units", read_order("regular 4 units and NPH 20 units")),
        ("insulin aspart 80 units and NPH insulin 20 units" + TAIL, lispro),
        ("insulin glargine 8 units and NPH insulin 20 units" + TAIL, usual),
        ("insulin detemir 8 units and insulin lispro 6 units" + TAIL, None),
        ("regular insulin 8 units and insulin lispro 20 units" + TAIL, None),
        ("regular insulin 8 units U-500 and NPH insulin 20 units" + TAIL, None),
        *(
            (f"{insulin} 8 units and NPH insulin 20 units subcut {when}", None)
            for insulin in ("regular insulin", "insulin lispro")
            for when in ("at bedtime", "after supper", "20 minutes before lunch", "an hour before breakfast")
        ),
        ("y" * (LONGEST_TEXT + 1), None),
        (None, None),
        *((row.example, None) for row in shelf().notation.values()),
        *((text, usual) for text, _ in CONCERNS["PROVOKED"].values()),
    ]
    for text, known in doses:
        for concern in order_concerns(text, usual=known):
            quoted = typed(text, concern.place)
            yield str(concern), (*quoted, concern.source)
            yield from ((words, quoted) for words in (concern.name, concern.misread_as, concern.write, concern.risk))
            yield concern.source, ()


def told_of_readings():
    for text, site, _ in METER["REFUSED"]:
        yield refused(read_meter, text, site), (text.strip(), repr(text.strip()), "98 mg/dL", "5.4 mmol/L")
    yield refused(read_meter, "5.4", teaching_site()), ()
    yield refused(read_meter, "98", next(one for one in example_sites() if one.glucose_unit == "mmol/L")), ()
    yield refused(read_meter, 98, teaching_site()), ()
    for found, _ in OBSERVATION["BAD"].values():
        asked_about = [*found, *(one for one in shelf().signs), "awake, drowsy, unresponsive"]
        said = [str(one) for value in found.values() for one in (value if isinstance(value, tuple | set) else (value,))]
        said = [one for one in said if len(one) > 1]
        yield refused(lambda found=found: Observation(**found)), (*asked_about, *said, "nan")
    never = replace(teaching_site(), name="ward 5", never_mix=("regular + nph",))
    for concern in order_concerns(USUAL, site=never):
        yield str(concern), (*typed(USUAL, concern.place), never.name)
    for glucose, hours in ((64, 3), (None, 3), (Glucose(64, "mg/dL"), -1)):
        yield refused(Earlier, glucose, hours), ("None",)


def told_of_amounts():
    for make, value, *unit in (
        *((Glucose, value, "mg/dL") for value in (-1, 1e7, math.nan, "98")),
        (Glucose, 98, "mg"),
        (meter_reading, 69.5, "mg/dL"),
        (exact_units, "8"),
        (exact_units, math.inf),
        (read_clock, "25:30"),
        (lambda grams: Meal(name="breakfast", at="08:00", grams=grams), -1),
    ):
        yield refused(make, value, *unit), ("nan", "inf", "'mg'")
    yield from ((text(number), ()) for text in (number_text, units_text) for number in (0, 0.5, 1, 8))
    yield from ((ml_text(units), ()) for units in (1, 28))
    yield from ((minutes_text(minutes), ()) for minutes in (0, 1, 45, 60, 61, 90, 120, 150))
    yield from ((str(ClockTime(minutes)), ()) for minutes in (-60, 450, 1500, 3000))
    yield str(Glucose(5.4, "mmol/L")), ()
    yield from ((str(syringe), ()) for syringe in syringes().values())


def told_of_orders():
    regular, lispro = (Dose(insulin=insulins()[key], units=8) for key in ("regular", "lispro"))
    with pytest.raises(NotOneClearOneCloudy) as refusal:
        _ = Order(doses=(regular, lispro)).clear
    yield str(refusal.value), ()
    yield from ((str(one), ()) for one in (regular, lispro))


def refused(make, *parts):
    with pytest.raises((NotAnAmount, NotAClockTime)) as refusal:
        make(*parts)
    return str(refusal.value)


def everything():
    """Every text as it is said now, with the words in it that come from elsewhere."""
    for words, data in told():
        yield str(words), tuple(map(str, data))


def told():
    yield from told_of_problems()
    yield from told_of_concerns()
    yield from told_of_readings()
    yield from told_of_amounts()
    yield from told_of_orders()


@pytest.fixture(scope="module")
def in_wide():
    """Everything said in full-width letters, and the sentences that were asked for."""
    with in_wide_letters() as speaker:
        said = list(everything())
    return said, asked(speaker)


def test_no_word_stands_outside_the_catalogue():
    with in_brackets():
        said = list(everything())
    assert len(said) > 1000
    assert [text for text, data in said if bare(text, *data)] == []
    assert unsaid("x-brackets") == set()


def test_no_word_from_elsewhere_stands_inside_a_sentence(in_wide):
    said, _ = in_wide
    assert [(text, words) for text, data in said if (words := plain_words(text, *data))] == []
    assert unsaid("x-wide") == set()


def test_every_sentence_of_these_modules_was_heard(in_wide):
    _, heard = in_wide
    sentences = sentences_of(*MODULES)
    assert len(sentences) > 80
    assert sentences - heard == set()
    rows = (*shelf().concerns.values(), *shelf().notation.values())
    assert {row.write.key for row in rows} <= heard
    assert {row.title.key for row in shelf().notation.values()} <= heard


RENAMED = Voice(
    terms=(
        ("regular", "soluble insulin"),
        ("nph", "isophane insulin"),
        ("unit", "international unit"),
        ("units", "international units"),
        ("prescriber", "doctor"),
    ),
    numbers="comma",
)


@pytest.mark.parametrize(("text", "doses", "said"), ORDERS["READ"], ids=[ascii(row[0][:60]) for row in ORDERS["READ"]])
def test_a_printed_order_is_read_again_whoever_speaks(text, doses, said):
    order = read_order(text)
    with in_brackets():
        assert read_order(str(order)) == order
        assert read_order(text) == order
        assert "⟦" not in str(order)
    with every_site_speaks(RENAMED):
        assert read_order(str(order)) == order
        assert order_concerns(str(order), usual=order) == order_concerns(str(order), usual=read_order(text))
        assert not re.search(r"regular|NPH|,", str(order))


def test_a_dose_is_printed_for_the_order_box_and_said_in_a_sentence():
    dose = Dose(insulin=insulins()["regular"], units=8.5)
    assert (dose.written, str(dose)) == ("regular insulin 8.5 units", "regular insulin 8.5 units")
    assert Dose(insulin=insulins()["nph"], units=Fraction(1)).written == "NPH insulin 1 unit"
    with every_site_speaks(RENAMED):
        assert (dose.written, str(dose)) == (
            "soluble insulin 8.5 units",
            "soluble insulin 8,5 international units",
        )


def test_a_reading_is_printed_with_the_wards_decimal_mark_and_asked_for_as_it_can_be_typed():
    mmol = next(one for one in example_sites() if one.glucose_unit == "mmol/L")
    with every_site_speaks(RENAMED):
        assert str(Glucose(4, "mmol/L")) == "4,0 mmol/L"
        assert (str(number_text(8.5)), str(units_text(1))) == ("8,5", "1 international unit")
        example = re.search(r"for example (\S+ \S+),", refused(read_meter, "", mmol))[1]
        assert read_meter(example, mmol) == Glucose(5.4, "mmol/L")
        assert "ask the doctor" in str(next(find_problems("regular insulin 8U and NPH insulin 20 units")))


def test_a_concern_is_one_value_and_each_voice_says_it_in_its_own_words():
    text = "regular insulin 8 units and NPH insulin 20 units before breakfast"
    found = order_concerns(text)
    plain = [str(one) for one in found]
    with in_brackets():
        assert order_concerns(text) == found
        assert str(found[0].name) == f"⟦{say('the route is missing')[1:-1]}⟧"
        assert [str(one) for one in found] != plain
    assert [str(one) for one in found] == plain
