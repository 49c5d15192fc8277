"""A second author's orders, each judged before the reader was seen or run, as a ward writes them.

`GOOD`: read as these doses, clear first, at this time, and nothing is said. `SAID`: read, and these concerns are told.
`REFUSED`: not read, and one of these concerns is told. All are our own; none is of a real patient.
"""

GOOD, SAID, REFUSED = {}, {}, {}


def good(read_as, *texts):
    GOOD.update(dict.fromkeys(texts, read_as))


def said(keys, *texts):
    SAID.update(dict.fromkeys(texts, frozenset(keys.split())))


def refused(keys, *texts):
    REFUSED.update(dict.fromkeys(texts, frozenset(keys.split())))


# Verbs, and the order of the words.

good(
    "regular 10, NPH 24: 30 minutes before breakfast",
    "Give regular insulin 10 units mixed with NPH insulin 24 units subcut 30 minutes before breakfast",
    "Administer 10 units of regular insulin and 24 units of NPH insulin subcutaneously, 30 minutes before breakfast",
    "Please give 10 units regular insulin with 24 units NPH insulin by subcutaneous injection 30 minutes before breakfast.",
    "Inject subcut 30 minutes before breakfast: regular insulin 10 units, NPH insulin 24 units",
    "Start regular insulin 10 units and NPH insulin 24 units subcut 30 minutes before breakfast",
    "Continue regular insulin 10 units and NPH insulin 24 units subcut 30 minutes before breakfast",
    "30 minutes before breakfast give subcut 10 units of regular insulin and 24 units of NPH insulin",
    "Subcutaneously 30 minutes before breakfast: NPH insulin 24 units and regular insulin 10 units",
    "Insulin regular 10 units and insulin NPH 24 units subcut, both 30 minutes before breakfast",
    "Draw up regular insulin 10 units and NPH insulin 24 units in one syringe and give subcut 30 minutes before breakfast",
    "Mix in the same syringe: regular insulin 10 units and NPH insulin 24 units. Give subcut 30 minutes before breakfast.",
    "NPH insulin 24 units and regular insulin 10 units together in one syringe, subcut, 30 minutes before breakfast",
    "Regular insulin 10 units plus NPH insulin 24 units under the skin 30 minutes before breakfast",
    "To be given subcut 30 minutes before breakfast: 10 units regular insulin, 24 units NPH insulin",
)

# Lists, labels and tables.

good(
    "regular 6, NPH 14: 30 minutes before supper",
    "1. Regular insulin 6 units\n2. NPH insulin 14 units\nSubcut, 30 minutes before supper",
    "- regular insulin 6 units\n- NPH insulin 14 units\n- subcut 30 minutes before supper",
    "Regular insulin: 6 units\nNPH insulin: 14 units\nRoute: subcut\nTime: 30 minutes before supper",
    "Regular insulin 6 units; NPH insulin 14 units; route: subcutaneous; time: 30 minutes before supper",
    "REGULAR INSULIN 6 UNITS AND NPH INSULIN 14 UNITS SUBCUT 30 MINUTES BEFORE SUPPER",
    "Regular insulin (6 units) and NPH insulin (14 units), subcut, 30 minutes before supper",
    "Regular insulin - 6 units, NPH insulin - 14 units, subcut, 30 minutes before supper",
    "Regular insulin 6 units,\nNPH insulin 14 units,\nsubcut 30 minutes before supper.",
    "a) regular insulin 6 units\nb) NPH insulin 14 units\nsubcut 30 minutes before supper",
    "6 units regular insulin\n14 units NPH insulin\nsubcut\n30 minutes before supper",
    "Insulin order: regular insulin 6 units, NPH insulin 14 units, subcut, 30 minutes before supper",
    "Dose: regular insulin 6 units and NPH insulin 14 units. Route: subcut. When: 30 minutes before supper.",
)

# Names and strengths.

