"""The kinds of phrases an order is made of, each with the pattern that finds it, and the words for numbers.

An unsafe way of writing, such as "8U" or "8.0 units", has its row in `facts/notation.toml`; `notation.py` looks for those.
"""

from __future__ import annotations

_ONES = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
WORTH = {
    "zero": 0,
    **{word: worth for worth, word in enumerate(_ONES + _TEENS, 1)},
    **{word: 10 * worth for worth, word in enumerate(_TENS, 2)},
}

_ON_ITS_LINE = r"[^\S\n]+"
"""A run of spaces inside a number or before its unit: a line end there tears them apart."""

_BELOW_100 = (
    rf"(?:(?:{'|'.join(_TENS)})(?:(?:-|{_ON_ITS_LINE})(?:{'|'.join(_ONES)}))?|{'|'.join(_TEENS)}|{'|'.join(_ONES)})"
)
_WORDS = (
    rf"(?:(?:(?:(?:{'|'.join(_ONES)}|a)§thousand|(?:{'|'.join(_ONES)}|a)§hundred(?:§(?:and§)?{_BELOW_100})?"
    rf"|{_BELOW_100}|zero)\b(?:§and§a§half\b)?|half§an?\b)(?!-))"
)
_WORDS = _WORDS.replace("§", _ON_ITS_LINE)
_FIGURES = r"(?:(?:0|[1-9][0-9]{0,3})(?:\.[0-9]{0,3}[1-9])?(?![\w]))"
NUMBER = rf"(?:{_FIGURES}|{_WORDS})"
"""A number of units, in figures without a needless zero, or in words."""

_START = r"(?<![^\s(])"
_UNIT = rf"(?:international{_ON_ITS_LINE})?units?"
_UNITS = rf"{_ON_ITS_LINE}{_UNIT}(?!\w)"
_MEAL = (
    r"(?:breakfast|lunch|dinner|supper|tea|(?:the )?(?:morning|midday|noon|evening) meal|bedtime"
    r"|(?:a|the|each|every) meal|meals|mealtimes)"
)
_TIME_FIGURES = r"(?:[0-9]|[1-9][0-9]) ?(?:-|–|\bto\b) ?[1-9][0-9]?|[1-9][0-9]?"
_AMOUNT_OF_TIME = (
    rf"(?:{_TIME_FIGURES}|{_WORDS}) ?(?:minutes|minute|mins\b\.?|min\b\.?|hours|hour)|half an hour|an hour"
)
_HALF_DAY = r"\s*[ap]\.?m\b\.?"
_NOT_UNITS = rf"(?!\w|:[0-9])(?!\s*{_UNIT}\b)"
_HOURS = r"(?: ?(?:hours|hrs|h)\b)"
_AT_NUMBER = r"(?<![\w:.,/-])(?:\bat )?"
_DAY = r"(?:morning|afternoon|evening|night)"

