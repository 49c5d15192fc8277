"""Orders that are read, and orders that are refused by name; a dose is never guessed and no part of a text is skipped."""

import re
import unicodedata
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from orders import GOOD, PLAIN, READ, REFUSED, fuzzed

from mixlab.care.dosing import CannotPrepare, plan_dose
from mixlab.care.order.checking import order_concerns
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import (
    Ambiguous,
    CannotRead,
    Dose,
    MissingPart,
    Order,
    OrderError,
    OtherRoute,
    UnsafeWriting,
)
from mixlab.ward.order.problems import find_problems
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import example_sites
from mixlab.words import speaking

SAID = ("route", "when", "clock", "how_often", "again", "strength")


def said(order):
    return {part: getattr(order, part) for part in SAID if getattr(order, part) is not None}


def test_the_table_holds_at_least_200_different_orders():
    assert len({text for text, *_ in READ} | {text for text, _ in REFUSED}) >= 200


@pytest.mark.parametrize(("text", "doses", "words"), READ, ids=[ascii(row[0][:80]) for row in READ])
def test_orders_that_are_read(text, doses, words):
    order = read_order(text)
    assert tuple((dose.insulin.key, dose.units) for dose in order.doses) == doses
    assert said(order) == words


@pytest.mark.parametrize(("text", "error"), REFUSED, ids=[f"{e.__name__}: {t[:70]!a}" for t, e in REFUSED])
def test_orders_that_are_refused(text, error):
    with pytest.raises(OrderError) as refusal:
        read_order(text)
    assert type(refusal.value) is error
    assert str(refusal.value).endswith(".")
    place = refusal.value.place
    assert place is None or 0 <= place[0] < place[1] <= len(text)


@pytest.mark.parametrize("text", [text for text, error in REFUSED if error is Ambiguous])
def test_what_is_ambiguous_names_at_least_two_different_readings(text):
    with pytest.raises(Ambiguous) as refusal:
        read_order(text)
    readings = refusal.value.readings
    assert len(set(readings)) == len(readings) >= 2
    assert all(str(reading) in str(refusal.value) for reading in readings)


def test_what_is_wrong_with_an_order_means_the_same_whoever_speaks():
    """No word is said before somebody reads it: a refusal holds a sentence and, where there are some, its readings."""

    def meant():
        return [
            (type(found), found.args, getattr(found, "readings", ()))
            for text, _ in REFUSED
            for found in find_problems(text)
        ]

    plain, (hill,) = meant(), [site for site in example_sites() if site.name == "the hill ward"]
    with speaking(hill.voice):
        assert meant() == plain
        said = {str(words[0]) for _, words, _ in plain}
    assert any("doctor or nurse prescriber" in words for words in said)
    assert len(set(plain)) == len({str(one) for one in plain}) > 100


def test_both_readings_of_doses_that_could_be_exchanged_are_given():
    with pytest.raises(Ambiguous) as refusal:
        read_order("regular insulin and NPH insulin 8 units and 20 units")
    assert tuple(map(str, refusal.value.readings)) == (
        "regular insulin 8 units and NPH insulin 20 units",
        "regular insulin 20 units and NPH insulin 8 units",
    )


