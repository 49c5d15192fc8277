"""What a site file may not say: each text with the line, the key and the words of its refusal.

A text stands below a first line with the name of the ward, a file of bytes alone. Without a line there is a hyphen.
"""

REASON = "Ward policy 14 of March 2026, agreed with pharmacy; labels of 30 and 42 days"
MMOL = """glucose_unit = "mmol/L"
level_2_line = {value = 3.0, unit = "mmol/L", comparison = "below"}
report_line = {value = 16.7, unit = "mmol/L", comparison = "above"}
"""
"""All of a site in mmol/L but its hold line."""


def line(key, value, unit="mg/dL", comparison="below"):
    return f'{key} = {{value = {value}, unit = "{unit}", comparison = "{comparison}"}}'


def reasons(*keys):
    return "".join(f'\nreasons."{key}" = "{REASON}"' for key in keys)


def meals(*rows):
    return f"meals = [{', '.join(f'{{{row}}}' for row in rows)}]"


TEA = 'name = "tea", at = "16:00"'
UNITS = {
    f'[terms]\n{key} = "{word}"': f'3 terms.{key}: \'{word}\' {wrong}. Write "unit" and "units", or "international unit" and'
    for key in ("unit", "units")
    for wrong, words in {
        "is not the word in full, and a short form has been misread as a number": (
            *("U", "u", "IU", "iu", "E", "IE", "un", "1 unit", "units.", "mL"),
        ),
        "is not a unit that a U-100 syringe shows": ("milliunits", "doses", "insulin units"),
    }.items()
    for word in words
}
"""Units are a word in full, of a closed list."""
NO_STEP = "read_labels, draw_clear, check_clear, draw_cloudy, check_total, give_and_record"