good(
    "regular 8, NPH 20: 30 minutes before breakfast",
    "Human regular insulin 8 units and human NPH insulin 20 units subcut 30 minutes before breakfast",
    "Insulin human regular 8 units and insulin human isophane 20 units subcut 30 minutes before breakfast",
    "Soluble insulin 8 units and isophane insulin 20 units subcut 30 minutes before breakfast",
    "Neutral insulin 8 units and isophane (NPH) insulin 20 units subcut 30 minutes before breakfast",
    "Regular (clear) insulin 8 units and NPH (cloudy) insulin 20 units subcut 30 minutes before breakfast",
    "Regular insulin U-100 8 units and NPH insulin U-100 20 units subcut 30 minutes before breakfast",
    "Regular insulin 100 units/mL 8 units and NPH insulin 100 units/mL 20 units subcut 30 minutes before breakfast",
    "Regular insulin (U-100) 8 units, NPH insulin (U-100) 20 units, subcut 30 minutes before breakfast",
    "Regular insulin 8 (eight) units and NPH insulin 20 (twenty) units subcut 30 minutes before breakfast",
    "Short-acting regular insulin 8 units with intermediate-acting NPH insulin 20 units subcut 30 minutes before breakfast",
    "Regular insulin 8 international units and NPH insulin 20 international units subcut 30 minutes before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units, total 28 units, subcut 30 minutes before breakfast",
    "Regular insulin 8\u00a0units and NPH\u00a0insulin 20\u00a0units subcut 30\u00a0minutes before breakfast",
    "Regular insulin \uff18 units and NPH insulin \uff12\uff10 units subcut 30 minutes before breakfast",
    "\tRegular insulin   8 units  and NPH insulin\t20 units subcut 30 minutes before breakfast  ",
    "Regular insulin 8 units and NPH insulin 20 units sub-cut 30 minutes before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut about 30 minutes before breakfast",
)

# Rapid-acting pairs, at their own times.

good(
    "lispro 5, NPH 15: 10 minutes before breakfast",
    "Insulin lispro 5 units and NPH insulin 15 units subcut 10 minutes before breakfast",
    "Lispro 5 units with NPH 15 units subcut 10 minutes before breakfast",
)
good(
    "aspart 7, NPH 16: before supper",
    "Insulin aspart 7 units and isophane insulin 16 units subcut immediately before supper",
    "Insulin aspart 7 units and NPH insulin 16 units subcut within 15 minutes before supper",
)
good(
    "glulisine 4, NPH 12: breakfast",
    "Insulin glulisine 4 units and NPH insulin 12 units subcut with breakfast",
    "Glulisine 4 units, NPH 12 units, subcut at breakfast daily",
)

# The same, with the time in other words.

good(
    "regular 8, NPH 20: thirty minutes before breakfast",
    "Regular insulin eight units and NPH insulin twenty units subcut thirty minutes before breakfast",
)
good(
    "regular 8, NPH 20: 30 min before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcutaneous 30 min before breakfast",
)
good(
    "regular 8, NPH 20: half an hour before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut half an hour before breakfast",
)
good(
    "regular 8, NPH 20: 30 mins. before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut 30 mins. before breakfast",
)
good(
    "regular 8, NPH 20: 30 minutes before the morning meal",
    "Regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before the morning meal",
)
good(
    "lispro 5, NPH 15: ten minutes before breakfast",
    "15 units NPH insulin and 5 units insulin lispro subcut ten minutes before breakfast",
)
good(
    "aspart 7, NPH 16: just before the evening meal",
    "Aspart 7 units and NPH 16 units subcut just before the evening meal",
)

# Clocks, meals, days.