@pytest.mark.parametrize(
    ("written", "readings"),
    [
        ("8-10 units", ("8 units", "10 units")),
        ("eight to ten units", ("8 units", "10 units")),
        ("1,8 units", ("1.8 units", "18 units")),
        ("1,000 units", ("1 unit", "1000 units")),
        ("8 (eighty) units", ("8 units", "80 units")),
    ],
)
def test_both_readings_of_one_dose_are_given(written, readings):
    with pytest.raises(Ambiguous) as refusal:
        read_order(f"regular insulin {written} and NPH insulin 20 units")
    assert tuple(map(str, refusal.value.readings)) == readings


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("regular insulin 8U and NPH insulin 20 units", "'8U' is not safe.*read as 0, 4 or cc.*the word 'units'"),
        (
            "regular insulin 8\u200b0 units and NPH insulin 20 units",
            "cannot be seen .zero width space.*type the order again",
        ),
        (f"{PLAIN} IV", "'IV'.*under the skin only.*never given into a vein.*ask the prescriber"),
        (f"{PLAIN} U-500", "'U-500'.*U-100 insulin only.*ask the prescriber"),
        (
            "regular insulin sliding scale and NPH insulin 20 units",
            "'sliding scale'.*fixed dose.*ask the prescriber",
        ),
        (
            "reglar insulin 8 units and NPH insulin 20 units",
            "'reglar' is not understood. Did the prescriber mean 'regular'",
        ),
        ("regular insulin 8 and NPH insulin 20 units", "'8' is not a dose: it has no unit"),
        (
            f"{PLAIN}. Hold if glucose is less than 70 mg/dL.",
            "'Hold if glucose is less than 70 mg/dL' is a condition.*keep it beside the dose.*ask",
        ),
        (f"hold {PLAIN}", "'hold' tells you not to give it.*Draw nothing up.*ask the prescriber"),
        (f"{PLAIN} in separate syringes", "keeps the two insulins apart.*two syringes and two injections"),
        ("NPH 20 units / regular 8 units", "'units / regular' is not safe.*the word 'and'"),
        ("regular insulin 2.0 units and NPH insulin 20 units", "2, not 2.0"),
        ("regular insulin 8 units and NPH insulin .5 units", "0.5, not .5"),
        ("70/30 16 units", "'70/30' is a ready mixture. It is never mixed with another insulin: ask"),
    ],
)
def test_a_refusal_quotes_what_is_wrong_and_says_what_to_do(text, message):
    with pytest.raises(OrderError, match=message):
        read_order(text)


@pytest.mark.parametrize(
    ("text", "part"),
    [("8 units", "insulin"), ("regular insulin and NPH insulin", "dose"), ("regular 8 and NPH 20 units", "unit")],
)
def test_a_missing_part_is_named(text, part):
    with pytest.raises(MissingPart) as refusal:
        read_order(text)
    assert refusal.value.part == part


@pytest.mark.parametrize("what", [None, 8, b"regular insulin 8 units", ["regular"]])
def test_what_is_not_text(what):
    with pytest.raises(CannotRead, match="line of text"):
        read_order(what)


# The place of each part


@pytest.mark.parametrize("text", GOOD, ids=[ascii(text[:80]) for text in GOOD])
def test_each_part_stands_where_it_says_in_the_text_as_typed(text):
    order = read_order(text)
    assert all(part.text == text[part.start : part.end] != "" for part in order.parts)
    assert [part.start for part in order.parts] == sorted(part.start for part in order.parts)
    assert all(one.end <= other.start for one, other in zip(order.parts, order.parts[1:], strict=False))
    named = {"route": order.route, "when": order.when, "clock": order.clock, "how often": order.how_often}
    named["strength"] = order.strength
    names = [part.name for part in order.parts]
    assert {name for name in names if name in named} == {name for name, value in named.items() if value}
    assert [name for name in names if name.endswith("dose")] == [f"{dose.insulin.look} dose" for dose in order.doses]
    assert replace(order, parts=()) == order


def test_the_places_of_a_full_order_on_several_lines_in_full_width_letters():
    text = "ＮＰＨ twenty-two units\n８\u00a0units soluble\nsubcut, 30 mins before\nbreakfast, 7 am, daily; U100"
    assert [(part.name, part.text) for part in read_order(text).parts] == [
        ("cloudy insulin", "ＮＰＨ"),
        ("cloudy dose", "twenty-two units"),
        ("clear dose", "８\u00a0units"),
        ("clear insulin", "soluble"),
        ("route", "subcut"),
        ("when", "30 mins before\nbreakfast"),
        ("clock", "7 am"),
        ("how often", "daily"),
        ("strength", "U100"),
    ]


# Numbers in words, against a speller that knows nothing of the reader

_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen"
)
SMALL = [*_SMALL.split(), "eighteen", "nineteen"]
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]


