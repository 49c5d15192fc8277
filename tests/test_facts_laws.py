"""Laws over whole tables of facts. Each prints every row that breaks it."""

import re
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import product
from string import Formatter

from mixlab import Meal, action_curves, day_plan, read_order, teaching_site
from mixlab.care.action.absorption import begin_spell
from mixlab.care.action.injection import contaminated, swapped
from mixlab.facts.reading import every_fact, the_facts
from mixlab.quantities import MG_DL_PER_MMOL_L, read_clock
from mixlab.ward.site.keys import KEYS
from mixlab.ward.site.record import LINES
from mixlab.ward.site.safety import check_site
from mixlab.ward.site.values.amounts import Number
from mixlab.words import TERMS, Sentence

FACTS = the_facts()

TEMPLATE_WORDS = {
    *("clear", "cloudy", "clear_units", "cloudy_units", "total_units", "clear_mark", "total_mark", "syringe"),
    *("rolls", "inversions", "waiting_minutes", "meal_lead_minutes", "clear_days", "cloudy_days"),
    *(name for term in TERMS for name in (term, term.capitalize())),
}

GLUCOSE_LINES = {
    "hold": ["low", "low-2017", "low-below-4"],
    "serious low": ["level-2", "level-2-study-group"],
    "near low": ["near-low"],
    "report": ["report"],
    "urgent high": ["urgent-high"],
}


def times():
    return [(f"{key} by {row.source}", row) for key, insulin in FACTS.insulins.items() for row in insulin.times]


def test_an_insulin_starts_before_it_is_strongest_and_is_strongest_before_it_ends():
    offenders = []
    for where, row in times():
        spans = [span for span in (row.onset, row.peak, row.duration) if span is not None]
        for end in ("low", "high"):
            hours = [getattr(span, end) for span in spans]
            if hours != sorted(hours):
                offenders.append(f"{where}: {end} ends {hours}")
    assert offenders == []


def test_every_row_of_times_gives_at_least_a_duration_and_lasts_less_than_two_days():
    assert [where for where, row in times() if row.duration is None or row.duration.high >= 48] == []


def test_a_row_without_a_peak_says_what_the_source_says_of_it():
    assert [where for where, row in times() if row.peak is None and not row.note] == []


def test_every_insulin_has_taught_rows_each_with_its_reason():
    offenders = [
        key
        for key, insulin in FACTS.insulins.items()
        if {row.note.key.startswith("Taught:") for row in insulin.times if row.taught} != {True}
    ]
    assert offenders == []


def test_no_insulin_has_two_rows_from_one_source():
    offenders = [
        key
        for key, insulin in FACTS.insulins.items()
        if len({row.source for row in insulin.times}) < len(insulin.times)
    ]
    assert offenders == []


def test_sharing_a_syringe_goes_both_ways():
    insulins = FACTS.insulins
    offenders = [
        f"{one} names {other}, {other} does not name {one}"
        for one in insulins
        for other in insulins[one].mixing.may_share_with
        if other not in insulins or one not in insulins[other].mixing.may_share_with
    ]
    assert offenders == []


def test_only_a_clear_and_a_cloudy_insulin_share_a_syringe():
    insulins = FACTS.insulins
    offenders = [
        f"{one} and {other}"
        for one in insulins
        for other in insulins[one].mixing.may_share_with
        if insulins[one].look == insulins[other].look
    ]
    assert offenders == []


def test_no_two_insulins_answer_to_one_name():
    names = [
        (name.casefold(), key)
        for key, insulin in FACTS.insulins.items()
        for name in {insulin.name, *insulin.also_called}
    ]
    assert [pair for pair in product(names, names) if pair[0][0] == pair[1][0] and pair[0][1] < pair[1][1]] == []


def test_the_lines_of_a_syringe_divide_its_numbers_and_its_numbers_divide_its_capacity():
    offenders = [
        key
        for key, row in FACTS.syringes.items()
        if Fraction(row.capacity_units) % row.numbered_every_units
        or Fraction(row.numbered_every_units) % Fraction(row.graduation_units)
    ]
    assert offenders == []


def test_paired_glucose_values_agree_to_the_printed_decimal():
    offenders = [
        f"{pair.mg_dl:g} mg/dL is {pair.mg_dl / MG_DL_PER_MMOL_L:.3f}, printed {pair.mmol_l}"
        for pair in FACTS.glucose_pairs
        if round(Decimal(pair.mg_dl / MG_DL_PER_MMOL_L), 1) != Decimal(str(pair.mmol_l))
    ]
    assert offenders == []