good(
    "regular 9, NPH 21: 07:30",
    "Regular insulin 9 units and NPH insulin 21 units subcut at 07:30",
    "Regular insulin 9 units and NPH insulin 21 units subcut at 0730",
    "Regular insulin 9 units and NPH insulin 21 units subcut at 0730 hours",
    "Regular insulin 9 units and NPH insulin 21 units subcut at 7:30 am",
    "Regular insulin 9 units and NPH insulin 21 units subcut at 7.30 a.m.",
    "Regular insulin 9 units and NPH insulin 21 units subcut at 07.30",
    "Regular insulin 9 units and NPH insulin 21 units subcut at 07:30 daily",
    "Regular insulin 9 units and NPH insulin 21 units subcut every morning at 07:30",
    "At 07:30 give regular insulin 9 units and NPH insulin 21 units subcut, 30 minutes before breakfast",
    "07:30 regular insulin 9 units and NPH insulin 21 units subcut",
)
good(
    "regular 4, NPH 11: 17:30",
    "Regular insulin 4 units and NPH insulin 11 units subcut at 17:30",
    "Regular insulin 4 units and NPH insulin 11 units subcut at 1730",
    "Regular insulin 4 units and NPH insulin 11 units subcut at 5:30 pm",
    "Regular insulin 4 units and NPH insulin 11 units subcut at 5:30pm",
    "Regular insulin 4 units and NPH insulin 11 units subcut today at 17:30",
    "Regular insulin 4 units and NPH insulin 11 units subcut at 17:30, before supper",
    "Regular insulin 4 units and NPH insulin 11 units subcut this evening at 17:30",
    "Regular insulin 4 units and NPH insulin 11 units subcut at 5.30 in the afternoon",
)
good(
    "regular 12, NPH 30: before breakfast",
    "Regular insulin 12 units and NPH insulin 30 units subcut before breakfast",
    "Regular insulin 12 units and NPH insulin 30 units subcut every day before breakfast",
    "Regular insulin 12 units and NPH insulin 30 units subcut once daily before breakfast",
    "Regular insulin 12 units and NPH insulin 30 units subcut each morning before breakfast",
    "Regular insulin 12 units and NPH insulin 30 units subcut before breakfast, once a day",
    "Once a day: regular insulin 12 units and NPH insulin 30 units subcut before breakfast",
    "Regular insulin 12 units and NPH insulin 30 units subcut 45 minutes before breakfast",
    "Regular insulin 12 units and NPH insulin 30 units subcut 30 to 45 minutes before breakfast",
    "Regular insulin 12 units and NPH insulin 30 units subcut before breakfast this morning",
)
good(
    "regular 6, NPH 10: before",
    "Regular insulin 6 units and NPH insulin 10 units subcut before the evening meal",
    "Regular insulin 6 units and NPH insulin 10 units subcut 30 minutes before dinner",
    "Regular insulin 6 units and NPH insulin 10 units subcut 30 minutes before tea",
    "Regular insulin 6 units and NPH insulin 10 units subcut 30 minutes before the midday meal",
    "Tonight: regular insulin 6 units and NPH insulin 10 units subcut 30 minutes before supper",
    "Regular insulin 6 units and NPH insulin 10 units subcut tonight before supper",
    "Regular insulin 6 units and NPH insulin 10 units subcut nightly before supper",
)
good(
    "regular 8.5, NPH 20: before breakfast",
    "Regular insulin 8.5 units and NPH insulin 20 units subcut before breakfast",
)

# The same mixture two times a day.

said(
    "two-times",
    "Regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast and 30 minutes before supper",
    "Regular insulin 8 units and NPH insulin 20 units subcut twice daily before breakfast and before supper",
    "Regular insulin 8 units and NPH insulin 20 units subcut twice a day, 30 minutes before breakfast and supper",
    "Before breakfast and before the evening meal: regular insulin 8 units and NPH insulin 20 units subcut",
    "Regular insulin 8 units and NPH insulin 20 units subcut at 07:30 and 17:30",
    "Regular insulin 8 units and NPH insulin 20 units subcut at 07:30 and at 17:30 daily",
    "Two times a day, before breakfast and supper, give regular insulin 8 units with NPH insulin 20 units subcut",
    "Insulin aspart 8 units and NPH insulin 20 units subcut immediately before breakfast and immediately before supper",
)
said(
    "two-times short-time",
    "Regular insulin 8 units and NPH insulin 20 units subcut BID before breakfast and before supper",
    "Regular insulin 8 units and NPH insulin 20 units subcut bd before breakfast and supper",
)
said(
    "short-time",
    "Regular insulin 8 units and NPH insulin 20 units subcut 30 minutes ac breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut qAM before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut mane before breakfast",
)
refused(
    "two-readings dose",
    "Before breakfast: regular insulin 8 units and NPH insulin 20 units. Before supper: regular insulin 6 units and NPH insulin 10 units. Subcut.",
    "Regular insulin 8 units before breakfast and 6 units before supper, NPH insulin 20 units before breakfast, subcut",
    "Regular insulin 8 units subcut before breakfast and NPH insulin 20 units subcut at bedtime",
    "Regular insulin 8 units before breakfast, NPH insulin 20 units before supper, subcut",
    "Regular 8/6 units and NPH 20/10 units subcut before breakfast and supper",
)

