"""Whom to tell of a finding, and how soon; and what must happen for a held dose to be given."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

from mixlab.words import Sentence, joined, sentence
from mixlab.words.catalogue import places

from .answers import TOO_HIGH, ReasonKey

_Person = Literal["team", "nurse", "supervising nurse", "prescriber", "laboratory"]

_SOON = (
    sentence("at once"),
    sentence("now, before anything is drawn up"),
    sentence("as soon as possible, before the mixed dose"),
    sentence("as soon as possible"),
)
"""How soon, the most urgent first."""

_PEOPLE: dict[_Person, Sentence] = {
    "team": sentence("The emergency team"),
    "nurse": sentence("The nurse in charge"),
    "supervising nurse": sentence("Your supervising nurse, who calls the {prescriber} with you"),
    "prescriber": sentence("The {prescriber}"),
    "laboratory": sentence("The laboratory"),
}
"""Everyone who is told. A student does not call alone (common practice, no source)."""

_Word = tuple[_Person, int]
"""Who is told, and how soon by its place in `_SOON`."""

_TEAM: _Word = ("team", 0)
_NURSE: _Word = ("nurse", 0)
_NURSE_NOW: _Word = ("nurse", 1)
_PRESCRIBER: _Word = ("prescriber", 0)
_PRESCRIBER_FIRST: _Word = ("prescriber", 2)
_PRESCRIBER_SOON: _Word = ("prescriber", 3)
_LABORATORY: _Word = ("laboratory", 3)
_TOGETHER: _Word = ("supervising nurse", 1)

_TELL: dict[ReasonKey, tuple[_Word, ...]] = {
    "level-3": (_TEAM, _NURSE, _PRESCRIBER),
    "emergency-not-low": (_TEAM, _NURSE, _PRESCRIBER),
    "meter-shows-lo": (_NURSE, _PRESCRIBER),
    "level-2-line": (_NURSE, _PRESCRIBER),
    "below-hold-line": (_NURSE, _PRESCRIBER),
    "signs-with-low": (_NURSE, _PRESCRIBER),
    "signs-without-reading": (_NURSE, _PRESCRIBER),
    "signs-outrank-number": (_NURSE_NOW,),
    "signs-with-high": (_NURSE, _PRESCRIBER),
    "urgent-signs-not-low": (_NURSE, _PRESCRIBER),
    "meter-shows-hi": (_PRESCRIBER, _LABORATORY),
    "above-meter": (_PRESCRIBER, _LABORATORY),
    "last-dose-recent": (_NURSE_NOW,),
    "last-dose-unknown": (_NURSE_NOW,),
    "prescriber-says-wait": (_TOGETHER, _PRESCRIBER_FIRST),
    "earlier-low": (_TOGETHER, _PRESCRIBER_FIRST),
    "treated-as-low": (_TOGETHER, _PRESCRIBER_FIRST),
    "several-lows": (_TOGETHER, _PRESCRIBER_FIRST, _LABORATORY),
    "cannot-swallow": (_NURSE_NOW, _TOGETHER, _PRESCRIBER_FIRST),
    "vomiting": (_TOGETHER, _PRESCRIBER_FIRST),
    "fasting": (_TOGETHER, _PRESCRIBER_FIRST),
    "not-eating-clear": (_TOGETHER, _PRESCRIBER_FIRST),
    "not-eating-cloudy": (_TOGETHER, _PRESCRIBER_FIRST),
    "meal-late": (_TOGETHER,),
    "food-due": (_NURSE_NOW,),
    "report-line": (_PRESCRIBER_FIRST,),
    "high-two-days": (_PRESCRIBER_SOON,),
    "high-twice": (_PRESCRIBER_SOON,),
    "near-low": (_PRESCRIBER_SOON,),
    "changed-state": (_PRESCRIBER_FIRST,),
}
"""Who is told of what, and how soon. Of a low at once: common practice, no source; of the rest as the reason's rule says."""

_LOW: tuple[Sentence, ...] = (
    sentence("The reading is no longer {hold_line}."),
    sentence("The signs are gone."),
    sentence("The patient has eaten, or the protocol keeps the glucose up."),
    sentence("The {prescriber} knows of the low and says to give the dose."),
)
_SAYS = sentence("The {prescriber} knows of it and says what to give.")
_SEEN = (sentence("The patient has been seen, and the cause is known."), _SAYS)
_FRESH = sentence("There is a fresh reading, and the time it was taken.")

