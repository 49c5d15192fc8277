"""Orders written by hand, with what each must be read as or how it must be refused, and a source of endless bad ones.

All of them are our own. Unsafe ways of writing: Joint Commission, 'Do Not Use' list, 2009 and 2017 (read); SC and SQ: NCC MERP,
dangerous abbreviations (read); the others of tests/published/test_notation.py.
"""

import random

from mixlab.ward.order.order import (
    Ambiguous,
    CannotRead,
    HasCondition,
    KeptApart,
    MissingPart,
    Misspelt,
    NoFixedDose,
    NotInUnits,
    NotToGive,
    OtherRoute,
    OtherStrength,
    ReadyMixture,
    TimesContradict,
    UnsafeWriting,
)


def order(text, first="regular 8", second="nph 20", **said):
    """Return a row: the text, both doses as written and what else is said."""
    doses = tuple((key, float(units)) for key, units in (dose.rsplit(" ", 1) for dose in (first, second)))
    return text, doses, said


SUBCUT = {"route": "subcut"}
PLAIN = "regular insulin 8 units and NPH insulin 20 units"

READ = [
    # both insulins, in either order, joined in many ways
    order("regular insulin 8 units and NPH insulin 20 units"),
    order("NPH insulin 20 units and regular insulin 8 units", "nph 20", "regular 8"),
    order("8 units regular insulin and 20 units NPH insulin"),
    order("8 units of regular insulin and 20 units of NPH insulin"),
    order("20 units of NPH insulin, 8 units of regular insulin", "nph 20", "regular 8"),
    order("regular 14 units NPH 26 units", "regular 14", "nph 26"),
    order("regular 14 units, NPH 26 units", "regular 14", "nph 26"),
    order("regular: 14 units; NPH: 26 units.", "regular 14", "nph 26"),
    order("regular 14 units plus NPH 26 units", "regular 14", "nph 26"),
    order("regular 14 units then NPH 26 units", "regular 14", "nph 26"),
    order("Regular Insulin 8 Units And NPH Insulin 20 Units"),
    order("REGULAR INSULIN 8 UNITS AND NPH INSULIN 20 UNITS"),
    order("8 units regular, NPH 20 units"),
    order("regular 8 units, 20 units NPH"),
    order("draw up regular insulin 8 units, then NPH insulin 20 units."),
    order("give regular insulin 8 units mixed with NPH insulin 20 units in one syringe"),
    order("inject regular insulin 8 units and NPH insulin 20 units in the same syringe"),
    order("administer regular insulin 8 units together with NPH insulin 20 units"),
    order("Prepare regular insulin 8 units and NPH insulin 20 units in a single syringe, please."),
    order("8 units of regular 20 units of NPH"),
    order("regular: 8 units NPH: 20 units"),
    order("regular insulin 8 units combined with NPH insulin 20 units"),
    order("regular insulin, dose 8 units; NPH insulin, dose 20 units"),
    # names
    order("soluble insulin 8 units and isophane insulin 20 units"),
    order("Isophane 20 units and soluble 8 units", "nph 20", "regular 8"),
    order("neutral insulin 8 units and isophane 20 units"),
    order("human regular insulin 8 units and human NPH insulin 20 units"),
    order("soluble human insulin 8 units and NPH isophane 20 units"),
    order("insulin regular 8 units and insulin NPH 20 units"),
    order("insulin isophane (NPH) 20 units and insulin soluble (regular) 8 units", "nph 20", "regular 8"),
    order("isophane (NPH insulin) 20 units, regular 8 units", "nph 20", "regular 8"),
    order("insulin lispro 8 units and NPH insulin 20 units", "lispro 8"),
    order("lispro 8 units and isophane 20 units", "lispro 8"),
    order("insulin aspart 8 units and NPH insulin 20 units", "aspart 8"),
    order("NPH 20 units and glulisine 8 units", "nph 20", "glulisine 8"),
    order("insulin glargine 8 units and NPH insulin 20 units", "glargine 8"),
    order("insulin detemir 8 units and insulin lispro 6 units", "detemir 8", "lispro 6"),
    order("degludec 18 units and aspart 6 units", "degludec 18", "aspart 6"),
    order("regular insulin 8 units and premixed 70/30 insulin 20 units", second="premixed-70-30 20"),
    order("regular insulin 8 units and 70/30 20 units", second="premixed-70-30 20"),
    order("regular insulin 8 units and insulin lispro 20 units", second="lispro 20"),
    # amounts in figures
    order("regular insulin 8.5 units and NPH insulin 20.5 units", "regular 8.5", "nph 20.5"),
    order("regular insulin 0.5 units and NPH insulin 16 units", "regular 0.5", "nph 16"),
    order("regular insulin 1 unit and NPH insulin 1 unit", "regular 1", "nph 1"),
    order("regular insulin 8.3 units and NPH insulin 20 units", "regular 8.3"),
    order("regular insulin 8.25 units and NPH insulin 20 units", "regular 8.25"),
    order("regular insulin 0 units and NPH insulin 20 units", "regular 0"),
    order("regular insulin 100 units and NPH insulin 1200 units", "regular 100", "nph 1200"),
    order("regular insulin 8 unit and NPH insulin 20 unit"),
    order("regular insulin 8 units and NPH insulin 8 units", "regular 8", "nph 8"),
    # a ward may call them international units, in full: the Joint Commission asks for these words instead of IU (read)
    order("regular insulin 8 international units and NPH insulin 20 international units"),
    order("8 international units of regular insulin, 20 units of NPH insulin"),
    order("Regular insulin 1 International Unit and NPH insulin 20.5 international  units", "regular 1", "nph 20.5"),
    order("regular insulin eight international units and NPH insulin 20 (twenty) international units"),
    order(f"{PLAIN}, 100 international units/mL", strength="U-100"),
    # amounts in words
    order("regular insulin eight units and NPH insulin twenty units"),
    order("regular insulin Eight Units and NPH insulin TWENTY UNITS"),
    order("regular insulin five units and NPH insulin twenty-five units", "regular 5", "nph 25"),
    order("regular insulin fourteen units and NPH insulin twenty six units", "regular 14", "nph 26"),
    order("regular insulin sixteen units and NPH insulin sixty units", "regular 16", "nph 60"),
    order("regular insulin seven units and NPH insulin seventy-seven units", "regular 7", "nph 77"),
    order("regular insulin eight and a half units and NPH insulin twenty units", "regular 8.5"),
    order("regular insulin half a unit and NPH insulin nineteen units", "regular 0.5", "nph 19"),
    order("regular insulin one unit and NPH insulin eleven units", "regular 1", "nph 11"),
    order("regular insulin zero units and NPH insulin ninety units", "regular 0", "nph 90"),
    order("one hundred and five units of NPH insulin, forty units of regular insulin", "nph 105", "regular 40"),
    order("one hundred five units of NPH insulin, forty-one units of regular", "nph 105", "regular 41"),
    order("a hundred units NPH, thirty units regular", "nph 100", "regular 30"),
    order("two hundred and twelve units NPH and three units regular", "nph 212", "regular 3"),
    order("one thousand units NPH and three units regular", "nph 1000", "regular 3"),
    order("eight units regular and 20 units NPH"),
    order("regular insulin 8 (eight) units and NPH insulin 20 (twenty) units"),
    order("regular insulin eight (8) units and NPH insulin twenty (20) units"),
    order("regular insulin 8 units (eight units) and NPH insulin 20 units (twenty)"),
    order(
        "regular insulin 8.5 (eight and a half) units and NPH insulin 22 (twenty-two) units", "regular 8.5", "nph 22"
    ),
    # route
    order(f"{PLAIN} subcut", **SUBCUT),
    order(f"{PLAIN}, subcutaneous", **SUBCUT),
    order(f"{PLAIN} subcutaneously", **SUBCUT),
    order(f"{PLAIN} by subcutaneous injection", **SUBCUT),
    order(f"{PLAIN} under the skin", **SUBCUT),
    order("Subcut: regular 8 units, NPH 20 units", **SUBCUT),
    order("give under the skin regular insulin 8 units and NPH insulin 20 units", **SUBCUT),
    order("regular insulin 8 units subcut and NPH insulin 20 units", **SUBCUT),
    order(f"{PLAIN} (subcut)", **SUBCUT),
    order(f"{PLAIN} SUBCUT.", **SUBCUT),
    # time in relation to a meal
    order(f"{PLAIN} subcut 30 minutes before breakfast", when="30 minutes before breakfast", **SUBCUT),
    order(f"{PLAIN} before breakfast", when="before breakfast"),
    order(f"{PLAIN} 15-30 minutes before breakfast", when="15-30 minutes before breakfast"),
    order(f"{PLAIN} about 30 mins. before breakfast", when="about 30 mins. before breakfast"),
    order(f"{PLAIN} within 15 minutes before supper", when="within 15 minutes before supper"),
    order(f"{PLAIN} by subcutaneous injection at bedtime", when="at bedtime", **SUBCUT),
    order(f"{PLAIN} subcutaneously with supper", when="with supper", **SUBCUT),
    order(f"{PLAIN} before the evening meal", when="before the evening meal"),
    order(f"{PLAIN} Subcut. 15 min before Lunch.", when="15 min before lunch", **SUBCUT),
    order(f"{PLAIN} 45 mins before dinner", when="45 mins before dinner"),
    order(f"{PLAIN} half an hour before breakfast", when="half an hour before breakfast"),
    order(f"{PLAIN} thirty minutes before the morning meal", when="thirty minutes before the morning meal"),
    order(f"{PLAIN} an hour before tea", when="an hour before tea"),
    order(f"{PLAIN} before each meal", when="before each meal"),
    order(f"30 minutes before supper: {PLAIN}", when="30 minutes before supper"),
    order(f"Before breakfast, give {PLAIN}", when="before breakfast"),
    # clock times
    order(f"{PLAIN} at 07:30", clock="07:30"),
    order(f"{PLAIN} at 7:30 am", clock="07:30"),
    order(f"{PLAIN} at 7.30 am", clock="07:30"),
    order(f"{PLAIN} 7 am", clock="07:00"),
    order(f"{PLAIN} at 7 a.m.", clock="07:00"),
    order(f"{PLAIN} at 5:15 p.m.", clock="17:15"),
    order(f"{PLAIN} at 05:15 PM", clock="17:15"),
    order(f"{PLAIN} at 17:15", clock="17:15"),
    order(f"{PLAIN} at 17:15 h", clock="17:15"),
    order(f"{PLAIN} at 0730", clock="07:30"),
    order(f"{PLAIN} at 0730 hours", clock="07:30"),
    order(f"{PLAIN} at 12:30 am", clock="00:30"),
    order(f"{PLAIN} at 12:30 pm", clock="12:30"),
    order(f"{PLAIN} at noon", clock="12:00"),
    order(f"{PLAIN} at 12 noon", clock="12:00"),
    order(f"{PLAIN} at midnight", clock="00:00"),
    order(f"07:30, {PLAIN}", clock="07:30"),
    # how often
    order(f"{PLAIN} daily", how_often="daily"),
    order(f"{PLAIN} once daily", how_often="once daily"),
    order(f"{PLAIN} every day", how_often="every day"),
    order(f"{PLAIN} twice daily", how_often="twice daily"),
    order(f"{PLAIN} once a day", how_often="once a day"),
    order(f"{PLAIN} two times daily", how_often="two times daily"),
    order(f"{PLAIN} two times a day", how_often="two times a day"),
    order(f"{PLAIN} three times a day", how_often="three times a day"),
    order(f"{PLAIN} 2 times a day", how_often="2 times a day"),
    order(f"{PLAIN} before meals, three times every day", when="before meals", how_often="three times every day"),
    order(f"{PLAIN} at 7.30 AM", clock="07:30"),
    order(f"{PLAIN} every morning", how_often="every morning"),
    order(f"{PLAIN} every evening", how_often="every evening"),
    order(f"{PLAIN} each night", how_often="each night"),
    order(f"{PLAIN} every 12 hours", how_often="every 12 hours"),
    order(f"{PLAIN} every twelve hours", how_often="every twelve hours"),
    order(f"{PLAIN} every other day", how_often="every other day"),
    order(f"{PLAIN} once only", how_often="once only"),
    order(f"{PLAIN} once now", how_often="once now"),
    order(f"{PLAIN} now", how_often="now"),
    order(f"{PLAIN} right now", how_often="right now"),
    order(f"{PLAIN} today", how_often="today"),
    order(f"{PLAIN} this evening", how_often="this evening"),
    order(f"{PLAIN} daily in the morning", how_often="daily in the morning"),
    order(f"Today: {PLAIN}", how_often="today"),
    # two times a day of one mixture
    order(
        f"{PLAIN} subcut 30 minutes before breakfast and before supper",
        when="30 minutes before breakfast",
        again="before supper",
        **SUBCUT,
    ),
    order(f"{PLAIN} before breakfast and supper", when="before breakfast", again="before supper"),
    order(
        f"{PLAIN} two times a day before breakfast and before supper",
        when="before breakfast",
        again="before supper",
        how_often="two times a day",
    ),
    order(f"{PLAIN} at 07:30 and at 17:30", clock="07:30", again="at 17:30"),
    order(
        f"{PLAIN} before breakfast at 07:30 and before supper at 17:30",
        when="before breakfast",
        clock="07:30",
        again="before supper at 17:30",
    ),
    # short forms of a ward
    *(order(f"{PLAIN} {form}", how_often="two times a day") for form in ("BID", "b.i.d.", "bd")),
    *(order(f"{PLAIN} {form}", how_often="three times a day") for form in ("tid", "TDS")),
    *(order(f"{PLAIN} {form}", how_often="four times a day") for form in ("QID", "q.i.d.", "qds")),
    order(f"{PLAIN} qAM", how_often="every morning"),
    order(f"{PLAIN} q12h", how_often="every 12 hours"),
    order(f"{PLAIN} stat", how_often="now"),
    order(f"{PLAIN} in the AM", how_often="in the morning"),
    order(f"{PLAIN} mane", how_often="in the morning"),
    order(f"{PLAIN} ac breakfast", when="before breakfast"),
    order(f"{PLAIN} a.c. lunch", when="before lunch"),
    order(f"{PLAIN} pc", when="after meals"),
    # clocks as wards write them
    order(f"{PLAIN} 0730", clock="07:30"),
    order(f"{PLAIN} at 17.30", clock="17:30"),
    order(f"{PLAIN} 1730 hours", clock="17:30"),
    order(f"{PLAIN} at 7:30 in the evening", clock="19:30", how_often="in the evening"),
    order(f"{PLAIN} at 7 in the morning", clock="07:00", how_often="in the morning"),
    order(f"{PLAIN} immediately before breakfast", when="immediately before breakfast"),
    # strength
    order(f"{PLAIN}, U-100", strength="U-100"),
    order(f"{PLAIN} U100", strength="U-100"),
    order(f"{PLAIN} strength u-100", strength="U-100"),
    order(f"{PLAIN}, 100 units/mL", strength="U-100"),
    order(f"{PLAIN}, 100 units per mL", strength="U-100"),
    order("U-100 regular insulin 8 units and U-100 NPH insulin 20 units", strength="U-100"),
    # all together
    order(
        f"{PLAIN} U-100 subcut 30 minutes before breakfast at 07:30 every day",
        route="subcut",
        when="30 minutes before breakfast",
        clock="07:30",
        how_often="every day",
        strength="U-100",
    ),
    order(
        "Daily at 7:15 am, 15 minutes before breakfast, under the skin: isophane twenty-three units, soluble nine units.",
        "nph 23",
        "regular 9",
        route="subcut",
        when="15 minutes before breakfast",
        clock="07:15",
        how_often="daily",
    ),
    # several lines, stray marks, odd characters
    order("  regular   insulin 8 units\tand\nNPH insulin 20 units  "),
    order("regular insulin 8 units\nNPH insulin 20 units"),
    order(
        "regular insulin 8 units\r\nNPH insulin 20 units\r\nsubcut\r\nbefore breakfast",
        when="before breakfast",
        **SUBCUT,
    ),
    order("Order:\n- regular insulin 8 units\n- NPH insulin 20 units\n- subcut", **SUBCUT),
    order("• regular insulin 8 units\n• NPH insulin 20 units"),
    order("1. regular insulin 8 units\n2. NPH insulin 20 units"),
    order(
        "1. regular insulin 8 units\n2. NPH insulin 20 units subcut before breakfast", when="before breakfast", **SUBCUT
    ),
    order("Order:\n 1. NPH 20 units\r\n 2. regular 8 units\n 3. subcut\n", "nph 20", "regular 8", **SUBCUT),
    order("regular\n8 units\n\nNPH\n20 units"),
    order(
        "regular insulin 8 units and\nNPH insulin 20 units subcut 30 minutes\nbefore breakfast",
        when="30 minutes before breakfast",
        **SUBCUT,
    ),
    order('"regular insulin 8 units and NPH insulin 20 units"'),
    order("“regular insulin 8 units”, “NPH insulin 20 units”"),
    order("regular insulin 8 units,, NPH insulin 20 units;;"),
    order("regular insulin (8 units), NPH insulin (20 units)"),
    order("regular insulin 8 units and NPH insulin 20 units!"),
    order("regular insulin 8 units and NPH insulin 20 units .."),
    order("regular\u00a0insulin 8\u00a0units and NPH insulin 20 units"),
    order("regular\u2009insulin 8\u202funits and NPH\u3000insulin 20 units"),
    order("regular insulin ８ units and NPH insulin ２０ units"),
    order("ｒｅｇｕｌａｒ insulin 8 ｕｎｉｔｓ and ＮＰＨ insulin 20 units"),
    order("regular insulin 8 units， NPH insulin 20 units", "regular 8", "nph 20"),
    order("regular insulin eight units and NPH insulin twenty\u2011two units", second="nph 22"),
    order("regular insulin eight units and NPH insulin twenty\u2010two units", second="nph 22"),
    order("\ufeffregular insulin 8 units and NPH insulin 20 units"),
    order("regular insulin 8 units \u200band NPH insulin 20 units\u200b"),
]

