"""What the nurse finds at the bedside before a dose."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args, get_type_hints

from mixlab.facts.reading import the_facts
from mixlab.quantities import Glucose, NotAnAmount
from mixlab.words import sentence

OffScale = Literal["HI", "LO"]
"""What a meter shows instead of a number when the glucose lies above or below what it can measure."""

Alertness = Literal["awake", "drowsy", "unresponsive"]
"""How awake the patient is, the best first."""


@dataclass(frozen=True)
class Earlier:
    """An earlier reading from the chart, and how many hours ago it was taken.

    Raises
    ------
    NotAnAmount
        For a reading without a unit, or a time that is negative or not a number.
    """

    glucose: Glucose | OffScale
    hours_ago: float

    def __post_init__(self) -> None:
        _refuse_unitless(self.glucose)
        if not _is_time(self.hours_ago):
            wrong = sentence(
                "An earlier reading cannot be from {hours!r} hours ago. Write how many hours have passed since then, for example 3."
            )
            raise NotAnAmount(wrong.filled(hours=self.hours_ago))


@dataclass(frozen=True, kw_only=True)
class Observation:
    """Glucose, signs, meal and what the chart says, as found. `None` means 'not known', which is never the same as 'no'.

    Attributes
    ----------
    glucose : Glucose, "HI", "LO" or None
        The reading, or what the meter shows instead of a number; None if there is none to be had.
    signs : tuple of str or None
        Signs of hypoglycaemia seen or told, by their keys in the facts; empty if looked for and absent, None if nobody
        has looked.
    eating : bool or None
        Whether the patient will eat the meal this dose belongs to.
    minutes_old : float or None
        Age of the reading in minutes, infinite for very old; None if nobody noted the time.
    vomiting, fasting : bool
        Whether the patient vomits, or fasts for a test or an operation.
    meal_late : bool
        Whether the meal of this dose is late: it is coming, but not yet on its way.
    food_due : bool
        Whether a low has been treated and nothing has been eaten since, by a patient who can and may eat.
    minutes_after_treatment : float or None
        Minutes from the last treatment of a low to this reading; None if no treatment came before it, or an earlier
        reading has already told how it worked.
    can_swallow : bool or None
        Whether the patient can swallow safely; None if nobody has tried.
    alertness : {"awake", "drowsy", "unresponsive"} or None
        How awake the patient is; None if nobody has looked.
    hours_since_dose : float or None
        Hours since the last dose that could have been this one, infinite if there was none; None if not known.
    earlier : tuple of Earlier
        Earlier readings from the chart.
    changed : bool
        Whether the patient's state is new or changed.
    prescriber_says_give : bool
        Whether the prescriber has been told of everything found and has said to give this dose now.
    prescriber_says_wait : bool
        Whether the prescriber has said not to give this dose. It stands until the prescriber says otherwise, and goes before
        any other word.
    treated_as_low : bool
        Whether the patient has been treated as a low, whatever the number was.
    treated_by_mouth : int
        How often the low of now has been treated by mouth.

    Raises
    ------
    NotAnAmount
        For a glucose without a unit, an age or a time that is negative or not a number, signs that are not a list or
        not on the list, and any other answer that is not one of the choices.
    """

    glucose: Glucose | OffScale | None = None
    signs: tuple[str, ...] | None = None
    eating: bool | None = None
    minutes_old: float | None = 0.0
    vomiting: bool = False
    fasting: bool = False
    meal_late: bool = False
    can_swallow: bool | None = None
    alertness: Alertness | None = "awake"
    hours_since_dose: float | None = math.inf
    earlier: tuple[Earlier, ...] = ()
    changed: bool = False
    prescriber_says_give: bool = False
    food_due: bool = False
    minutes_after_treatment: float | None = None
    prescriber_says_wait: bool = False
    treated_as_low: bool = False
    treated_by_mouth: int = 0

    def __post_init__(self) -> None:
        if self.glucose is not None:
            _refuse_unitless(self.glucose)
        if self.signs is not None:
            _refuse_unknown_signs(self.signs)
        for asked, wrong in _TIMES.items():
            time = getattr(self, asked)
            if time is not None and not _is_time(time):
                raise NotAnAmount(wrong.filled(time=time))
        if self.alertness is not None and self.alertness not in _ALERTNESS:
            wrong = sentence(
                "{answer!r} does not say how awake the patient is. Choose from: {known}; or None if nobody has looked."
            )
            raise NotAnAmount(wrong.filled(answer=self.alertness, known=", ".join(_ALERTNESS)))
        times = self.treated_by_mouth
        if isinstance(times, bool) or not isinstance(times, int) or times < 0:
            wrong = sentence("A low cannot have been treated {times!r} times by mouth. Write how often, for example 2.")
            raise NotAnAmount(wrong.filled(times=times))
        if not isinstance(self.earlier, tuple) or not all(isinstance(one, Earlier) for one in self.earlier):
            raise NotAnAmount(
                sentence(
                    "Earlier readings are written as a list, each with its time: (Earlier(Glucose(64, 'mg/dL'), 3),)."
                )
            )
        for asked, kind in _YES_OR_NO.items():
            answer = getattr(self, asked)
            if answer is True or answer is False or (answer is None and kind is not bool):
                continue
            wrong = sentence("{asked} is a question of yes or no, not {answer!r}. Write True or False.")
            if kind is not bool:
                wrong = sentence(
                    "{asked} is a question of yes or no, not {answer!r}. Write True, False, or None for not known."
                )
            raise NotAnAmount(wrong.filled(asked=asked, answer=answer))


_ALERTNESS: tuple[str, ...] = get_args(Alertness)

_TIMES = {
    "minutes_old": sentence("A reading cannot be {time!r} minutes old. Enter how many minutes ago it was taken."),
    "hours_since_dose": sentence(
        "The last dose cannot be {time!r} hours ago. Enter how many hours have passed since it."
    ),
    "minutes_after_treatment": sentence(
        "A reading cannot be taken {time!r} minutes after a treatment. Enter how many minutes lay between them, or None if no low was treated."
    ),
}
"""What to say of a time that is none."""

_YES_OR_NO = {asked: kind for asked, kind in get_type_hints(Observation).items() if kind in (bool, bool | None)}
"""The questions answered by yes or no, some of them also by 'not known'."""


def _is_time(time: object) -> bool:
    return isinstance(time, int | float) and not isinstance(time, bool) and time >= 0


def _refuse_unitless(glucose: object) -> None:
    if isinstance(glucose, Glucose) or (isinstance(glucose, str) and glucose in ("HI", "LO")):
        return
    wrong = sentence("{glucose!r} has no unit. Write Glucose({glucose!r}, 'mg/dL') or 'mmol/L'.")
    if isinstance(glucose, str):
        wrong = sentence(
            "{glucose!r} is not a reading. Write Glucose(98, 'mg/dL'), or 'HI' or 'LO' if the meter shows it."
        )
    raise NotAnAmount(wrong.filled(glucose=glucose))


def _refuse_unknown_signs(signs: object) -> None:
    if isinstance(signs, str) or not isinstance(signs, tuple | list):
        raise NotAnAmount(sentence("Write the signs as a list, even for one: ({signs!r},).", signs=signs))
    known = the_facts().signs
    for sign in signs:
        if not isinstance(sign, str) or sign not in known:
            wrong = sentence("{sign!r} is not a sign on the list. Choose from: {known}.")
            raise NotAnAmount(wrong.filled(sign=sign, known=", ".join(known)))
