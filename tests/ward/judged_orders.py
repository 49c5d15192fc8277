"""Orders judged by hand, each as a nurse would: good, read with something to say, or not to be read.

`GOOD`: nothing keeps the dose back and nothing is said. `SAID`: read, and exactly these concerns are told. `REFUSED`: not read, and
at least this concern is told. All are our own. A verdict is written beside its order and never worked out by the reader.
"""

PLAIN = "regular insulin 8 units and NPH insulin 20 units"
SUBCUT = f"{PLAIN} subcut"

GOOD, SAID, REFUSED = [], {}, {}


def good(*texts):
    GOOD.extend(texts)


def said(keys, *texts):
    SAID.update(dict.fromkeys(texts, frozenset(keys.split())))


def refused(key, *texts):
    REFUSED.update(dict.fromkeys(texts, key))


# Times before and after the doses (issue row 1): both must fit one moment.

good(
    f"Before breakfast: {SUBCUT} at 07:30",
    f"At 07:30: {SUBCUT} before breakfast",
    f"In the morning: {SUBCUT} 30 minutes before breakfast",
    f"This evening: {SUBCUT} before supper",
    f"Before supper: {SUBCUT} at 17:30",
    f"At 5:30 pm: {SUBCUT} 30 minutes before supper",
    f"Every morning, 30 minutes before breakfast: {SUBCUT}",
    f"Daily: {SUBCUT} before breakfast",
    f"Today: {SUBCUT} before supper",
    f"Before lunch: {SUBCUT} at noon",
)
refused(
    "times-contradict",
    *(
        f"Before {meal}: regular insulin 8 units{joint}NPH insulin 20 units subcut at {clock}"
        for meal, clock in (
            ("supper", "21:30"), ("supper", "22:00"), ("supper", "07:30"), ("breakfast", "21:30"), ("breakfast", "11:30"),
            ("breakfast", "12:30"), ("lunch", "17:30"), ("lunch", "21:30"), ("lunch", "07:30"), ("supper", "11 pm"),
        )
        for joint in (" and ", ", ", "\n", "; ")
    ),
    *(
        f"{one}: {SUBCUT} {other}"
        for one, other in (
            ("In the morning", "at 17:30"), ("This evening", "at 07:30"), ("At 07:30", "this evening"), ("At 21:30", "before supper"),
            ("In the morning", "before supper"), ("Tonight", "before breakfast"), ("In the afternoon", "before breakfast"),
            ("Now", "before supper"), ("Now", "at 17:30"), ("Before breakfast", "now"), ("In the morning", "before lunch"),
        )
    ),
)  # fmt: skip
refused(
    "two-readings",
    f"Before breakfast: {SUBCUT} before supper",
    f"At 07:30: {SUBCUT} at 17:30",
    f"In the morning: {SUBCUT} in the evening",
    "regular insulin 8 units before breakfast and NPH insulin 20 units subcut",
    "regular insulin 8 units at 07:30, NPH insulin 20 units subcut at 21:30",
    "regular insulin 8 units subcut before supper\nNPH insulin 20 units at 21:30",
    "regular insulin 8 units daily, NPH insulin 20 units subcut before supper",
)
refused("slash", "regular insulin 8 units and NPH insulin /20 units subcut before breakfast")
refused("slash", "Before supper: regular insulin 8 units / NPH insulin 20 units subcut at 21:30")

# Clock, meal, part of the day and how often together (issue row 2)