# Something is missing, or two things do not agree.

said(
    "time",
    "Regular insulin 8 units and NPH insulin 20 units subcut",
    "Regular insulin 8 units and NPH insulin 20 units subcut daily",
    "Regular insulin 8 units and NPH insulin 20 units subcut twice a day",
)
said(
    "time short-time",
    "Regular insulin 8 units and NPH insulin 20 units subcut BID",
)
said(
    "route",
    "Regular insulin 8 units and NPH insulin 20 units before breakfast",
    "NPH 20 units, regular 8 units at 07:30",
)
said("route time", "Regular insulin 8 units and NPH insulin 20 units", "20 units NPH and 8 units regular")
refused(
    "times-contradict",
    "Regular insulin 8 units and NPH insulin 20 units subcut at 17:30 before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before supper at 07:30",
    "Regular insulin 8 units and NPH insulin 20 units subcut in the evening before breakfast",
    "Tonight: regular insulin 8 units and NPH insulin 20 units subcut at 10:00",
    "Regular insulin 8 units and NPH insulin 20 units subcut every morning before supper",
    "Regular insulin 8 units and NPH insulin 20 units subcut nightly before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut twice daily before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut once a day before breakfast and before supper",
    "Regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast at noon",
    "Before lunch: regular insulin 8 units and NPH insulin 20 units subcut before supper",
)
refused(
    "times-contradict two-readings not-understood",
    "Regular insulin 8 units and NPH insulin 20 units subcut at 17:30 am",
    "Regular insulin 8 units and NPH insulin 20 units subcut at 25:00",
    "Regular insulin 8 units and NPH insulin 20 units subcut at 07:75",
    "Regular insulin 8 units and NPH insulin 20 units subcut at 0760 hours",
    "Regular insulin 8 units and NPH insulin 20 units subcut at 07:30 or at 08:30",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast or before lunch",
    "Regular insulin 8 units and NPH insulin 20 units subcut four times a day before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut every 4 hours before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before and after breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut or intramuscular before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut -30 minutes before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units, total 38 units, subcut before breakfast",
    "Regular insulin 8 (eighteen) units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units, regular insulin 10 units, subcut before breakfast",
    "Regular insulin 8 units 20 units NPH insulin 30 units subcut before breakfast",
)
said(
    "time-does-not-fit",
    "Regular insulin 8 units and NPH insulin 20 units subcut with breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut after breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut 10 minutes before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut 2 hours before breakfast",
    "Insulin lispro 8 units and NPH insulin 20 units subcut 30 minutes before breakfast",
    "Insulin aspart 8 units and NPH insulin 20 units subcut an hour before supper",
    "Regular insulin 8 units and NPH insulin 20 units subcut at bedtime",
)
said(
    "small-dose",
    "Regular insulin 1 unit and NPH insulin 6 units subcut before breakfast",
    "Regular insulin 1.5 units and NPH insulin 6 units subcut before breakfast",
)
said("large-dose", "Regular insulin 12 units and NPH insulin 60 units subcut before breakfast")
said(
    "too-much large-dose",
    "Regular insulin 80 units and NPH insulin 200 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 200 units subcut before breakfast",
)
said(
    "between-lines",
    "Regular insulin 8.25 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8.3 units and NPH insulin 20 units subcut before breakfast",
)

# Instructions that are clear, and that the lab does not carry out.