REFUSED = {
    # limits and reasons
    "waiting = 120": "2 waiting: 120 is not safe, and no reason can allow it. Write 1 to 15 minutes, and 1 to 30 with a reason under [reasons].",
    "waiting = 20": "2 waiting: 20 is unusual and has no recorded reason",
    "waiting = 31" + reasons("waiting"): "2 waiting: 31 is not safe, and no reason can allow it",
    "waiting = -5": "2 waiting: -5 is not safe, and no reason can allow it",
    "reading_age = 0": "2 reading_age: Write 15 to 60 minutes, and 5 to 120 with a reason under [reasons].",
    "meal_slack = 0": "2 meal_slack: 0 is not safe, and no reason can allow it",
    "recheck = 21": "2 recheck: 21 is unusual and has no recorded reason",
    "recheck = 31" + reasons("recheck"): "2 recheck: 31 is not safe, and no reason can allow it",
    "recheck = nan": "2 recheck: nan is not a number",
    "recheck = inf": "2 recheck: inf is not a number",
    "recheck = -inf": "2 recheck: -inf is not a number",
    "recheck = 0": "2 recheck: 0 is not safe, and no reason can allow it",
    'recheck = "ten"': "2 recheck: 'ten' is not a number",
    "oral_treatments = 1": "2 oral_treatments: 1 is unusual and has no recorded reason",
    "oral_treatments = 4" + reasons("oral_treatments"): "2 oral_treatments: 4 is not safe, and no reason can allow it",
    "oral_treatments = 2.5": "2 oral_treatments: 2.5 is not a whole number",
    "waiting = true": "2 waiting: true is not a number",
    "carbohydrate = 100": "2 carbohydrate: 100 is not safe, and no reason can allow it",
    "rolls = 10.5": "2 rolls: 10.5 is not a whole number",
    'air = "no air"': "2 air: 'no air' needs a recorded reason, for without air the vial pulls the stopper back, and bubbles and a short dose follow",
    'dates = "11/26/2026"': "2 dates: '11/26/2026' needs a recorded reason, for day and month change places from country to country, and 05/11 can be read as either",
    'glucose_unit = "mg"': "2 glucose_unit: 'mg' is not among them",
    "[opened_days]\nnph = 29": "3 opened_days.nph: 29 is unusual and has no recorded reason",
    '[opened_days]\nregular = 50': "3 opened_days.regular: Write 1 to 28 days; up to 42 only where the label at hand says so, with that as the reason.",
    "[opened_days]\nnph = 43" + '\n[reasons]\n"opened_days.nph" = "' + REASON + '"': "3 opened_days.nph: 43 is not safe, and no reason can allow it",
    '[taught]\nnph = "basal-review"': "3 taught.nph: 'basal-review' is not among them",
    '[reasons]\nwaiting = "because"': '3 reasons.waiting: Say which policy or who decided, and when, as in "Ward policy 14 of March 2026, agreed with pharmacy".',
    '[reasons]\nwaiting = "Our round takes so long"': "3 reasons.waiting: this says too little for somebody who reads it next year",
    f'[reasons]\nopened_days = "{REASON}"': '3 reasons.opened_days: Write "opened_days.regular" = "…".',
    '[reasons]\nwating = "It is our own habit."': "3 reasons.wating: The nearest known one is waiting.",
    "[reasons]\nwaiting = 3": "3 reasons.waiting: this says too little for somebody who reads it next year",
    "reasons = 3": "2 reasons: 3 is not a table",
    "terms = 3": "2 terms: 3 is not a table",
    'terms = {chart = 3, chat = "x"}': ("2 terms.chat: no key is called so", "2 terms.chart: 3 cannot stand in a sentence"),
    # lines and the meter
    line("hold_line", 69): "2 hold_line: 69 is unusual and has no recorded reason",
    line("hold_line", 62) + reasons("hold_line"): "2 hold_line: 62 is not safe, and no reason can allow it",
    line("hold_line", 62): "2 hold_line: 62 is not safe, and no reason can allow it",
    line("hold_line", 50): "2 hold_line: ; it even lies below a serious low (below 54 mg/dL)",
    line("hold_line", 69.5): "2 hold_line.value: 69.5 is finer than a meter shows",
    line("hold_line", 70, comparison="above"): "2 hold_line.comparison: 'above' is not one of them. Write one of 'below', 'at or below'.",
    line("hold_line", "nan"): "2 hold_line.value: nan is not a glucose",
    line("hold_line", "inf"): "2 hold_line.value: inf is not a glucose",
    line("hold_line", "-inf"): "2 hold_line.value: -inf is not a glucose",
    line("hold_line", 0): "2 hold_line.value: 0 is not a glucose",
    line("hold_line", "0.0"): "2 hold_line.value: 0.0 is not a glucose",
    line("hold_line", -70): "2 hold_line.value: -70 is not a glucose",
    line("hold_line", 2.9, "mmol/L"): "2 hold_line: glucose_unit is mg/dL, and this line is still in mmol/L (2.9 mmol/L is 52 mg/dL)",
    "hold_line = 70": '2 hold_line: Write it as {value = 70, unit = "mg/dL", comparison = "below"}.',
    MMOL + "hold_line = 4.0": '5 hold_line: Write it as {value = 3.9, unit = "mmol/L", comparison = "below"}.',
    "near_low_line = 100": '2 near_low_line: Write it as {value = 85, unit = "mg/dL", comparison = "below"}.',
    'hold_line = {value = 70, comparison = "below", edition = 2017}': ("2 hold_line.unit: this part is missing. Write one of 'mg/dL', 'mmol/L'.", "2 hold_line.edition: no part of a line is called so"),
    '[hold_line]\nvalue = 70\nunit = "mg/dL"\ncomparison = "below"\n"a.b" = 1': "6 hold_line.a.b: Write only value, unit and comparison.",
    line("level_2_line", 50): "2 level_2_line: 50 is unusual and has no recorded reason",
    line("level_2_line", 49) + reasons("level_2_line"): "2 level_2_line: 49 is not safe, and no reason can allow it",
    line("level_2_line", 71): "2 level_2_line: 71 is not safe, and no reason can allow it",
    line("level_2_line", 65) + "\n" + line("hold_line", 64) + reasons("level_2_line", "hold_line"): "3 hold_line: it does not lie above the line of a serious low (below 65 mg/dL)",
    line("report_line", 451, comparison="above") + reasons("report_line"): "2 report_line: 451 is not safe, and no reason can allow it",
    line("report_line", 70, comparison="above"): "2 report_line: 70 is not safe, and no reason can allow it",
    line("report_line", 3.8, "mmol/L", "above"): "2 report_line: glucose_unit is mg/dL, and this line is still in mmol/L (3.8 mmol/L is 68 mg/dL)",
    line("near_low_line", 100, comparison="above"): "2 near_low_line.comparison: 'below', 'at or below'",
    line("near_low_line", 70): "2 near_low_line: does not lie above the hold line",
    line("near_low_line", 301): "2 near_low_line: no reason can allow it",
    line("near_low_line", 120) + "\n" + line("report_line", 120, comparison="above"): "3 report_line: no reason can allow it",
    MMOL + line("hold_line", 3.8, "mmol/L"): "5 hold_line: 3.8 is unusual and has no recorded reason",
    MMOL + line("hold_line", 3.4, "mmol/L") + reasons("hold_line"): "5 hold_line: 3.4 is not safe, and no reason can allow it",
    MMOL + line("hold_line", 71): "5 hold_line: glucose_unit is mmol/L, and this line is still in mg/dL (71 mg/dL is 3.9 mmol/L)",
    MMOL: "2 hold_line: glucose_unit is mmol/L, and this line is still in mg/dL (70 mg/dL is 3.9 mmol/L)",
    MMOL + line("hold_line", 4.0, "mmol/L") + "\n" + line("near_low_line", 100): "6 near_low_line: glucose_unit is mmol/L, and this line is still in mg/dL (100 mg/dL is 5.6 mmol/L)",
    line("hold_line", 4.0, "mmol/L"): "2 hold_line: (4.0 mmol/L is 72 mg/dL). Write it in mg/dL as your policy has it.",
    'glucose_unit = "mmol/L"': ("2 hold_line: glucose_unit is mmol/L, and this line is still in mg/dL (70 mg/dL is 3.9 mmol/L). Write it in mmol/L as your policy has it.", "2 level_2_line: glucose_unit is mmol/L, and this line is still in mg/dL (54 mg/dL is 3.0 mmol/L)", "2 report_line: glucose_unit is mmol/L, and this line is still in mg/dL (300 mg/dL is 16.7 mmol/L)"),
    "meter_low = 600": "2 meter_low: 600 is not safe, and no reason can allow it",
    "meter_high = 10": "2 meter_high: 10 is not safe, and no reason can allow it",
    "meter_low = 55" + reasons("meter_low"): "2 meter_low: the meter cannot show a serious low (below 54 mg/dL)",
    "meter_high = 390\n" + line("report_line", 400, comparison="above") + reasons("meter_high"): "2 meter_high: the meter cannot show a reading at the report line (above 400 mg/dL)",
    "meter_high = 300\n" + line("report_line", 400, comparison="above") + reasons("meter_high"): "2 meter_high: the meter cannot show a reading at the report line (above 400 mg/dL)",
    "meter_low = -1\nmeter_high = 0": ("2 meter_low: -1 is not a glucose. Write a number above 0.", "3 meter_high: 0 is not a glucose"),
    # preparing
    'mixing = ["glargine + nph"]': "2 mixing: what must not be mixed cannot be allowed by a site file",
    'may_mix = ["glargine + nph"]': "2 may_mix: what must not be mixed cannot be allowed by a site file. Take it out; never_mix forbids a pair, and nothing allows one.",
    'never_mix = ["glargine + nph"]': "2 never_mix: insulin glargine and NPH insulin are never mixed anyway",
    'never_mix = ["lispro"]': "2 never_mix: 'lispro' does not name two insulins",
    "stock = []": "2 stock: no syringe is in stock",
    'stock = ["0.3-half", "2.0-one", "thimble"]': ("2 stock: '2.0-one' is not known here. Correct it to '1.0-one'.", "2 stock: 'thimble' is not known here"),
    "critical_steps = []": "2 critical_steps: no step is listed, and a wrong dose would pass",
    'critical_steps = ["check_order"]': f"2 critical_steps: {NO_STEP} would no longer be critical, and no reason can allow it",
    'critical_steps = ["check_order"]' + reasons("critical_steps"): f"2 critical_steps: {NO_STEP} would no longer be critical, and no reason can allow it",
    f"critical_steps = {NO_STEP.split(', ')}": "2 critical_steps: check_order, clean_hands, choose_syringe, resuspend, wipe_stoppers would no longer be critical, and no reason is recorded",
    # words
    **UNITS,
    '[terms]\nunit = "Unit"': "3 terms.unit: 'Unit' is not written in small letters",
    '[terms]\nunit = "UNITS"': "3 terms.unit: 'UNITS' is the word for several",
    '[terms]\nunit = "international units"': "3 terms.unit: 'international units' is the word for several",
    '[terms]\nunits = "unit"': "3 terms.units: 'unit' is the word for one",
    '[terms]\nunit = "international unit"': "2 terms.units: 'international unit' and 'units' do not go together",
    '[terms]\nunits = "international units"': "3 terms.units: 'unit' and 'international units' do not go together",
    '[terms]\nunit = "unit"\nunits = "international units"': "4 terms.units: 'unit' and 'international units' do not go together",
    '[terms]\nchart = "the chart"': "3 terms.chart: 'the chart' begins with an article, and the sentences have their own",
    '[terms]\nchart = "A chart"': "3 terms.chart: 'A chart' begins with an article, and the sentences have their own",
    '[terms]\nprescriber = "an x"': "3 terms.prescriber: 'an x' begins with an article, and the sentences have their own",
    '[terms]\nprescriber = "form 12"': "3 terms.prescriber: 'form 12' has a digit, which could be taken for a dose",
    '[terms]\nchart = ""': "3 terms.chart: '' cannot stand in a sentence",
    '[terms]\nchart = " "': "3 terms.chart: ' ' cannot stand in a sentence",
    '[terms]\nchart = " chart"': "3 terms.chart: ' chart' cannot stand in a sentence",
    f'[terms]\nchart = "{"x" * 41}"': "3 terms.chart: cannot stand in a sentence",
    '[terms]\nchart = "{chart}"': "3 terms.chart: '{chart}' cannot stand in a sentence",
    '[terms]\nchart = "<b>chart</b>"': "3 terms.chart: '<b>chart</b>' cannot stand in a sentence",
    '[terms]\nchart = "the\\nchart"': "3 terms.chart: cannot stand in a sentence",
    '[terms]\nchart = "a`b"': "3 terms.chart: 'a`b' cannot stand in a sentence",
    '[terms]\nchart = "$x$"': "3 terms.chart: '$x$' cannot stand in a sentence",
    '[terms]\nchart = "# chart"': "3 terms.chart: '# chart' cannot stand in a sentence",
    '[terms]\nchart = "a\\u0000b"': "3 terms.chart: cannot stand in a sentence",
    '[terms]\nregular = "isophane insulin"\nnph = "cloudy"': ("3 terms.regular: 'isophane insulin' is no generic name of this insulin in full", "4 terms.nph: 'cloudy' is no generic name of this insulin in full"),
    '[terms]\nregular = "regular"\nnph = "isophane"': ("3 terms.regular: 'regular' is no generic name of this insulin in full", "4 terms.nph: 'isophane' is no generic name of this insulin in full"),
    '[terms]\nregular = "soluble human"\nnph = "human nph"': ("3 terms.regular: 'soluble human' is no generic name of this insulin in full", "4 terms.nph: 'human nph' is no generic name of this insulin in full"),
    '[terms]\nprescriber = "chart"': ("2 terms.chart: 'chart' is what something else is called", "3 terms.prescriber: 'chart' is what something else is called"),
    '[terms]\nchart = "prescriber"\nprescriber = "doctor"': "3 terms.chart: 'prescriber' is what something else is called",
    # the day
    "meals = []": "2 meals: no meal is listed",
    meals('name = "tea", at = "8:00"', 'name = "juice", at = "08:00"'): "2 meals: two meals have the same time. Give each meal a time of its own.",
    meals('name = "tea", at = "08:00"', TEA): "2 meals: two meals have the same name. Give each meal a name of its own.",
    meals('name = "tea"'): "2 meals.0.at: this part is missing",
    meals(f"{TEA}, eaten = false"): "2 meals.0.eaten: no part of a meal is called so",
    meals(f'{TEA}, grams = "60"'): "2 meals.0.grams: '60' stands in quotation marks. Write it bare: 60.",
    meals(f"{TEA}, grams = 160"): "2 meals: 160 is unusual and has no recorded reason",
    meals(f"{TEA}, grams = -5"): "2 meals.0.grams: -5 is no carbohydrate of a meal",
    meals('name = "tea", at = "eight"'): '2 meals.0.at: Write it as in "08:00".',
    meals('name = "supper", at = "22:30"'): "2 meals: supper at 22:30 is at night, and no reason is recorded",
    meals('name = "supper", at = "04:00"'): "2 meals: supper at 04:00 is at night, and no reason is recorded",
    meals('name = "meal 2", at = "16:00"'): "2 meals.0.name: an order could not be read by a meal called 'meal 2'",
    meals('name = "Bedtime", at = "16:00"'): "2 meals.0.name: an order could not be read by a meal called 'Bedtime'",
    meals('name = "<b>breakfast</b> {y}", at = "08:00"'): "2 meals.0.name: '<b>breakfast</b> {y}' is no name of a meal",
    "meals = [3]": "2 meals.0: 3 is not a meal",
    "rounds = []": '2 rounds: no round is listed. Write at least one time, as in ["07:00"].',
    'rounds = "06:00"': "2 rounds: '06:00' is not allowed here",
    'rounds = ["07:00"]': "2 rounds: one round a day is unusual and has no recorded reason",
    'rounds = ["06:00", "noon", "25:00"]': ("2 rounds: 'noon' is no time of the 24-hour clock", "2 rounds: '25:00' is no time of the 24-hour clock"),
    'bedtime = "late"': "2 bedtime: 'late' is no time of the 24-hour clock",
    'bedtime = ["22:00"]': "2 bedtime: a list is not allowed here",
    "waking = 6": "2 waking: 6 is no time of the 24-hour clock",
    'bedtime = "07:00"': "2 bedtime: from 07:00 to 06:30 is no night of 5 to 12 hours",
    'waking = "21:30"': "2 waking: from 21:30 to 21:30 is no night of 5 to 12 hours",
    'waking = "02:00"': "2 waking: from 21:30 to 02:00 is no night of 5 to 12 hours",
    'bedtime = "18:00"': "2 bedtime: from 18:00 to 06:30 is no night of 5 to 12 hours",
    # keys that are not known here
    'hold = 70': "2 hold: no key is called so. Take it out or correct its spelling. The nearest known one is hold_line.",
    "wating = 10": "2 wating: The nearest known one is waiting.",
    "never_mixed = []": "2 never_mixed: The nearest known one is never_mix.",
    "zzz = 1": "2 zzz: no key is called so. Take it out, or look for its name in the file that write_site_file writes.",
    '[terms]\nprescribr = "x"': "3 terms.prescribr: The nearest known one is prescriber.",
    "[opened_day]\nnph = 3": "2 opened_day: The nearest known one is opened_days.",
    'unit = "mmol/L"': "2 unit: no key is called so. Take it out or correct its spelling. The nearest known one is glucose_unit.",
    '"re check" = 10': "2 re check: no key is called so",
    'units = "U"': "2 units: not belong here. Write it below [terms].",
    "nph = 28": "2 nph: Write it below [opened_days].",
    'nph = "isophane insulin"': "2 nph: Write it below [terms].",
    "nph = true": "2 nph: Write it below one of [terms], [opened_days], [taught].",
    '[opened_days]\nchart = "drug chart"': "3 opened_days.chart: does not belong here. Write it below [terms].",
    "[terms]\nformat = 1": "3 terms.format: Write it above the first line in square brackets.",
    '[terms]\nchart = "drug chart"\nwaiting = 10': "4 terms.waiting: does not belong here. Write it above the first line in square brackets.",
    '[[meals]]\nname = "tea"\nat = "16:00"\nwaiting = 10': "5 meals.0.waiting: does not belong here. Write it above the first line in square brackets.",
    '[[meals]]\nname = "tea"\nat = "16:00"\n1 = 3\n"a.b" = 2': ("5 meals.0.1: no part of a meal is called so", "6 meals.0.a.b: no part of a meal is called so"),
    # files that are none
    b"": "- name: this key is missing",
    'name = "ward 3"'.encode("utf-16"): "- : it is text in UTF-16",
    '\n\nname = "Stationsküche"'.encode("latin-1"): "3 : it is not text in UTF-8",
    b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR": "- : it is not text",
    b'format = 2\nshiny = true\nname = ""': "1 format: this file is of a newer format (2), and this mixlab reads format 1",
    b'format = "one"\nname = "x"': "1 format: 'one' is no format of a site file",
    b"name: ward 3": "1 : the equals sign is missing. Write the key, an equals sign and the value.",
    b"name = ward 3": "1 name: this is not written as a key and its value",
    b'name = """\nrecheck = 10\n"""\nrecheck = 0': ("1 name: cannot stand in a sentence", "4 recheck: 0 is not safe, and no reason can allow it"),
    "recheck = 10\nrecheck = 15": "3 recheck: it was already written on line 2",
    '[terms]\nchart = "a"\n[opened_days]\n[terms]\nchart = "b"': ("5 terms: it was already written on line 2", "6 terms.chart: it was already written on line 3"),
    'hold_line = {value = 3,9, unit = "mmol/L"}': "2 hold_line: 3,9 is a number with a comma. Write it with a point: 3.9.",
    "carbohydrate = 7,5 # g": "2 carbohydrate: point: 7.5.",
    'waiting = "12"': "2 waiting: '12' stands in quotation marks. Write it bare: 12.",
    line("hold_line", '"3,9"'): "2 hold_line.value: '3,9' stands in quotation marks. Write it bare: 3.9.",
    "meter_high = 1,000": "2 meter_high: this is not written as a key and its value",
    "bedtime = 21,30": "2 bedtime: this is not written as a key and its value",
    "waiting = 1,2,3": "2 waiting: this is not written as a key and its value",
    "waiting = ward 3 # was = 7,5": "2 waiting: this is not written as a key and its value",
    'meter_high = "1,000"': "2 meter_high: '1,000' is not a number",
    'waiting = "012"': "2 waiting: '012' is not a number",
    'bedtime = "21:30\n': "2 bedtime: a text has no mark at its end",
    'rounds = ["07:00"': "2 rounds: a list does not end",
    "recheck = " + "9" * 5000: "2 recheck: a number has very many digits",
    "recheck = 0x" + "f" * 5000: "2 recheck: a number of very many digits is not a number",
    "rounds = " + "[" * 100_000: "- : its lists and tables stand too deep inside each other",
    "bedtime = 21:30:00": "2 bedtime: 21:30:00 is no time of the 24-hour clock",
    "[recheck]\nvalue = 10": "2 recheck: a table is not a number",
    '[meals]\nname = "tea"': "2 meals: a table is not a list of meals",
    # several at once, by their lines
    b'glucose_unit = "mg"\nrecheck = "ten"\nhold = 70\nwaiting = true': ("- name: this key is missing", "1 glucose_unit: 'mg' is not among them", "2 recheck: 'ten' is not a number", "3 hold: no key is called so", "4 waiting: true is not a number"),
    'bedtime = "late"\n[[meals]]\nname = "breakfast"\nat = "eight"\n[[meals]]\nname = "lunch"\nat = "12:00"\ngrams = -5': ("2 bedtime: 'late' is no time of the 24-hour clock", "5 meals.0.at: 'eight' is no time of the 24-hour clock", "9 meals.1.grams: -5 is no carbohydrate of a meal"),
}  # fmt: skip