# A condition runs on, word by word, to the end of its sentence or up to where the order goes on.
_OBJECT = (
    r"(?:the|this|that|both|all|any|and|insulins?|{insulins}|doses?|morning|evening|prescriber|provider|practitioner"
    r"|physician|doctor|team)"
)
_HOLD = rf"\b(?:hold|withhold|omit|skip|stop|delay|(?:do not|don['’]t) give|give only|only|call|notify|inform|tell)(?: {_OBJECT}){{0,4}}"
_COMPARED = r"(?:(?:less|more|greater|lower|higher) than\b|below\b|above\b|under\b|over\b|[<>≤≥] ?=?)"
_GLUCOSE = r"(?:(?:the |his |her |their |a )?(?:blood |capillary |fingerstick )?(?:glucose|sugar|bg|cbg)\b)"
_A_READING = (
    r"[0-9]+(?:[.,][0-9]+)?(?: ?(?:-|–|\bto\b) ?[0-9]+(?:[.,][0-9]+)?)? ?(?:mg ?/ ?dl|mmol(?: ?/ ?l)?)(?![a-z0-9])"
)
_GOES_ON = rf"{{insulins}}|{NUMBER}{_UNITS}|subcut|under the skin|(?:give|inject|administer|prepare|draw up|and give|then)\b|u-?100\b"
_ANOTHER_TIME = (
    rf"(?:[0-9]+ ?min\w*|{_AMOUNT_OF_TIME}|before|after|with|at|daily|every|each|once|twice|in the|now|today)\b"
    rf"(?![^.;\n]*(?:{_COMPARED}|mg|mmol))"
)
_TO_ITS_END = (
    rf"(?: ?(?!(?:[,:] ?)?(?:(?:and|then|plus) )?(?:{_GOES_ON})|, ?(?:and )?{_ANOTHER_TIME}|(?<=\n){_ANOTHER_TIME}"
    r"|(?<=\n)(?:[-•*]|[1-9]\.)|,\s*\Z)(?:[^\s.,;:()!]+|[.,](?=[0-9])|\([^()\n]*\)|[,:]|\.(?!\s|\Z)))*"
)

_GLUCOSE_UNIT = r"(?:mg ?/ ?dl|mmol(?: ?/ ?l)?)"
_MORE_OR_LESS = r"(?:up to|at least|at most|about|around|roughly|approximately|approx\b\.?|maximum|max\b\.?|minimum|not? (?:more|less) than)"
_WEEKDAY = r"(?:mon|tues|wednes|thurs|fri|satur|sun)days?"
_MONTH = (
    r"(?:january|february|march|april|may|june|july|august|september|october|november|december"
    r"|jan|feb|mar|apr|jun|jul|aug|sept?|oct|nov|dec)"
)
_DATE = (
    rf"(?:[0-9]{{1,2}}(?:st|nd|rd|th)? (?:of )?{_MONTH}\b|\b{_MONTH} [0-9]{{1,2}}(?:st|nd|rd|th)?\b(?! ?{_UNIT}))"
    r"(?:,? ?[0-9]{4}\b)?"
    r"|(?:[0-9]{1,2}[/.-][0-9]{1,2}[/.-](?:[0-9]{4}|[0-9]{2})|[0-9]{4}-[0-9]{2}-[0-9]{2})(?![\w/.-]*[0-9])"
    rf"(?! ?{_UNIT})"
)
_OTHER_DAY = (
    rf"\b(?:(?:from|on|starting|start|every|each|next|this|last) )*{_WEEKDAY}\b(?: ?(?:,|and|,? to) ?{_WEEKDAY}\b)*"
    r"|\b(?:next|every other|every) week\b|\b(?:after|on|at) discharge\b|\bthe day after tomorrow\b|\byesterday\b"
    r"|\bin (?:a few|two|three|[2-9]) days\b"
)
_PLACE = r"\b(?:in|into|to) (?:the |one |an? )?(?:(?:left|right|upper|lower|outer) )*(?:abdomen|belly|thigh|arm|buttock|leg)s?\b"
_NOT_TO_GIVE = (
    r"\b(?:hold|withhold|omit|skip|stop|discontinue|discontinued|cancel|cancelled|suspend|delay|not to be given"
    r"|(?:do not|don['’]t|never) (?:give|inject|administer|prepare|draw up|start|continue|resume|use))\b"
)
_APART = (
    r"\b(?:(?:in|with|using|as) )?(?:(?:two|2) )?(?:separate|different|individual) (?:syringes?|injections?|sites?)\b"
    r"|\b(?:in|with|using|as) (?:two|2) (?:syringes|injections)\b|\bseparately\b|\bunmixed\b|\bnot mixed\b"
    r"|\b(?:do not|don['’]t|never) (?:mix|combine)\b|\beach in (?:its|an|a syringe of its) own(?: syringe| injection)?\b"
)
SHORT_FORM = (
    r"(?<![\w.])(?:[bt]\.?i\.?d|q\.i\.d|qid|bd|[tq]ds|stat|mane|nocte"
    r"|(?:q\.? ?|(?:every|each|in the) )[ap]\.?m|q\.? ?[0-9]{1,2} ?h(?:ours|rs?)?"
    rf"|(?:(?:{_AMOUNT_OF_TIME}) )?[ap]\.?c(?:\b\.? {_MEAL})?)\b(?:\.(?!\w))?"
)