def spelled(number, hyphen="-", joint=" and "):
    if number < 20:
        return SMALL[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return TENS[tens - 2] + (hyphen + SMALL[ones] if ones else "")
    hundreds, rest = divmod(number, 100)
    return f"{SMALL[hundreds]} hundred" + (joint + spelled(rest, hyphen) if rest else "")


EVERY_NUMBER = range(1000)


@pytest.mark.parametrize(
    "numbers", [[*range(121), *EVERY_NUMBER[121::7]], pytest.param(EVERY_NUMBER, marks=pytest.mark.long)]
)
def test_every_number_in_words_up_to_999_is_read(numbers):
    """Sample: all up to 120, in which stands every number word but the later hundreds, and then one in seven."""
    wrong = []
    for number in numbers:
        for words in (spelled(number), spelled(number, " ", " ")):
            order = read_order(
                f"NPH {words} units, {words} and a half units regular"
                if number
                else f"NPH {words} units, 1 unit regular"
            )
            if order.cloudy.units != number or (number and order.clear.units != number + 0.5):
                wrong.append(words)
    assert wrong == []


# Never another dose


@pytest.mark.parametrize("steps", [(1, 5, 9), pytest.param(range(1, 10), marks=pytest.mark.long)])
def test_a_text_with_one_digit_changed_never_gives_the_old_order(steps):
    """Sample: each digit of each order one higher, five higher and one lower instead of all nine other ones."""
    kept = []
    for text in GOOD:
        old = read_order(text)
        for place, letter in enumerate(text):
            value = unicodedata.digit(letter, None)
            for step in steps if value is not None else ():
                changed = text[:place] + str((value + step) % 10) + text[place + 1 :]
                try:
                    new = read_order(changed)
                except OrderError:
                    continue
                dose = any(part.name.endswith("dose") and part.start <= place < part.end for part in old.parts)
                same_doses = [one.units for one in new.doses] == [one.units for one in old.doses]
                if new == old or (dose and same_doses):
                    kept.append(changed)
    assert kept == []


JOINING = {
    *("insulin", "human", "give", "inject", "administer", "prepare", "draw", "up", "in", "one", "a"),
    *("single", "the", "same", "syringe", "together", "strength", "dose", "please", "order", "and", "plus"),
    *("then", "with", "mixed", "mix", "combined", "of", "isophane", "nph", "soluble", "regular", "neutral"),
}


HIDDEN = "".join(map(chr, (0xAD, *range(0x200B, 0x2010), *range(0x202A, 0x202F), *range(0x2060, 0x2070), 0xFEFF)))
"""Characters that show nothing; at the end of a word they stand for nothing either."""


def unjustified(text, order):
    """Say what of an order is not in its text, or of a text not in its order, by other means than the reader's own."""
    visible = str.maketrans("\u2010\u2011", "--", "\u200b\ufeff")
    wrong = [part.name for part in order.parts if part.text != text[part.start : part.end]]
    names = [part for part in order.parts if part.name.endswith("insulin")]
    doses = [part for part in order.parts if part.name.endswith("dose")]
    for dose, name, amount in zip(order.doses, names, doses, strict=True):
        written = " ".join(unicodedata.normalize("NFKC", name.text.translate(visible)).lower().split())
        if written not in {one.lower() for one in (dose.insulin.row.name, *dose.insulin.row.also_called)}:
            wrong.append(name.text)
        shown = re.sub(rf"[{HIDDEN}]+(?=\s)", "", amount.text).translate(visible)
        units = " ".join(unicodedata.normalize("NFKC", shown).lower().replace("(", " (").split())
        whole, half = divmod(dose.units, 1)
        ways = {f"{dose.units:g}"}
        if whole < 1000:
            ways |= {
                way + " and a half" * (half == 0.5)
                for way in (
                    spelled(int(whole)),
                    spelled(int(whole), " ", " "),
                    spelled(int(whole), " "),
                    spelled(int(whole), "-", " "),
                )
            }
        ways |= {way.replace("one hundred", "a hundred") for way in ways}
        ways |= {0.5: {"half a", "half an"}, 1000: {"one thousand", "a thousand"}}.get(dose.units, set())
        if not any(units.startswith((f"{way} unit", f"{way} international unit", f"{way} (")) for way in ways):
            wrong.append(amount.text)
    rest = text
    numbered = rf"(?<![^\n\v\f\r\x1c-\x1e\x85\u2028\u2029])\s*([1-9１-９])[.．](?=[{HIDDEN}]*\s)"
    items = list(re.finditer(numbered, text))
    for found in items if len(items) > 1 else ():
        rest = rest[: found.start()] + " " * (found.end() - found.start()) + rest[found.end() :]
    if [unicodedata.digit(found[1]) for found in items] != list(range(1, len(items) + 1)):
        wrong.append("numbered lines")
    for part in order.parts:
        rest = rest[: part.start] + " " * (part.end - part.start) + rest[part.end :]
    wrong += [word for word in re.findall(r"\w+", unicodedata.normalize("NFKC", rest).lower()) if word not in JOINING]
    return wrong


@pytest.mark.parametrize("count", [3_000, pytest.param(100_000, marks=pytest.mark.long)])
def test_strange_texts_give_a_right_reading_or_a_named_refusal_and_always_a_list_of_concerns(count):
    """Sample: the first 3,000 of the 100,000 texts, in which every refusal of the table is met."""
    tried, read, wrong, met = 0, 0, [], set()
    for text in fuzzed(count):
        tried += 1
        concerns = order_concerns(text)
        try:
            order = read_order(text)
        except OrderError as refusal:
            met.update(type(problem) for problem in find_problems(text))
            if type(refusal) is OrderError or not str(refusal).endswith(".") or not concerns:
                wrong.append((text, type(refusal)))
            continue
        read += 1
        if unjustified(text, order) or read_order(str(order)) != order:
            wrong.append((text, unjustified(text, order)))
    assert wrong == []
    assert tried == count
    assert met == {error for _, error in REFUSED}
    assert read > count / 20, "too few of them can be read for the test to mean anything"


HALVES = st.integers(1, 200).map(lambda twice: twice // 2 if twice % 2 == 0 else twice / 2)
DOSES = st.builds(Dose, insulin=st.sampled_from(list(insulins().values())), units=HALVES)
WORDS = {part: st.sampled_from(sorted({said[part] for _, _, said in READ if part in said})) for part in SAID}


def its_times_fit(order):
    """A drawn order is any mixture of times; those that contradict each other, or say the second time alone, are left out."""
    return not any(isinstance(problem, Ambiguous) for problem in find_problems(str(order)))


ORDERS = st.builds(
    Order,
    doses=st.tuples(DOSES, DOSES),
    **{part: st.none() | words for part, words in WORDS.items() if part != "again"},
).filter(its_times_fit)


@pytest.mark.parametrize(
    "said",
    [
        {"when": "30 minutes before breakfast", "again": "before supper", "how_often": "two times a day"},
        {"clock": "07:30", "again": "at 17:30"},
        {"when": "before breakfast", "clock": "07:30", "again": "before supper at 17:30", "route": "subcut"},
        {"how_often": "daily in the morning", "again": "in the evening", "strength": "U-100"},
    ],
    ids=str,
)
def test_an_order_for_two_times_a_day_is_printed_and_read_back(said):
    order = replace(read_order(PLAIN), **said)
    assert read_order(str(order)) == order


@settings(deadline=None)
@given(ORDERS)
def test_a_printed_order_is_read_back_as_the_same(order):
    assert read_order(str(order)) == order


_ANY_MEAL = {said["when"] for _, _, said in READ if said.get("when", "").startswith("before ")} | {
    "before supper",
    "before lunch",
    "before a meal",
}
# Regular insulin 30 minutes before a meal: American Family Physician 2009;79:29 (read); 30-45 minutes, and a rapid-acting
# insulin 0-15 minutes: Practical guidelines for hospital use of insulin, Table 3 (read).
FITTING = {
    "short-acting": _ANY_MEAL
    | {"30 minutes before breakfast", "30 minutes before supper", "30 mins before breakfast", "45 mins before dinner"}
    | {"half an hour before breakfast", "thirty minutes before the morning meal"},
    "rapid-acting": _ANY_MEAL
    | {"immediately before breakfast", "with supper", "15 min before lunch", "15 minutes before breakfast"},
}


def test_the_times_of_the_round_trip_are_of_both_kinds():
    times = {said["when"] for _, _, said in READ if "when" in said}
    for fitting in FITTING.values():
        assert len(times & fitting) > 3
        assert len(times - fitting) > 3


@settings(deadline=None)
@given(ORDERS)
def test_what_a_plan_prints_is_read_back_and_raises_no_concern_unless_its_time_does_not_fit(order):
    order = replace(order, route="subcut", when=order.when or "before a meal")
    assume(its_times_fit(order))
    try:
        plan = plan_dose(order)
    except (OrderError, CannotPrepare):
        return
    assert read_order(str(plan.order)) == plan.order
    group, when = plan.order.clear.insulin.row.group, plan.order.when
    fits = when in FITTING[group]
    expected = [] if fits else [when]
    for usual in (None, plan.order):
        told = [one for one in order_concerns(str(plan.order), usual=usual) if one.kind not in ("caution", "not due")]
        assert [one.text for one in told] == expected


def test_every_name_of_every_insulin_is_read():
    for key, insulin in insulins().items():
        for name in (insulin.row.name, *insulin.row.also_called):
            first, second = read_order(f"{name.upper()} 8 units and NPH insulin 20 units").doses
            assert (first.insulin.key, first.units, second.insulin.key, second.units) == (key, 8, "nph", 20)


@settings(deadline=None)
@given(st.text())
def test_any_text_is_an_order_or_an_order_error(text):
    try:
        order = read_order(text)
    except OrderError:
        return
    assert isinstance(order, Order)


@settings(deadline=None)
@given(st.characters(), st.integers(0, 60))
def test_one_stray_character_never_changes_a_dose_unseen(character, place):
    changed = PLAIN[:place] + character + PLAIN[place:]
    try:
        order = read_order(changed)
    except OrderError:
        return
    if unicodedata.digit(character, None) is None:
        assert [dose.units for dose in order.doses] == [8, 20]


DIRECTIONS = ["\u061c", "\u200e", "\u200f", "\u202a", "\u202c", "\u202d", "\u202e", "\u2066", "\u2067", "\u2069"]
"""Characters that change the direction of writing (Unicode Standard Annex 9, explicit and implicit directional marks)."""


@pytest.mark.parametrize("mark", DIRECTIONS)
def test_a_character_that_changes_the_direction_of_writing_is_refused_wherever_it_stands(mark):
    for text in (
        mark + PLAIN,
        f"{PLAIN} {mark}",
        f"{PLAIN}{mark}",
        PLAIN.replace(" and", f" {mark} and"),
        f"{PLAIN} {mark} subcut",
    ):
        with pytest.raises(CannotRead, match=r"direction of writing|cannot be seen"):
            read_order(text)
        assert any(concern.holds for concern in order_concerns(text))


@pytest.mark.parametrize("invisible", ["\u200b", "\u200d", "\u2060", "\u00ad", "\ufeff", "\U000e0041"])
def test_an_invisible_character_is_refused_inside_and_ignored_outside(invisible):
    for hidden in (f"regular insulin 8{invisible}0 units", f"regular insulin 8 un{invisible}its"):
        with pytest.raises(CannotRead, match="cannot be seen"):
            read_order(f"{hidden} and NPH insulin 20 units")
    assert read_order(f"{invisible}{PLAIN} {invisible} ") == read_order(PLAIN)


@pytest.mark.parametrize("sign", ["\u0600", "\u0602", "\u06dd", "\u08e2", "\U000110bd"])
def test_a_format_character_that_shows_is_refused_beside_a_number(sign):
    """They are of the same category as the invisible ones (Unicode Character Database, Prepended_Concatenation_Mark)."""
    assert unicodedata.category(sign) == "Cf"
    for text in (f"{PLAIN} {sign}", f"regular insulin 8{sign} units and NPH insulin 20 units"):
        with pytest.raises(OrderError):
            read_order(text)


@pytest.mark.parametrize("sign", ["½", "²", "⁸", "①", "Ⅷ", "٨", "８½"])
def test_no_other_sign_becomes_a_figure(sign):
    with pytest.raises(OrderError):
        read_order(f"regular insulin 8{sign} units and NPH insulin 20 units")


def test_the_gravest_problem_is_named_first():
    with pytest.raises(UnsafeWriting):
        read_order("regular insulin 8U IV and NPH insulin 20-22 units")
    with pytest.raises(OtherRoute):
        read_order("regular insulin 8 units IV and NPH insulin 20-22 units")