refused(
    "not-to-give",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast - on hold",
    "Withhold regular insulin 8 units and NPH insulin 20 units subcut before breakfast today",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast, omit this morning",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast: not to be given",
    "CANCELLED regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "Hold regular insulin 8 units, give NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast. Skip the regular insulin today.",
)
refused(
    "condition",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast if glucose above 150",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast, hold if glucose below 70",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast only if eating",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast unless fasting",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast provided the tray is there",
    "When glucose is over 200 give regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "If not eating omit regular insulin 8 units; NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast, call if glucose under 80",
)
refused(
    "condition no-fixed-dose not-understood",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast PRN",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast as needed",
)
refused(
    "kept-apart",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast in separate syringes",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast as two injections",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast, do not mix",
    "Regular insulin 8 units and NPH insulin 20 units, give separately, subcut before breakfast",
)
refused(
    "not-due-now",
    "From Monday: regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast after discharge",
)
refused(
    "not-due-now not-understood",
    "12 March 2031: regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast 12/3/31",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast every Monday",
)
refused(
    "no-fixed-dose",
    "Regular insulin per sliding scale and NPH insulin 20 units subcut before breakfast",
    "Regular insulin by correction scale and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units or as per protocol and NPH insulin 20 units subcut before breakfast",
    "Regular insulin as before and NPH insulin 20 units subcut before breakfast",
    "Same as yesterday: regular insulin and NPH insulin subcut before breakfast",
    "Usual dose of regular insulin and NPH insulin subcut before breakfast",
    "Regular insulin 0.1 units/kg and NPH insulin 0.2 units/kg subcut before breakfast",
    "Regular insulin 0.1 units per kg and NPH insulin 20 units subcut before breakfast",
    "Total daily dose 42 units, two thirds as regular insulin and NPH insulin subcut before breakfast",
    "Regular insulin 1 unit for every 10 g carbohydrate and NPH insulin 20 units subcut before breakfast",
)
refused(
    "no-fixed-dose two-readings",
    "Regular insulin 8-10 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 to 10 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 or 10 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8\u201310 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin up to 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin at least 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin about 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin between 8 and 10 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin maximum 8 units and NPH insulin 20 units subcut before breakfast",
)
refused(
    "no-fixed-dose not-understood two-readings",
    "Increase regular insulin to 10 units and NPH insulin to 24 units subcut before breakfast",
    "Increase regular insulin by 2 units, NPH insulin 20 units subcut before breakfast",
    "Change regular insulin from 8 units to 10 units, NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin half the usual dose subcut before breakfast",
    "Regular insulin 8 units and double the NPH insulin, 20 units, subcut before breakfast",
    "Regular insulin 8 units x 2 and NPH insulin 20 units subcut before breakfast",
)

# Routes, strengths, units and products.

refused(
    "other-route",
    "Regular insulin 8 units and NPH insulin 20 units IV before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units IM before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units intravenously at 07:30",
    "Regular insulin 8 units and NPH insulin 20 units by mouth before breakfast",
    "Regular insulin 8 units subcut and NPH insulin 20 units intramuscular before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units into the vein before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units by infusion before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units i.v. before breakfast",
)
refused(
    "other-strength",
    "Regular insulin U-500 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units (500 units/mL) and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin U-40 20 units subcut before breakfast",
    "U500 regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast, 40 units per mL",
)
refused(
    "not-in-units",
    "Regular insulin 0.08 mL and NPH insulin 0.2 mL subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 mL subcut before breakfast",
    "Regular insulin 8 mg and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units (0.8 mL) and NPH insulin 20 units subcut before breakfast",
)
refused(
    "not-in-units not-understood unit",
    "Regular insulin 8 marks and NPH insulin 20 marks subcut before breakfast",
    "Regular insulin 8 lines and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 and NPH insulin 20 subcut before breakfast",
    "Regular insulin 8 and NPH insulin 20 units subcut before breakfast",
)
refused(
    "ready-mixture",
    "Premixed insulin 70/30 20 units and regular insulin 8 units subcut before breakfast",
    "Biphasic isophane insulin 28 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 30/70 20 units subcut before breakfast",
)
said(
    "pair",
    "Regular insulin 8 units and insulin glargine 20 units subcut before breakfast",
    "Regular insulin 8 units and insulin aspart 6 units subcut before breakfast",
)
refused(
    "insulin",
    "Insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "NPH insulin 20 units subcut before breakfast",
    "Clear 8 units and cloudy 20 units subcut before breakfast",
)
refused(
    "dose",
    "Regular insulin and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin subcut before breakfast",
)
said(
    "no-dose",
    "Regular insulin 0 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin zero units subcut before breakfast",
)