refused(
    "times-contradict",
    f"{SUBCUT} at 03:30 in the afternoon",
    f"{SUBCUT} at 07:30 tonight",
    f"{SUBCUT} at 07:30 in the evening",
    f"{SUBCUT} at 19:30 in the morning",
    f"{SUBCUT} at 7 pm in the morning",
    f"{SUBCUT} at 7 am in the evening",
    f"{SUBCUT} at noon tonight",
    f"{SUBCUT} at midnight in the afternoon",
    f"{SUBCUT} before lunch at 22:00",
    f"{SUBCUT} before the midday meal at 18:00",
    f"{SUBCUT} before tea at 08:00",
    f"{SUBCUT} with supper at 02:00",
    f"{SUBCUT} after breakfast at 14:00",
    f"{SUBCUT} after lunch at 19:00",
    f"{SUBCUT} after supper at 02:00",
    f"{SUBCUT} with dinner at 03:00",
    f"{SUBCUT} at bedtime at 12:00",
    f"{SUBCUT} 30 minutes before supper at 7 am",
    f"{SUBCUT} 30 minutes before the evening meal at 06:00",
    f"{SUBCUT} before the morning meal at 15:00",
    f"{SUBCUT} before lunch every night",
    f"{SUBCUT} before breakfast tonight",
    f"{SUBCUT} before breakfast in the afternoon",
    f"{SUBCUT} before supper in the morning",
    f"{SUBCUT} nightly before breakfast",
    f"{SUBCUT} three times a day before breakfast",
    f"{SUBCUT} twice daily before supper",
    f"{SUBCUT} twice daily at 07:30",
    f"{SUBCUT} two times a day in the morning",
    f"{SUBCUT} four times a day at bedtime",
    f"{SUBCUT} every 6 hours before breakfast",
    f"{SUBCUT} every 8 hours at 07:30",
    f"{SUBCUT} every 12 hours before breakfast",
    f"{SUBCUT} once daily before each meal",
    f"{SUBCUT} before each meal at 07:30",
    f"{SUBCUT} before meals in the morning",
    f"{SUBCUT} now before meals",
    f"{SUBCUT} once daily before breakfast and before supper",
    f"{SUBCUT} three times a day before breakfast and before supper",
    f"{SUBCUT} every 8 hours at 07:30 and at 19:30",
    f"{SUBCUT} BID before breakfast",
    f"{SUBCUT} now and before supper",
)
refused(
    "not-understood", f"{SUBCUT} every zero hours", f"{SUBCUT} every 0 hours", f"{SUBCUT} every 7 hours before meals"
)
refused(
    "two-readings",
    f"{SUBCUT} daily, twice daily",
    f"{SUBCUT} before breakfast, before supper",
    f"{SUBCUT} before breakfast and at 07:30",
    f"{SUBCUT} before breakfast and before breakfast",
    f"{SUBCUT} before breakfast, before lunch and before supper",
    f"{SUBCUT} at 7:30",
    f"{SUBCUT} at 7.30",
    f"{SUBCUT} at 7",
    f"{SUBCUT} qPM",
)
good(
    *(
        f"{SUBCUT} {time}"
        for time in (
            "before breakfast", "30 minutes before breakfast", "half an hour before breakfast", "45 minutes before supper",
            "before lunch", "before the midday meal", "before tea", "before supper", "before dinner", "before the evening meal",
            "before meals", "before each meal", "before a meal", "at 07:30", "at 0730", "0730", "at 07.30", "at 17.30", "1730 h",
            "at 7 am", "at 7:30 am", "at 7.30 am", "at 5:30 pm", "at noon", "today before supper",
            "before breakfast every morning", "before breakfast daily", "every day at 07:30", "before supper this evening",
            "before supper tonight", "every evening before supper", "at 18:00 tonight", "at 7:30 in the morning",
            "at 3:30 in the afternoon", "at 5 this evening", "before breakfast at 07:15", "before lunch at 12:00",
            "at 17:15, 30 minutes before supper", "three times a day before meals", "twice daily before meals",
            "once daily before breakfast", "every other day before breakfast", "before dinner at 12:30", "before dinner at 18:00",
        )
    ),
    f"{PLAIN} under the skin 30 minutes before breakfast",
    "Subcut, before breakfast: NPH insulin 20 units and regular insulin 8 units",
    "insulin lispro 8 units and NPH insulin 20 units subcut immediately before breakfast",
    "insulin aspart 8 units and NPH insulin 20 units subcut with supper",
)  # fmt: skip
said(
    "time-does-not-fit",
    f"{SUBCUT} at bedtime",
    f"{SUBCUT} immediately before breakfast",
    f"{SUBCUT} with breakfast",
    f"{SUBCUT} after meals",
)
said(
    "time",
    SUBCUT,
    f"{SUBCUT} daily",
    f"{SUBCUT} every 12 hours",
    f"{SUBCUT} tonight",
    f"{SUBCUT} in the morning",
    f"{SUBCUT} twice daily",
)
said("route", f"{PLAIN} before breakfast", f"{PLAIN} at 07:30")
said("route time", PLAIN)
said(
    "not-due-now",
    f"{SUBCUT} before breakfast tomorrow",
    f"{SUBCUT} tomorrow at 07:30",
    f"{SUBCUT} from tomorrow before breakfast",
)

# What wards write (issue row 5): two doses a day of the same mixture, short forms, clear instructions