# Kind, where it can begin, pattern; earlier rows go first. A phrase begins with a figure (9), a word (w) or a sign (.).
# In the patterns a space stands for any run of spaces, and a space with a question mark for a run that may be empty.
ROWS: tuple[tuple[str, str, str], ...] = (
    ("line", ".", r"\s*\n\s*"),
    ("space", ".", r"\s+"),
    ("insulin", "9w", "{insulins}"),
    ("strength", "9w", rf"(?<![\w-])(?:u-?100|100 {_UNIT} ?(?:/|per) ?ml)(?![\w-])"),
    ("other strength", "9w", rf"(?<![\w-])(?:u-?[0-9]+|[0-9]+ ?{_UNIT} ?(?:/|per) ?ml)(?!\w)"),
    (
        "no fixed dose",
        "9",
        rf"{_START}{NUMBER} {_UNIT} ?(?:/|per\b|for (?:every|each)\b) ?(?!{{names}}|insulin\b|{NUMBER}{_UNITS})\w+",
    ),
    ("no fixed dose", "w", r"\b(?:(?:as )?(?:per|by|on)(?: an?| the)? )?(?:insulin )?sliding(?:[\s-]+scale)?\b"),
    (
        "no fixed dose",
        "w",
        r"\b(?:as )?(?:per|by|on|according to|depending on)(?: an?| the)? "
        r"(?:scale|protocol|algorithm|blood glucose|blood sugar|glucose|carbohydrates?|weight|response|need)\b",
    ),
    (
        "no fixed dose",
        "w",
        r"\b(?:as|when|if) (?:needed|required|directed|necessary)\b|(?<![\w.])p\.?r\.?n\b\.?|\bcorrection(?:al)?\b"
        r"|\b(?:supplemental|titrated?|adjust(?:ed)?|variable|(?:usual|same) dose|total daily(?: dose)?)\b"
        r"|\b(?:same )?as (?:before|yesterday|usual|previously|at home)\b"
        r"|\b(?:increased?|decreased?|reduced?|raised?|lowered?|changed?)\b",
    ),
    ("no fixed dose", "w", rf"\b{_MORE_OR_LESS} {NUMBER}{_UNITS}"),
    (
        "no time",
        "w",
        r"\b(?:asap|as soon as possible|soon(?:est)?|promptly|when(?:ever)? (?:possible|ready|convenient))\b",
    ),
    ("another day", "9w", rf"(?<![\w/.-])(?:{_DATE}|{_OTHER_DAY})"),
    (
        "a scale",
        "9",
        rf"[0-9]+ ?(?:-|–|\bto\b) ?[0-9]+(?: ?{_GLUCOSE_UNIT})? ?(?:[:=,→]|->|\bgive\b) ?{NUMBER}{_UNITS}",
    ),
    (
        "condition",
        "w",
        rf"(?:{_HOLD} )?\b(?:if|when(?! ?:)|whenever|unless|until|provided|providing|as long as|except|in case)\b{_TO_ITS_END}",
    ),
    ("condition", "w", rf"{_HOLD} ?(?:\b(?:for|at) (?=(?:an? )?{_GLUCOSE})|(?:for |at )?(?={_COMPARED})){_TO_ITS_END}"),
    ("condition", "w", rf"\b{_GLUCOSE}(?=[^;\n]{{0,80}}?(?:{_COMPARED}|[0-9])){_TO_ITS_END}"),
    ("condition", "9w.", rf"(?:{_COMPARED} ?)?{_A_READING}"),
    ("apart", "9w", _APART),
    ("not to give", "w", _NOT_TO_GIVE),
    ("total", "w", rf"\b(?:in |a |the )?total(?: dose)?(?: is| of)?(?: ?[:=] ?| ){NUMBER}{_UNITS}"),
    ("total", "9", rf"{_START}{NUMBER}{_UNITS} (?:in (?:total|all)|total|altogether)\b"),
    ("two numbers", "9", rf"{_START}{NUMBER} ?\( ?{NUMBER}(?:{_UNITS})? ?\){_UNITS}"),
    ("two numbers", "9", rf"{_START}{NUMBER}{_UNITS} ?\( ?{NUMBER}(?:{_UNITS})? ?\)"),
    ("range", "9", rf"{_START}{NUMBER}(?:{_UNITS})? ?(?:-|–|—|/|\bto\b|\bor\b) ?{NUMBER}{_UNITS}"),
    ("range", "w", rf"\bbetween {NUMBER}(?:{_UNITS})? and {NUMBER}{_UNITS}"),
    ("comma", "9", rf"{_START}[0-9]{{1,4}},[0-9]{{1,3}}{_UNITS}"),
    (
        "when",
        "9w",
        rf"(?<![\w.,/–-])(?:(?:about|approximately|around|within|up to) )?(?:{_AMOUNT_OF_TIME}) (?:before|after) {_MEAL}\b",
    ),
    (
        "when",
        "w",
        rf"(?<![\w.,/–-])(?:(?:immediately|just|right|directly) (?:before|after)|before|with|after|at) {_MEAL}\b",
    ),
    ("clock", "9w", rf"{_AT_NUMBER}(?:1[0-2]|0?[1-9])(?:[:.][0-5][0-9])?{_HALF_DAY}{_NOT_UNITS}"),
    (
        "clock",
        "9w",
        rf"{_AT_NUMBER}(?:[01][0-9]|2[0-3]):[0-5][0-9]{_HOURS}?(?!{_HALF_DAY}){_NOT_UNITS}",
    ),
    ("clock", "w", rf"\bat (?:[01][0-9]|2[0-3])\.?[0-5][0-9]{_HOURS}?(?![.,/-][0-9])(?!{_HALF_DAY}){_NOT_UNITS}"),
    ("clock", "9", rf"(?<![\w:.,/-])0[0-9][0-5][0-9]{_HOURS}?(?![.,/-][0-9])(?!{_HALF_DAY}){_NOT_UNITS}"),
    ("clock", "9", rf"(?<![\w:.,/-])(?:1[0-9]|2[0-3])[0-5][0-9]{_HOURS}"),
    ("clock", "9w", rf"{_AT_NUMBER}(?:12 )?(?:noon|midnight|midday)\b"),
    ("half clock", "9w", rf"{_AT_NUMBER}[1-9]:[0-5][0-9](?![.,/-][0-9]){_NOT_UNITS}"),
    ("half clock", "w", rf"\bat [1-9]\.[0-5][0-9](?![.,/-][0-9])(?!{_HALF_DAY}){_NOT_UNITS}"),
    ("half clock", "w", rf"\bat (?:1[0-2]|[1-9])(?![.,/-][0-9]){_NOT_UNITS}"),
    (
        "how often",
        "9w",
        r"(?<![\w.,/-])(?:(?:once|twice|(?:two|three|four|[2-4]) times) (?:daily|a day|each day|every day)|daily"
        r"|every day|each day)\b",
    ),
    ("how often", "w", r"\bevery other day\b"),
    ("course", "w", rf"\bfor (?:the next )?(?:[1-9][0-9]?|{_WORDS}) (?:days?|weeks?)\b"),
    ("part of the day", "w", rf"\b(?:every|each|this|in the|tomorrow) {_DAY}\b|\bat night\b|\bnightly\b|\btonight\b"),
    ("how often", "w", rf"\bevery (?:0|[1-9][0-9]?|{_WORDS}) hours\b"),
    ("how often", "w", r"\b(?:one dose only|once only|once)(?: (?:right now|now|today))?\b"),
    ("how often", "w", r"\b(?:right now|now|immediately|today|(?:from |starting )?tomorrow)\b"),
    ("short form", "9w", SHORT_FORM),
    ("route", "w", r"\bsub(?:-| ?)cut\b\.?|\b(?:by )?subcutaneous(?:ly| injection)?\b|\bunder the skin\b"),
    (
        "other route",
        "w",
        r"(?<![\w.])(?:i\.?v\b\.?(?: (?:push|bolus|infusion|drip))?|ivp\b|i\.?m\b\.?|p\.?o\b\.?|s\.?l\b\.?)"
        r"|\b(?:intravenous(?:ly)?|intramuscular(?:ly)?|intradermal(?:ly)?|sublingual(?:ly)?|orally|inhaled|by mouth)\b"
        r"|\b(?:into (?:a|the) (?:vein|muscle)|under the tongue|(?:(?:by|as) )?(?:an )?infusion|(?:by|via) pump)\b",
    ),
    ("minutes", "9", r"[0-9][0-9.,–-]* ?(?:minutes|minute|mins|min|hours|hour)(?!\w)"),
    ("dose", "9", rf"{_START}{NUMBER}{_UNITS}"),
    ("torn", "9", rf"{_START}{NUMBER}(?:{_ON_ITS_LINE}international)?[^\S\n]*\n\s*{_UNIT}(?!\w)"),
    ("torn", "9", rf"\b(?:{'|'.join(_TENS)})(?:-|[^\S\n])*\n\s*(?:{'|'.join(_ONES)})\b(?:\s+{_UNIT}(?!\w))?"),
    ("volume", "9", rf"{_START}{NUMBER} ?(?:mls?|millilit(?:er|re)s?)(?!\w)"),
    (
        "other unit",
        "9",
        rf"{_START}{NUMBER} ?(?:mg|mcg|g|grams?|milligrams?|micrograms?|drops?|marks?|lines?|clicks?)(?!\w)",
    ),
    ("place", "w", _PLACE),
    ("look", "w", r"\b(?:clear|cloudy|(?:short|rapid|intermediate|long)-acting)\b"),
    ("ready mixture", "9w", r"\b(?:pre-?mix(?:ed)?|biphasic)\b|(?<![\w/])(?:70/30|30/70|75/25|25/75|50/50)(?![\w/])"),
    ("item", "9w", r"[1-9][.)](?=\s+[a-z])|\b[a-d]\)(?=\s+[a-z0-9])"),
    ("number", "9", rf"{_START}{NUMBER}(?![\w.,:/-]*[0-9])"),
    ("figures", "9", r"[0-9](?:[^\s;()]*[^\s;().,:])?"),
    ("meal", "w", rf"\b{_MEAL}\b"),
    ("of", "w", r"\bof\b"),
    ("unknown", ".", rf"(?<!\S)[.,;!\"'“”‘’](?=\s+{NUMBER}{_UNITS})"),
    ("break", "w.", r"\b(?:and|plus|then|with|mixed|mix|combined)\b|[,;+()]|\.{1,2}(?=\s|\Z)"),
    (
        "filler",
        "w.",
        r"\b(?:insulin|human|give|inject|administer|prepare|draw up|start|continue|resume|to be given"
        r"|in (?:one|a single|the same) syringe|together|both|strength|dose|please|order"
        r"|(?:route|time|when|frequency)(?= ?:))\b|[:\"'“”‘’!]",
    ),
    ("bullet", ".", r"[-–—•*](?=\s+[a-z0-9])"),
    ("unknown", "9w.", r"[\w'’-]*\w|\S"),
)