# Ways of writing.

refused(
    "bare-u",
    "Regular insulin 8U and NPH insulin 20U subcut before breakfast",
    "Regular insulin 8 u and NPH insulin 20 units subcut before breakfast",
)
refused(
    "iu",
    "Regular insulin 8 IU and NPH insulin 20 IU subcut before breakfast",
    "Regular insulin 8 i.u. and NPH insulin 20 units subcut before breakfast",
)
refused("qd", "Regular insulin 8 units and NPH insulin 20 units subcut q.d. before breakfast")
refused("hs", "Regular insulin 8 units and NPH insulin 20 units subcut HS")
refused("od", "Regular insulin 8 units and NPH insulin 20 units subcut OD before breakfast")
refused("sc", "Regular insulin 8 units and NPH insulin 20 units s.c. before breakfast")
refused("sq", "Regular insulin 8 units and NPH insulin 20 units SubQ before breakfast")
refused("cc", "Regular insulin 8 units and NPH insulin 0.2 cc subcut before breakfast")
refused(
    "trailing-zero",
    "Regular insulin 8.0 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20.50 units subcut before breakfast",
)
refused("no-leading-zero", "Regular insulin .8 units and NPH insulin 20 units subcut before breakfast")
refused("number-and-unit", "Regular insulin 8units and NPH insulin 20 units subcut before breakfast")
refused("name-and-number", "Regular insulin 8 units and NPH20 units subcut before breakfast")
refused("plus", "Regular insulin 8 units + NPH insulin 20 units subcut before breakfast")
refused("ampersand", "Regular insulin 8 units & NPH insulin 20 units subcut before breakfast")
refused("slash", "Regular insulin 8 units / NPH insulin 20 units subcut before breakfast")
refused("at-sign", "Regular insulin 8 units and NPH insulin 20 units subcut @ 07:30")
refused(
    "short-name",
    "Reg 8 units and NPH 20 units subcut before breakfast",
)
refused("ssi", "Regular insulin per SSI and NPH insulin 20 units subcut before breakfast")
refused(
    "two-readings",
    "Regular insulin 8,5 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 1,000 units and NPH insulin 20 units subcut before breakfast",
    "8 units\nregular insulin, 20 units\nNPH insulin, subcut before breakfast",
)
refused(
    "two-readings not-understood",
    "Regular insulin 8O units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin l0 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin I2 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8\u200b0 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 2\u00ad0 units subcut before breakfast",
    "Regular insulin \u202e21\u202c units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8\u2066 units and NPH insulin 20 units subcut before breakfast",
    "R\u0435gular insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and N\u03a1H insulin 20 units subcut before breakfast",
    "Regular insulin \u0668 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8\u00b2 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8\u00bd units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 1\n8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8\u00b75 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin #8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin x8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8? units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin -8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin twenty eigth units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin VIII units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8e1 units and NPH insulin 20 units subcut before breakfast",
)

# Slips of the pen, other languages, other things on the chart.

refused(
    "not-understood",
    "Regualr insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insluin 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before brekfast",
    "Regular insulin 8 untis and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NHP insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and isophan insulin 20 units subcut before breakfast",
    "Insulin lispor 5 units and NPH insulin 15 units subcut 10 minutes before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before super",
    "Regular insulin 8 units and NPH insulin 20 units subcut befor breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subctu before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut b4 breakfast",
    "Insulina regular 8 unidades y NPH 20 unidades subcut antes del desayuno",
    "Regular insulin 8 Einheiten and NPH insulin 20 units subcut before breakfast",
    "Mrs Bloggs, bed 4: regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units and metformin 500 mg before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast weight 70 kg",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast <b>now</b>",
)