said(
    "two-times",
    f"{SUBCUT} 30 minutes before breakfast and before supper",
    f"{SUBCUT} 30 minutes before breakfast and supper",
    f"{SUBCUT} 30 minutes before breakfast and 30 minutes before supper",
    f"{SUBCUT} before breakfast and supper",
    f"{SUBCUT} two times a day before breakfast and before supper",
    f"{SUBCUT} twice daily, before breakfast and before supper",
    f"{SUBCUT} twice daily before breakfast and the evening meal",
    f"{SUBCUT} every 12 hours, at 07:30 and at 19:30",
    f"{SUBCUT} at 07:30 and 17:30",
    f"{SUBCUT} at 7 am and 5 pm",
    f"{SUBCUT} daily before breakfast and before supper",
    f"{SUBCUT} before breakfast at 07:30 and before supper at 17:30",
    f"Before breakfast and before supper: {SUBCUT}",
)
said(
    "two-times time-does-not-fit",
    f"{SUBCUT} before breakfast and at bedtime",
    f"{SUBCUT} before breakfast and after supper",
)
said(
    "short-time",
    f"{SUBCUT} AC breakfast",
    f"{SUBCUT} BID AC",
    f"{SUBCUT} a.c. supper",
    f"{SUBCUT} qAM before breakfast",
)
said("now", f"{SUBCUT} now", f"{SUBCUT} immediately", f"{SUBCUT} right now")
said("short-time now", f"{SUBCUT} stat")
said("short-time time", f"{SUBCUT} BID", f"{SUBCUT} q12h", f"{SUBCUT} mane")
said(
    "short-time two-times",
    f"{SUBCUT} BID before breakfast and supper",
    f"{SUBCUT} bd, before breakfast and before supper",
)
refused(
    "not-to-give",
    *(
        text.format(SUBCUT)
        for verb in (
            "Hold",
            "Do not give",
            "Discontinue",
            "Stop",
            "Omit",
            "Withhold",
            "Don't give",
            "Cancel",
            "Suspend",
        )
        for text in (f"{verb} {{}} before breakfast", f"{{}} before breakfast. {verb}.")
    ),
)
refused(
    "kept-apart",
    f"{SUBCUT} before breakfast in separate syringes",
    f"{SUBCUT} before breakfast, separate injections",
    f"{SUBCUT} before breakfast as two injections",
    f"{SUBCUT} before breakfast. Do not mix.",
    f"{SUBCUT} before breakfast, separately",
    f"{SUBCUT} before breakfast, in two syringes",
)
refused(
    "condition",
    f"{SUBCUT} before breakfast, hold if below 70",
    f"{SUBCUT} before breakfast, hold if below 4.0 mmol/L",
    f"{SUBCUT} before breakfast. Do not give if not eating.",
    f"{SUBCUT} before breakfast unless fasting",
    f"{SUBCUT} before breakfast; call if glucose above 300 mg/dL",
)
refused(
    "no-fixed-dose",
    f"{SUBCUT} before breakfast. 150-200: 2 units, 201-250: 4 units",
    f"{SUBCUT} before breakfast; 150 to 200 mg/dL give 2 units",
    f"{SUBCUT} before breakfast plus correction",
    "regular insulin about 8 units and NPH insulin 20 units subcut before breakfast",
    "regular insulin max 8 units and NPH insulin 20 units subcut before breakfast",
    "regular insulin per sliding scale and NPH insulin 20 units subcut before breakfast",
)

# Figures, signs and lines (issue rows 3 and 4)

for sign in (",", "!", "'", ":", ";", "*", "=", "~", "#", '"', "“", "‘", "-", "–", "$", "?", "|"):
    refused("not-understood", f"regular insulin {sign}8 units and NPH insulin 20 units subcut before breakfast")
    refused("not-understood", f"regular insulin 8 units and NPH insulin {sign}20 units subcut before breakfast")
refused("not-understood", "regular insulin (8 units and NPH insulin 20 units subcut before breakfast")
refused("not-understood", "regular insulin 8) units and NPH insulin 20 units subcut before breakfast")
refused("not-understood", "regular insulin ,5 units and NPH insulin 20 units subcut before breakfast")
for mark in ("\u202e", "\u202d", "\u2066", "\u2067", "\u200f", "\u200e", "\u061c", "\u202c", "\u2069"):
    refused("not-understood", f"{mark}{SUBCUT} before breakfast")
    refused("not-understood", f"{SUBCUT} {mark}before breakfast")
    refused("not-understood", f"regular insulin {mark}21{mark} units and NPH insulin 20 units subcut before breakfast")
for torn in (
    "8\nunits",
    "twenty\neight units",
    "eight\nunits",
    "8 international\nunits",
    "twenty-\neight units",
    "8 \n units",
):
    refused("not-understood", f"regular insulin {torn} and NPH insulin 20 units subcut before breakfast")
