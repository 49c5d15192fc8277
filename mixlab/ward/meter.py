"""The meter: what it can show, how far it may be off, and reading what a person types from its screen."""

from __future__ import annotations

import re

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact
from mixlab.quantities import Glucose, GlucoseUnit, NotAnAmount, meter_reading
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, sentence

from .observation import OffScale

_BEYOND_BELIEF = Glucose(2000, "mg/dL")
"""What is typed above this is taken for a slip of the finger (our own choice, no source)."""

_NORMAL = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)} | {0x3000: " ", 0xA0: " ", 0x202F: " ", 0x2009: " "}
"""Full-width letters and digits, and wide or narrow spaces, as plain ones. Nothing else: a raised 2 is no digit."""

_WRITTEN = re.compile(r"(?P<number>[0-9]+(?:\.[0-9]+)?) ?(?P<unit>mg ?/ ?dl|mmol ?/ ?l)?")
_UNITS: dict[str, GlucoseUnit] = {"mg/dl": "mg/dL", "mmol/l": "mmol/L"}


class WrongUnit(NotAnAmount):
    """A bare number that the site's meter can show only in the other unit. Nothing is converted: the person is asked.

    Attributes
    ----------
    meant : Glucose
        The same number in the other unit, which the meter could show.
    """

    def __init__(self, message: Sentence, meant: Glucose) -> None:
        super().__init__(message)
        self.meant = meant


def off_the_meter(glucose: Glucose, site: Site) -> Fact | None:
    """Return the end of the meter's range beyond which a reading lies, or None if the meter can show it."""
    low, high = site.meter_low, site.meter_high
    if float(glucose.to(low.unit).shown()) < low.value:  # type: ignore[arg-type]  # the fact's unit is a glucose unit
        return low
    if float(glucose.to(high.unit).shown()) > high.value:  # type: ignore[arg-type]
        return high
    return None


def ends_of_range(site: Site) -> tuple[float, float]:
    """Return the ends of the meter's range as it shows them in the site's unit."""
    low, high = (
        float(Glucose(end.value, end.unit).to(site.glucose_unit).shown())  # type: ignore[arg-type]  # a glucose unit
        for end in (site.meter_low, site.meter_high)
    )
    return low, high


def in_the_other_unit(glucose: Glucose, site: Site) -> Glucose | None:
    """Return the same number in the other unit if the meter cannot show it in this one, but could in that.

    The number is not converted: this is what somebody may have meant who took the wrong unit.
    """
    other = Glucose(glucose.value, "mmol/L" if glucose.unit == "mg/dL" else "mg/dL")
    return other if not _could_show(glucose, site) and _could_show(other, site) else None


def allowance(glucose: Glucose) -> tuple[Glucose, Glucose]:
    """Return the lowest and highest true glucose that a reading may stand for, in the reading's own unit.

    ISO 15197:2013 (as given in PMC4525642, Table 1; read): 95 % of readings lie within 15 mg/dL of the laboratory value
    below 100 mg/dL, and within 15 % of it from there up.
    """
    bedside = the_facts().bedside
    flat, percent = bedside["meter_allowance_mg_dl"].value, bedside["meter_allowance_percent"].value
    shown = Glucose(float(glucose.shown()), glucose.unit).to("mg/dL").value
    off = max(flat, shown * percent / 100)
    low, high = Glucose(max(shown - off, 0), "mg/dL"), Glucose(shown + off, "mg/dL")
    return low.to(glucose.unit), high.to(glucose.unit)