def test_each_purpose_has_exactly_one_taught_glucose_line():
    assert sorted(key for keys in GLUCOSE_LINES.values() for key in keys) == sorted(FACTS.thresholds)
    offenders = [
        purpose for purpose, keys in GLUCOSE_LINES.items() if sum(FACTS.thresholds[key].taught for key in keys) != 1
    ]
    assert offenders == []


def test_every_source_is_listed_and_used():
    assert {fact.source for fact in every_fact(FACTS)} == set(FACTS.sources)


def test_what_is_recalled_or_computed_says_so_in_a_note():
    offenders = [
        f"{type(fact).__name__} by {fact.source}"
        for fact in every_fact(FACTS)
        if (fact.known == "recalled" and "check before printing" not in fact.note.key)
        or (fact.known == "computed" and not fact.note)
    ]
    assert offenders == []


STEP_ROWS = [*FACTS.steps.items(), *((key, row) for key, rows in FACTS.steps_at.items() for row in rows)]


def test_the_steps_use_only_the_words_that_an_order_fills_in():
    offenders = [
        f"{key}: {{{field}}}"
        for key, step in STEP_ROWS
        for said in (step.do, step.why)
        for _, field, _, _ in Formatter().parse(said.key)
        if field is not None and field not in TEMPLATE_WORDS
    ]
    assert offenders == []


def test_the_steps_read_as_sentences():
    offenders = [
        key
        for key, step in STEP_ROWS
        for text in (step.do.key, step.why.key)
        if not text.strip().endswith(".") or not (text[0].isupper() or text.startswith("{"))
    ]
    assert offenders == []


def test_a_step_of_some_wards_hangs_on_values_that_a_policy_can_have_and_the_teaching_ward_has_none_of_them():
    policies = {**FACTS.policies, **FACTS.site_policies}
    assert FACTS.steps_at.keys() <= FACTS.steps.keys()
    assert [key for key, row in FACTS.steps.items() if row.where] == []
    offenders = [
        f"{key}: {policy} = {value}"
        for key, rows in FACTS.steps_at.items()
        for row in rows
        for policy, value in row.where.items() or [("", "")]
        if policy not in policies or value not in policies[policy].choices or value == policies[policy].value
    ]
    assert offenders == []


def test_every_ward_has_one_way_of_doing_a_step():
    """Of the rows that fit a ward, just one names the most policies, whatever the ward decides."""
    policies = {**FACTS.policies, **FACTS.site_policies}
    offenders = []
    for key, rows in FACTS.steps_at.items():
        names = sorted({policy for row in rows for policy in row.where})
        for values in product(*(policies[name].choices for name in names)):
            ward = dict(zip(names, values, strict=True))
            sizes = sorted(len(row.where) for row in rows if row.where.items() <= ward.items())
            if sizes and (sizes.count(sizes[-1]) > 1 or sizes[-1] < len(ward.items() - policies_of_the_steps(ward))):
                offenders.append((key, ward))
    assert offenders == []


def policies_of_the_steps(ward):
    return {(name, {**FACTS.policies, **FACTS.site_policies}[name].value) for name in ward}


WELL_WRITTEN = [
    "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast",
    "NPH insulin 26 units and regular insulin 14 units U-100 subcut at 07:30 every morning",
    "Soluble insulin 0.5 units, isophane insulin 20.5 units, by subcutaneous injection, at 7.30 am, daily.",
    "insulin lispro twenty-two units; NPH insulin one hundred and five units; under the skin; every 12 hours",
    "Order: insulin aspart 5 units mixed with NPH insulin 25 units (100 units/mL), twice daily with meals!",
    "regular insulin 8 units\nNPH insulin 200 units\nsubcut\nnow, once only; call if glucose is less than 70 mg/dL",
    "premixed 70/30 insulin 16 units subcut at 17:15, half an hour before supper, every other day",
]


def test_each_way_of_writing_is_found_in_its_example_and_none_in_a_well_written_order():
    rows = FACTS.notation
    assert [key for key, row in rows.items() if not re.search(row.pattern, row.example)] == []
    assert [(key, text) for key, row in rows.items() for text in WELL_WRITTEN if re.search(row.pattern, text)] == []


def test_ways_of_writing_and_concerns_have_words_of_their_own_that_fit_into_a_sentence():
    rows = {**FACTS.notation, **FACTS.concerns}
    assert len({row.title for row in rows.values()}) == len(rows) == len(FACTS.notation) + len(FACTS.concerns)
    offenders = [
        key
        for key, row in rows.items()
        for text in (row.title.key, row.misread_as.key, row.write.key)
        if text.endswith(".") or (not text and key not in ("two-readings", "times-contradict"))
    ]
    assert offenders == []