N = " and NPH insulin 20 units"


def refused(error, *texts):
    """Return rows of texts that must be refused with this class and no other."""
    return [(text, error) for text in texts]


REFUSED = [
    *refused(
        TimesContradict,
        *(
            f"{PLAIN} subcut before breakfast {late}"
            for late in ("every night", "every evening", "at 22:00", "at 7 pm")
        ),
        *(f"{PLAIN} subcut at bedtime {early}" for early in ("every morning", "at 07:30", "at 7 am")),
        f"{PLAIN} subcut every morning at 19:00",
        f"{PLAIN} subcut before breakfast every night at 22:00",
    ),
    *refused(
        UnsafeWriting,
        *(f"regular insulin {dose}{N}" for dose in ("8U", "8 U", "8u", "8 u", "8 U.", "8 IU", "8IU", "8 iu", "8 I.U.")),
        *(f"regular insulin {dose} international units{N}" for dose in ("8.0", ".5")),
        *(f"regular insulin {dose} units{N}" for dose in ("8.0", "8.00", "8.50", ".5", "0.50", "20.0")),
        *(f"{PLAIN} {route}" for route in ("SC", "sc before breakfast", "SQ", "s.c.", "s/c", "subq", "sub q", "sub-q")),
        *(f"{PLAIN} subcut {often}" for often in ("QD", "q.d.", "QOD", "q.o.d.", "qhs", "HS", "qn", "q6PM", "@ 07:30")),
        "8U regular and 20 units NPH",
        "regular 14 units + NPH 26 units",
        "Reg 8 units and NPH 20 units",
        "regular insulin +8 units" + N,
        "R 8 units and N 20 units",
        "regular insulin 8 units and NPH insulin 20.0 units",
        "regular insulin 8 units and NPH insulin 20U",
        "regular insulin 8units" + N,
        "regular insulin 8 units and NPH20 units",
        "regularinsulin8units" + N,
        "regular insulin 8 cc" + N,
        "regular insulin ８Ｕ" + N,
        f"D/C {PLAIN}",
        f"{PLAIN}, hold if glucose <70",
        f"{PLAIN} subcut @ breakfast",
        "NPH 20 units / regular 8 units",
        "NPH 20 units/regular 8 units",
        "20 units NPH / 8 units regular",
        "8 units / 9 units regular and NPH 20 units",
    ),
    *refused(
        HasCondition,
        f"{PLAIN} subcut before breakfast. Hold if glucose is less than 70 mg/dL",
        f"{PLAIN}, hold if glucose is below 3.9 mmol/L",
        f"{PLAIN}; hold for glucose under 70",
        f"{PLAIN} (hold if the blood glucose is 70 mg/dL or less)",
        f"Hold if glucose is less than 4.0 mmol/L: {PLAIN}",
        f"If eating, give {PLAIN}",
        f"{PLAIN}\nHold if glucose is\nless than 70 mg/dL",
        f"{PLAIN}, hold regular insulin if not eating",
        f"{PLAIN}, call the prescriber when glucose is above 300 mg/dL",
        f"{PLAIN} unless fasting",
        f"{PLAIN} glucose less than 70: hold",
        f"{PLAIN} 70 mg/dL",
        f"{PLAIN} 70mg/dL to 100mg/dL",
        f"{PLAIN} below 4.0 mmol/L",
        "hold if glucose is less than 70 mg/dL",
    ),
    *refused(NotToGive, f"hold {PLAIN}", f"discontinue {PLAIN}", f"Do not give {PLAIN}"),
    *refused(KeptApart, f"{PLAIN} in separate syringes", f"{PLAIN}. Do not mix."),
    *refused(
        ReadyMixture,
        "premixed 70/30 insulin 16 units subcut before supper",
        "70/30 16 units",
        "human 70/30 insulin before breakfast",
    ),
    *refused(
        Ambiguous,
        *(
            f"regular insulin {dose} units{N}"
            for dose in ("8-10", "8–10", "8 - 10", "8 to 10", "8 or 10", "8/10", "1,8", "1,000")
        ),
        *(
            f"regular insulin {dose}{N}"
            for dose in (
                "8 units or 9 units",
                "8 units to 9 units",
                "between 8 and 9 units",
                "8-10 international units",
            )
        ),
        *(f"regular insulin {dose}{N}" for dose in ("eight to ten units", "eight or ten units", "8 (eighty) units")),
        *(f"regular insulin {dose}{N}" for dose in ("eight (80) units", "8 units (18 units)", "six (sixteen) units")),
        "regular NPH 8 units 20 units",
        "regular NPH 8 units 8 units",
        "regular insulin and NPH insulin 8 units and 20 units",
        "8 units 20 units regular NPH",
        "8 units and 20 units of regular and NPH insulin",
        "regular, 8 units NPH, 20 units",
        "8 units, regular 20 units, NPH",
        "regular insulin and 8 units NPH insulin and 20 units",
        "regular insulin 8 units of NPH 20 units",
        "regular with 8 units of NPH with 20 units",
        "regular. 8 units NPH. 20 units",
        "regular\n8 units NPH\n20 units",
        "regular (8 units NPH) 20 units",
        f"{PLAIN} before breakfast, at bedtime",
        f"{PLAIN} before breakfast, before lunch and before supper",
        f"{PLAIN} before breakfast and at 07:30",
        f"{PLAIN} subcut q.p.m.",
        "regular insulin 8 units and NPH insulin\n20 units subcut 30 minutes\nbefore breakfast",
        f"{PLAIN} daily, twice daily",
        "regular insulin 8 units subcut" + N + " subcut",
        "regular insulin 8 units before breakfast" + N,
        "regular insulin 8 units at 07:30" + N,
        "regular insulin 8 units every morning" + N,
        "regular 8 units in the morning and NPH 20 units in the evening",
        "regular 8 units before breakfast and NPH 20 units before supper",
        f"{PLAIN} at 7:30",
        f"{PLAIN} at 7",
    ),
    *refused(
        MissingPart,
        "",
        "   ",
        "8",
        "8 units",
        "regular insulin",
        "regular insulin and NPH insulin",
        "regular insulin 8 units",
        "regular insulin 8 units and NPH insulin",
        "regular insulin 8 units and 20 units",
        "regular insulin 8 and NPH insulin 20",
        "regular insulin 8" + N,
        "regular insulin 8. units" + N,
        *(f"regular insulin 8 {unit}{N}" for unit in ("international", "intl. units", "international mL", "int units")),
        "regular insulin 1 8 units" + N,
        "regular insulin eight" + N,
        "regular insulin sixty twelve units" + N,
        "regular insulin eight point five units" + N,
        "regular insulin 1 000 units" + N,
        "1. regular insulin 8 units 2. NPH insulin 20 units",
        "1. regular insulin 8 units and NPH insulin 20 units",
        "2. regular insulin 8 units\n1. NPH insulin 20 units",
        "1. regular insulin 8 units\n3. NPH insulin 20 units",
        "1. regular insulin 8 units\n1. NPH insulin 20 units",
        "1. 8 units regular insulin\n2. 20 units NPH insulin",
        "1.regular insulin 8 units\n2. NPH insulin 20 units",
        f"{PLAIN} two times",
        "subcut before breakfast",
    ),
    *refused(
        Misspelt,
        "reglar insulin 8 units" + N,
        f"{PLAIN} before brekfast",
        f"{PLAIN} subctu",
        "isophan insulin 8 units" + N,
    ),
    *refused(
        NoFixedDose,
        *(f"regular insulin {word} 8 units{N}" for word in ("about", "maximum", "no more than", "up to")),
        "regular insulin sliding scale and NPH insulin 20 units",
        "regular insulin per sliding scale" + N,
        "regular sliding" + N,
        "regular insulin per scale" + N,
        "regular insulin by protocol" + N,
        f"{PLAIN} as needed",
        f"{PLAIN} prn",
        f"{PLAIN} plus correction",
        "regular insulin according to blood glucose" + N,
        "regular insulin 8 units/kg" + N,
        "regular insulin 8 units per hour" + N,
        "regular insulin 8 international units/kg" + N,
        "regular insulin usual dose" + N,
    ),
    *refused(
        OtherRoute,
        f"{PLAIN} intravenously",
        f"{PLAIN} IV",
        f"{PLAIN} i.v. push",
        f"{PLAIN} into a vein",
        f"{PLAIN} IM",
        f"{PLAIN} intramuscularly",
        f"{PLAIN} by mouth",
        f"{PLAIN} as an infusion",
    ),
    *refused(
        OtherStrength,
        f"{PLAIN} U-500",
        f"{PLAIN} U40",
        f"{PLAIN}, 500 units/mL",
        f"{PLAIN}, 500 international units/mL",
        "U-500 regular insulin 8 units" + N,
        f"{PLAIN} U-10",
    ),
    *refused(
        NotInUnits, *(f"regular insulin {dose}{N}" for dose in ("8 mL", "0.08 mL", "8 mg", "8 marks", "eight drops"))
    ),
    *refused(
        CannotRead,
        "good morning",
        "regular insulin 8 units and NPH insulin 20 units and insulin lispro 4 units",
        "regular insulin 8 units and NPH insulin 20 units and 4 units",
        *(
            f"regular insulin {dose} units{N}"
            for dose in ("-8", "−8", "08", "8e1", "8½", "½", "²", "8²", "٨", "8l", "O8")
        ),
        *(f"regular insulin {dose} units{N}" for dose in ("8\u200b0", "8\u00ad0", "10000", "1,2,3", "8 to 8", "0,0")),
        *(f"regular insulin {word} 8 units{N}" for word in ("international", "not", "minus", "double", "half")),
        "regular insulin 8 units? and NPH insulin 20 units",
        "regular insulin 8 units ... NPH insulin 20 units",
        "reg\u200bular insulin 8 units" + N,
        "regular insulin twenty- five units" + N,
        f"{PLAIN} 130 minutes before breakfast",
        f"{PLAIN} breakfast",
        f"{PLAIN} at 25:30",
        f"{PLAIN} at 13:30 pm",
        "regular insulin eight international\nunits and NPH insulin 20 units",
        f"{PLAIN} for Bed 4",
        "<script>alert()</script>",
        "<script>alert(8)</script>",
        PLAIN + ";" * 500,
        PLAIN + " " * 500,
    ),
]