# Verdicts that the second author took back after the reader was run: it was right, or asks where we had read on.

said(
    "place",
    "Regular insulin 8 units and NPH insulin 20 units subcut into the abdomen 30 minutes before breakfast",
)
said(
    "course",
    "Regular insulin 12 units and NPH insulin 30 units subcut before breakfast for three days",
)
refused(
    "two-readings",
    "Regular insulin 9 units and NPH insulin 21 units subcut at 07:30 for breakfast at 08:00",
    "Regular insulin 8 units and NPH insulin 20 units subcut in the morning and in the evening, 30 minutes before meals",
)
said(
    "now",
    "Regular insulin 8 units and NPH insulin 20 units subcut now",
    "Give now: regular insulin 8 units and NPH insulin 20 units subcut",
)
refused(
    "time",
    "Regular insulin 8 units and NPH insulin 20 units subcut asap",
    "Regular insulin 8 units and NPH insulin 20 units subcut as soon as possible",
)
said(
    "short-time now",
    "STAT: regular insulin 8 units and NPH insulin 20 units subcut",
    "Regular insulin 8 units and NPH insulin 20 units subcut stat",
)
said(
    "pair",
    "Regular insulin 8 units and regular insulin 20 units subcut before breakfast",
)
said(
    "not-due-now",
    "Tomorrow: regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut before breakfast starting tomorrow",
)
said(
    "pair time-does-not-fit",
    "Insulin lispro 8 units and insulin detemir 20 units subcut at bedtime",
)
refused(
    "not-understood",
    "Regular insulin, 8 units, NPH insulin, 20 units, 24 units, subcut before breakfast",
)
refused(
    "unit",
    "Regular insulin 2 0 units and NPH insulin 20 units subcut before breakfast",
)
refused(
    "no-leading-zero",
    "Regular insulin 8..5 units and NPH insulin 20 units subcut before breakfast",
)
refused(
    "dose",
    "NPH/regular 70/30 28 units subcut before breakfast",
)

# Found by 80,000 altered orders and by putting a word into every place of a good one.

refused(
    "not-understood",
    "Subcut before supper: . 6 units of regular insulin, 14 units of NPH insulin",
    "Regular insulin ! 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin , 8 units and NPH insulin 20 units subcut before breakfast",
    'Regular insulin 8 units and NPH insulin " 20 units subcut before breakfast',
    "Regular insulin 8 units and NPH insulin 20 units, total28 units, subcut before breakfast",
    "Regular (cloudy) insulin 8 units and NPH (clear) insulin 20 units subcut before breakfast",
    "Long-acting regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units sub+cut before breakfast",
)
refused("not-to-give", "Do not start regular insulin 8 units and NPH insulin 20 units subcut before breakfast")
refused(
    "two-readings not-understood",
    "1) regular insulin 8 units\n3) NPH insulin 20 units\nsubcut before breakfast",
    "Regular insulin - 8 units - NPH insulin - 20 units subcut before breakfast",
    "Regular insulin\n- 8 units\nNPH insulin\n- 20 units\nsubcut before breakfast",
)
good(
    "regular 8, NPH 20: before breakfast",
    "1) regular insulin 8 units\n2) NPH insulin 20 units\nsubcut before breakfast",
    "Clear regular insulin 8 units and cloudy NPH insulin 20 units subcut before breakfast",
    "- 8 units of regular insulin\n- 20 units of NPH insulin\n- subcut before breakfast",
)
said(
    "time-does-not-fit",
    "Regular insulin 8 units and NPH insulin 20 units subcut 30 to 60 minutes before breakfast",
    "Regular insulin 8 units and NPH insulin 20 units subcut 15\u201330 minutes before breakfast",
    "Insulin lispro 8 units and NPH insulin 20 units subcut within 30 minutes before breakfast",
    "Insulin lispro 8 units and NPH insulin 20 units subcut 10-30 minutes before breakfast",
)