def test_only_the_corrections_of_a_number_have_places_for_it_and_they_name_both():
    named = {
        key: {field for _, field, _, _ in Formatter().parse(row.write.key) if field is not None}
        for key, row in {**FACTS.notation, **FACTS.concerns}.items()
    }
    assert {key: places for key, places in named.items() if places - TERMS.keys()} == {
        key: {"right", "wrong"} for key in ("trailing-zero", "no-leading-zero")
    }


def test_every_handbook_key_is_printed_as_a_source_with_a_title():
    offenders = [
        where
        for where, row in times()
        if row.source not in FACTS.sources
        or not str(FACTS.cite(row)).startswith(FACTS.sources[row.source].title)
        or not str(FACTS.cite(row)).endswith(f"({row.known})")
    ]
    assert offenders == []


def test_every_trial_gave_units_above_0_to_a_body_of_some_weight_at_a_known_place():
    offenders = [
        key
        for key, row in FACTS.trials.items()
        if min(row.units) <= 0 or row.weight_kg <= 0 or row.body_site not in FACTS.body_sites
    ]
    assert offenders == []


def test_every_trial_is_of_insulins_with_a_model():
    offenders = [
        key for key, row in FACTS.trials.items() if row.insulin != "mixture" and row.insulin not in FACTS.absorption
    ]
    assert offenders == []


def test_what_quickens_an_insulin_names_places_and_insulins_of_the_model():
    offenders = [
        f"{key}: {name}"
        for key, row in FACTS.speeds.items()
        for known, names in ((FACTS.body_sites, row.body_sites), (FACTS.absorption, row.insulins))
        for name in names or ("nothing",)
        if name not in known
    ]
    assert offenders == []


def test_every_place_on_the_body_has_a_factor_above_0_for_every_insulin_of_the_model():
    for key, row in FACTS.body_sites.items():
        assert set(row.half_time) == set(FACTS.absorption), key
        assert min(fact.value for fact in row.half_time.values()) > 0, key
    assert FACTS.absorption.keys() <= FACTS.insulins.keys()


def test_the_abdomen_is_the_place_the_model_was_made_for():
    assert {fact.value for fact in FACTS.body_sites["abdomen"].half_time.values()} == {1}


def test_every_insulin_of_the_model_varies_from_day_to_day_and_a_wide_row_is_wider():
    assert FACTS.absorption.keys() <= FACTS.variation.keys()
    offenders = [
        key
        for key, row in FACTS.variation.items()
        if min(row.half_time, row.size) <= 0 or row.size < FACTS.variation[key.removesuffix("-wide")].size
    ]
    assert offenders == []


def test_the_times_of_the_wards_day_are_clock_times_each_once_and_in_order():
    times_of_day = {key: list(row.at) for key, row in FACTS.rounds.items()}
    times_of_day["meals"] = [row.at for row in FACTS.meals.values()]
    offenders = {
        key: at
        for key, at in times_of_day.items()
        if [read_clock(each).face for each in at] != at or sorted(set(at)) != at or not at
    }
    assert offenders == {}
    assert [len(FACTS.rounds[key].at) for key in ("bedtime", "waking")] == [1, 1]


def test_no_two_meals_answer_to_one_name():
    called = [name for row in FACTS.meals.values() for name in (row.name, *row.also_called)]
    assert len(set(called)) == len(called)
    assert [pair for pair in product(called, called) if pair[0] != pair[1] and pair[0] in pair[1]] == []


def test_the_windows_of_the_day_are_minutes_above_0():
    assert [key for key, fact in FACTS.day.items() if fact.unit != "minutes" or fact.value <= 0] == []