_GIVE_WHEN: dict[ReasonKey, tuple[Sentence, ...]] = {
    "level-3": _LOW,
    "emergency-not-low": _SEEN,
    "meter-shows-lo": _LOW,
    "level-2-line": _LOW,
    "below-hold-line": _LOW,
    "signs-with-low": _LOW,
    "signs-without-reading": _LOW,
    "signs-with-high": (sentence("A fresh reading has been taken, and the cause of the signs is known."), _SAYS),
    "urgent-signs-not-low": _SEEN,
    "signs-outrank-number": (
        sentence("A fresh reading has been taken, and the signs are gone or their cause is known."),
    ),
    "signs-not-looked-for": (sentence("Somebody has looked for signs of a low."),),
    "alertness-not-looked-at": (sentence("Somebody has looked how awake the patient is."),),
    "no-reading": (_FRESH,),
    "reading-too-old": (_FRESH,),
    "reading-age-unknown": (_FRESH,),
    "reading-too-early": (sentence("A reading has been taken long enough after the treatment."),),
    "meter-shows-hi": (_SAYS,),
    "above-meter": (_SAYS,),
    "below-meter": (sentence("A second reading or the laboratory has confirmed the number."),),
    "which-unit": (sentence("The unit of the number is known."),),
    "last-dose-recent": (
        sentence("The {chart} shows that this dose has not been given yet, and that it is time for it."),
    ),
    "last-dose-unknown": (sentence("The {chart} shows that this dose has not been given yet."),),
    "meal-unknown": (sentence("It is known whether the patient will eat."),),
    "prescriber-says-wait": (sentence("The {prescriber} knows the new reading and now says to give the dose."),),
    "treated-as-low": (sentence("The {prescriber} knows that it was treated as a low and says to give the dose."),),
    "earlier-low": (sentence("The {prescriber} knows of the earlier low and says to give the dose."),),
    "several-lows": (sentence("The {prescriber} knows that there were several lows and says to give the dose."),),
    "cannot-swallow": (sentence("The swallowing has been assessed."), _SAYS),
    "vomiting": (_SAYS,),
    "fasting": (_SAYS,),
    "not-eating-clear": (sentence("The {prescriber} has said what to do with {clear}."),),
    "not-eating-cloudy": (sentence("The {prescriber} has said what to do with {cloudy}."),),
    "meal-late": (sentence("The meal is on its way, or the {prescriber} says to give the dose before it."),),
    "food-due": (sentence("The patient has eaten, or the protocol keeps the glucose up."),),
}


@lru_cache(maxsize=4096)
def tell(still_open: frozenset[ReasonKey], *, at_once: bool = False, told: bool = False) -> tuple[Sentence, ...]:
    """Return whom to tell of the open rules, each person once, and how soon.

    Parameters
    ----------
    still_open : frozenset of str
        The open rules.
    at_once : bool
        Whether the prescriber is told at once, as of a high reading while the dose is held or the patient is ill.
    told : bool
        Whether the prescriber knows already and says to give; then a reading above the meter is not told a second time.
    """
    if told and still_open & TOO_HIGH:
        still_open -= {"report-line"}
    soonest: dict[_Person, int] = {}
    for key in still_open:
        for person, soon in _TELL.get(key, ()):
            if told and key in TOO_HIGH and person == "prescriber":
                soon = len(_SOON) - 1  # what the laboratory finds
            soonest[person] = min(soon, soonest.get(person, soon))
    if at_once:
        soonest["prescriber"] = 0
    if soonest.get("nurse") == 0:
        soonest.pop("supervising nurse", None)  # there is no time for a second way
    when = {person: _SOON[soon] for person, soon in soonest.items()}
    if "signs-outrank-number" in still_open and soonest.get("prescriber") != 0:
        known = when.get("prescriber")
        when["prescriber"] = (
            sentence("{soon}; at once if the signs stay", soon=known)
            if known
            else sentence("at once, if the signs stay")
        )
    return tuple(joined((who, ": ", when[person], "."), "") for person, who in _PEOPLE.items() if person in when)


@lru_cache(maxsize=4096)
def give_when(
    keys: tuple[ReasonKey, ...], hold_line: Sentence, clear: Sentence, cloudy: Sentence
) -> tuple[Sentence, ...]:
    """Return what must happen for the dose to be given, each once, for the open rules in order of weight.

    Empty if the dose may be given now.
    """
    texts = dict.fromkeys(text for key in keys for text in _GIVE_WHEN.get(key, ()))
    known = {"hold_line": hold_line, "clear": clear, "cloudy": cloudy}
    return tuple(text.filled(**{name: known[name] for name in known if name in places(text.key)}) for text in texts)