GOOD = [text for text, _, _ in READ]
_FRAGMENTS = [
    *("regular", "NPH", "insulin", "lispro", "glargine", "isophane", "soluble", "70/30", "units", "unit"),
    *("U", "IU", "mL", "8", "20", "1", "0", "00", ".5", "8.0", "1,8", "8-10", "8 units", "20 units"),
    *("eight", "twenty-two", "hundred", "half a", " ", " ", " ", "  ", ",", ".", ";", ":", "and", "or"),
    *("to", "of", "-", "\u2013", "/", "(", ")", "\n", "\t", "+", "<", ">", "@", "subcut", "SC", "IV"),
    *("sliding scale", "U-100", "U-500", "daily", "qd", "every 12 hours", "now", "once", "1. ", "\n2. "),
    *("hold if ", "glucose", "less than", "70 mg/dL", "BID", "ac ", "stat", "two times a day", "call"),
    *(
        "hold ",
        " in separate syringes",
        " three times a day",
        " before supper",
        " tonight",
        " before breakfast at 22:00 ",
        " tonight at 07:30 ",
    ),
    *("before breakfast", "30 minutes", "at 07:30", "7:30 am", "at 7", "noon", "with supper", "bedtime"),
    *("meals", "\u00a0", "\u200b", "\u2011", "\uff18", "\uff35", "\xbd", "\xb2", "\u0668", "\u0130"),
    *("\u017f", "\u0301", "\ud800", "\U0001f489", "\x00", "\ufeff", "<b>"),
]