def test_every_rule_of_the_day_is_said_by_some_plan_with_all_its_places_filled():
    order = read_order("regular insulin 8 units and NPH insulin 20 units subcut at 07:30")
    ward = teaching_site()
    alone = replace(ward, rounds=replace(ward.rounds, at=("03:00",)))

    def served(**at):
        return [Meal(name=name, at=time.lstrip("-"), eaten=time[0] != "-") for name, time in at.items()]

    def curves(**other):
        return action_curves(order, (0.0,), **other)

    plans = [
        day_plan(order, "07:30"),
        day_plan(replace(order, clock=None), "17:30"),  # bedtime before the peak, a peak in the night
        day_plan(order, "05:00", curves=curves(spell=begin_spell("sauna", 30))),  # too early, and done at bedtime
        day_plan(order, "08:10", served(breakfast="08:11", lunch="-12:00"), mixed_at="07:30"),
        day_plan(order, "07:30", served(breakfast="09:00", lunch="13:00"), alone),
        day_plan(order, "07:30", served(breakfast="-08:00"), curves=curves(injection=swapped(order))),
        day_plan(order, "07:30", curves=curves(body_site="thigh", spell=begin_spell("leg-exercise", 30))),
        day_plan(order, "07:30", curves=curves(injection=contaminated(order, 0.2))),
        day_plan(read_order("insulin lispro 8 units and NPH insulin 20 units 30 minutes before breakfast"), "07:30"),
        day_plan(order, "07:30", ()),
    ]
    said = {one.rule.say.key: str(one.say) for plan in plans for one in (*plan.visits, *plan.clashes)}
    said |= {rule.say.key: str(say) for plan in plans for say, rule in plan.standing}
    parts = [part for plan in plans for one in plan.visits for _, part in one.say.values if isinstance(part, Sentence)]
    said |= {part.key: str(part) for part in parts if part.key == FACTS.day_rules["strongest-too"].say.key}
    assert [key for key, row in FACTS.day_rules.items() if row.say.key not in said] == []
    offenders = [
        say for rule, say in said.items() if re.search("[{}<>]", say) or say.count("None") > rule.count("None")
    ]
    assert offenders == []


def test_a_clash_about_giving_says_what_to_do_before_and_after_the_dose_is_given():
    both = {
        "clash-given-late": ("Not given: do not give it yet", "Given: measure, tell them now"),
        "clash-given-early": ("Not given: do not give it", "Given: stay, measure"),
        "clash-waited": ("Not injected yet: discard it", "Already injected: {given}"),
        "clash-no-meal": ("do not give the mixed dose yet", "Already given: stay, measure"),
        "clash-meal-not-eaten": ("Not given: do not give it, and do not leave it out either", "Given: "),
        "clash-not-as-ordered": ("Not injected: discard it", "Injected: {given}"),
        "clash-spoiled-vial": ("Not injected: discard the syringe", "Injected: {given}"),
        "clash-order-time": ("Not given: ask the {prescriber}", "Given: measure"),
        "clash-meal-too-late": ("Not given yet: do not give it", "Given: stay, measure"),
    }
    offenders = [
        f"{key}: {words}" for key, pair in both.items() for words in pair if words not in FACTS.day_rules[key].say.key
    ]
    assert offenders == []


def test_every_clash_says_whom_to_ask_or_tell():
    offenders = [
        key
        for key, row in FACTS.day_rules.items()
        if key.startswith("clash-") and not re.search(r"nurse in charge|prescriber|name who does|{given}", row.say.key)
    ]
    assert offenders == []


def test_food_is_never_offered_without_a_word_on_who_may_not_have_it_or_who_decides():
    offenders = [
        key
        for key, row in FACTS.day_rules.items()
        if re.search(r"\bget food|snack|be eaten (?:meanwhile|instead)", row.say.key)
        and not re.search(r"as diet and swallowing allow|[Aa]sk (?:the nurse|what)", row.say.key)
    ]
    assert offenders == []


def test_no_rule_of_the_day_names_an_amount():
    assert [key for key, row in FACTS.day_rules.items() if re.search(r"\d+ ?(?:units?|g\b|mg|mmol)", row.say.key)] == []


def test_the_rules_of_the_day_read_as_sentences():
    offenders = [
        key
        for key, row in FACTS.day_rules.items()
        for text in (row.say.key,)
        if not text.endswith((".", "?")) or not (text[0].isupper() or text.startswith("{"))
    ]
    assert offenders == []


def test_what_a_site_file_may_change_has_a_default_that_is_usual_and_in_known_words():
    number_of = {key.name: key for key in KEYS if isinstance(key.kind, Number)}
    assert {key.kind.limits for key in number_of.values()} | {*LINES, "meal_grams"} == set(FACTS.limits)
    assert [key for key, number in number_of.items() if number.kind.faults(number.of(teaching_site()), "")] == []
    assert [key for key, row in FACTS.site_policies.items() if row.value in row.unusual] == []
    assert {name: row.value for name, row in FACTS.site_words.items() if name in TERMS} == TERMS
    assert set(FACTS.opened_days) == set(FACTS.insulins)
    assert set(FACTS.site_lists["critical_steps"].value) <= set(FACTS.steps)
    assert check_site(teaching_site()) == []