def read_meter(text: str, site: Site) -> Glucose | OffScale:
    """Read what a person typed from a meter's screen: a number, with or without its unit, or ``HI`` or ``LO``.

    Parameters
    ----------
    text : str
        As typed. Capitals, spaces and full-width digits do not matter.
    site : Site
        Its unit is that of a bare number.

    Raises
    ------
    WrongUnit
        For a bare number that the site's meter can show only in the other unit.
    NotAnAmount
        For anything else that no meter shows. The message says what is wrong and what to do.

    Examples
    --------
    >>> from mixlab import teaching_site
    >>> read_meter("98", teaching_site()), read_meter("HI", teaching_site())
    (Glucose(value=98.0, unit='mg/dL'), 'HI')
    """
    if not isinstance(text, str):
        wrong = sentence("{text!r} is not what somebody typed. Write the reading as text, for example '98 mg/dL'.")
        raise NotAnAmount(wrong.filled(text=text))
    plain = " ".join(text.translate(_NORMAL).casefold().split())
    if plain in ("hi", "lo"):
        return "HI" if plain == "hi" else "LO"
    written = _WRITTEN.fullmatch(plain)
    if written is None:
        raise NotAnAmount(_why_not(plain, text, site))
    bare = written["unit"] is None
    unit = site.glucose_unit if bare else _UNITS[written["unit"].replace(" ", "")]
    if float(written["number"]) > _BEYOND_BELIEF.value:  # in either unit
        raise NotAnAmount(_nobody(written["number"], unit))
    glucose = Glucose(float(written["number"]), unit)
    meant = in_the_other_unit(glucose, site) if bare else None
    if meant is not None:
        wrong = sentence(
            "This ward's meter cannot show {number} {here}: did you mean {number} {there}? Look at the unit on the meter's screen and write it behind the number."
        )
        raise WrongUnit(wrong.filled(number=written["number"], here=unit, there=meant.unit), meant)
    if glucose.value == 0:
        raise NotAnAmount(sentence("No meter shows 0. If the screen says LO, write LO; if not, measure again."))
    if glucose.to(_BEYOND_BELIEF.unit).value > _BEYOND_BELIEF.value:
        raise NotAnAmount(_nobody(written["number"], unit))
    return meter_reading(glucose.value, unit)


def _could_show(glucose: Glucose, site: Site) -> bool:
    """Say whether the number stands on the meter's scale: inside its range and no finer than its screen."""
    return off_the_meter(glucose, site) is None and abs(float(glucose.shown()) - glucose.value) < 1e-9


def _nobody(number: str, unit: GlucoseUnit) -> Sentence:
    return sentence(
        "No meter shows {number} {measure}. Look at the screen again; if it says HI, write HI.",
        number=number,
        measure=unit,
    )


_WHY_NOT = (
    ("", sentence("There is no reading. {ask}")),
    (r"[-\u2212\u2013\u2010\u2011] ?[0-9.].*", sentence("{typed!r} is below zero. {ask}")),
    (
        r".*[0-9] ?, ?[0-9].*",
        sentence("{typed!r} has a comma in it. Write a point instead, as in 5.4, and no comma between thousands."),
    ),
    (r"\.[0-9].*", sentence("{typed!r} has no figure before the point. Write a zero there, as in 0.9.")),
    (
        r"[0-9]+\. ?(?:mg ?/ ?dl|mmol ?/ ?l)?",
        sentence("{typed!r} ends with a point. Write the number without it, or with the figure behind it."),
    ),
    (
        "high|low",
        sentence(
            "{typed!r} may be what the meter shows or what you think of it. Write HI or LO if the screen says so."
        ),
    ),
    (r"[0-9].*", sentence("{typed!r} is not one number with a glucose unit (mg/dL or mmol/L). {ask}")),
    (r".*", sentence("{typed!r} is not a reading. {ask}")),
)
"""What to say of a text that is no reading, by the first pattern that it has."""


def _why_not(plain: str, text: str, site: Site) -> Sentence:
    example = "98 mg/dL" if site.glucose_unit == "mg/dL" else "5.4 mmol/L"  # with a point, whoever speaks
    ask = sentence(
        "Write the number on the meter's screen, for example {example}, or HI or LO if it says so.", example=example
    )
    said = next(words for pattern, words in _WHY_NOT if re.fullmatch(pattern, plain, re.DOTALL))
    return said.filled_from({"typed": text.strip(), "ask": ask})