def fuzzed(count, seed=4):
    """Yield so many bad or strange texts: fragments strung together, and good orders with letters changed, lost or moved."""
    chance = random.Random(seed)
    for _ in range(count):
        if chance.random() < 0.4:
            joint = chance.choice(("", " "))
            yield joint.join(chance.choice(_FRAGMENTS) for _ in range(chance.randrange(1, 18)))
            continue
        text = chance.choice(GOOD)
        for _ in range(chance.choice((1, 1, 1, 2, 3))):
            text = _changed(text, chance)
        yield text


_ODD_SPACES = ("\u00a0", "\u3000", "\n", "\t", "  ", "\r\n", ", ")


def _changed(text, chance):
    here, way = chance.randrange(len(text) + 1), chance.randrange(8)
    if way == 0:
        return text[:here] + chance.choice(_FRAGMENTS) + text[here:]
    if way == 1:
        return text[:here] + text[here + chance.randrange(1, 4) :]
    if way == 2:
        strange = chr(chance.choice((chance.randrange(32, 127), chance.randrange(0x3000))))
        return text[:here] + strange + text[here + 1 :]
    if way == 3:
        here, there = sorted((here, chance.randrange(len(text) + 1)))
        return text[there:] + text[here:there] + text[:here]
    if way == 4:
        digits = [place for place, letter in enumerate(text) if letter in "0123456789"]
        digit = chance.choice(digits or [0])
        return text[:digit] + chance.choice("0123456789") + text[digit + 1 :]
    letter = text[here : here + 1]
    if way == 5:
        return text[:here] + letter.swapcase() + text[here + 1 :]
    if way == 6:
        wide = chr(ord(letter) + 0xFEE0) if "!" <= letter <= "~" else letter
        return text[:here] + wide + text[here + 1 :]
    space = text.find(" ", here)
    return text[: max(space, 0)] + chance.choice(_ODD_SPACES) + text[space + 1 :]