refused(
    "two-readings",
    *(
        f"{text} subcut before breakfast"
        for text in (
            "8 units\nregular insulin, 20 units\nNPH insulin",
            "8 units\nregular insulin and 20 units\nNPH insulin",
            "8 units\nregular insulin\n20 units\nNPH insulin",
            "regular insulin\n8 units, NPH insulin\n20 units",
            "regular insulin, 8 units, NPH insulin, 20 units",
            "regular insulin; 8 units; NPH insulin; 20 units",
            "regular insulin and 8 units and NPH insulin and 20 units",
            "8 units, regular insulin, 20 units NPH insulin",
            "regular insulin, 8 units NPH insulin, 20 units",
            "regular insulin (8 units NPH insulin) 20 units",
            "regular insulin and NPH insulin 8 units and 20 units",
            "regular insulin 8-10 units and NPH insulin 20 units",
            "regular insulin 1,8 units and NPH insulin 20 units",
            "regular insulin 8 (eighty) units and NPH insulin 20 units",
        )
    ),
)
good(
    *(
        f"{text} subcut before breakfast"
        for text in (
            "regular insulin 8 units\nNPH insulin 20 units\n",
            "- regular insulin 8 units\n- NPH insulin 20 units\n",
            "1. regular insulin 8 units\n2. NPH insulin 20 units\n",
            "regular insulin (8 units), NPH insulin (20 units)",
            "regular insulin, 8 units; NPH insulin, 20 units",
            "regular insulin: 8 units, NPH insulin: 20 units",
            "regular\n8 units\n\nNPH\n20 units\n",
            "8 units regular insulin, 20 units NPH insulin",
            "8 units of regular insulin and 20 units of NPH insulin",
            "regular insulin eight units and NPH insulin twenty units",
            "regular insulin 8 (eight) units and NPH insulin 20 (twenty) units",
            "regular insulin twenty-two units and NPH insulin forty units",
            "soluble insulin 8 units and isophane insulin 20 units",
            "regular insulin 8.5 units and NPH insulin 20 units",
        )
    )
)

# Words for numbers that are none

refused(
    "unit",
    *(
        f"regular insulin {dose} and NPH insulin 20 units subcut before breakfast"
        for dose in ("8", "eight", "eight point five", "12", "1730")
    ),
)
refused(
    "not-understood",
    *(
        f"regular insulin {dose} units and NPH insulin 20 units subcut before breakfast"
        for dose in (
            "eigth",
            "8ish",
            "eight-ish",
            "a few",
            "8e1",
            "8½",
            "double 8",
            "minus 8",
            "08",
            "0x8",
        )
    ),
)

# Three grades of writing (issue row 6)

for key, forms in {
    "bare-u": ("8U", "8 u"),
    "iu": ("8 IU", "8iu"),
    "trailing-zero": ("8.0 units",),
    "no-leading-zero": (".5 units",),
    "number-and-unit": ("8units",),
}.items():
    refused(key, *(f"regular insulin {form} and NPH insulin 20 units subcut before breakfast" for form in forms))
for key, forms in {
    "sc": ("SC", "s.c."), "sq": ("SQ", "sub q"), "qd": ("subcut QD",), "qod": ("subcut QOD",), "hs": ("subcut HS",), "bt": ("subcut BT",),
    "od": ("subcut OD",), "tiw": ("subcut TIW",), "x3d": ("subcut x3d",), "qhs": ("subcut qhs",), "per-os": ("per os",),
    "ssi": ("subcut SSI",), "at-sign": ("subcut @ 07:30", "subcut @ breakfast"),
}.items():  # fmt: skip
    refused(key, *(f"{PLAIN} {form} before breakfast" if key != "at-sign" else f"{PLAIN} {form}" for form in forms))
for key, joint in {"plus": "+", "ampersand": "&"}.items():
    refused(key, f"regular insulin 8 units {joint} NPH insulin 20 units subcut before breakfast")
refused(
    "short-name",
    "Reg 8 units and NPH insulin 20 units subcut before breakfast",
    "R 8 units and N 20 units subcut before breakfast",
)
said(
    "small-dose",
    *(
        f"regular insulin {dose} and NPH insulin 20 units subcut before breakfast"
        for dose in ("1 unit", "0.5 units", "1.5 units")
    ),
)
good("regular insulin 2 units and NPH insulin 20 units subcut before breakfast")
said(
    "large-dose",
    "regular insulin 8 units and NPH insulin 60 units subcut before breakfast",
    "regular insulin 10 units and NPH insulin 52 units subcut before breakfast",
)
good("regular insulin 8 units and NPH insulin 50 units subcut before breakfast")
