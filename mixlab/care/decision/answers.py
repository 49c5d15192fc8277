"""The answers before a dose, the rules that can ask for one, and the reason that carries both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from mixlab.words import Sentence, joined, sentence

Choice = Literal["hold and treat", "check first", "hold and ask", "give and report", "give"]
"""The answers, the most cautious first."""

ReasonKey = Literal[
    # the patient needs help, or the glucose is low
    "level-3",
    "emergency-not-low",
    "meter-shows-lo",
    "level-2-line",
    "below-hold-line",
    "signs-with-low",
    "signs-without-reading",
    # something is not known, or does not fit
    "signs-with-high",
    "urgent-signs-not-low",
    "signs-outrank-number",
    "signs-not-looked-for",
    "alertness-not-looked-at",
    "no-reading",
    "reading-too-old",
    "reading-age-unknown",
    "reading-too-early",
    "meter-shows-hi",
    "above-meter",
    "below-meter",
    "which-unit",
    "last-dose-recent",
    "last-dose-unknown",
    "meal-unknown",
    # the prescriber is asked
    "prescriber-says-wait",
    "earlier-low",
    "treated-as-low",
    "several-lows",
    "cannot-swallow",
    "vomiting",
    "fasting",
    "not-eating-clear",
    "not-eating-cloudy",
    "meal-late",
    "food-due",
    # the prescriber is told
    "report-line",
    "high-two-days",
    "high-twice",
    "near-low",
    "changed-state",
    # the dose may be given
    "nothing-against",
    "allowance-reaches-line",
    "withholding-harms",
]
"""The rules by their short names, the weightiest first."""

CHOICE_WORDS: dict[Choice, Sentence] = {
    "hold and treat": sentence("hold and treat"),
    "check first": sentence("check first"),
    "hold and ask": sentence("hold and ask"),
    "give and report": sentence("give and report"),
    "give": sentence("give"),
}
"""What each answer is called."""

COMMON = sentence("common practice, no source")
"""What is printed for a rule of the trade."""

ASKED: frozenset[ReasonKey] = frozenset(
    (
        *("earlier-low", "treated-as-low", "several-lows", "cannot-swallow", "vomiting", "fasting"),
        *("not-eating-clear", "not-eating-cloudy", "meal-late"),
    )
)
"""The rules that put a question to the prescriber, who can answer it by saying to give the dose."""

SIGNS_AND_NO_LOW: frozenset[ReasonKey] = frozenset(
    ("signs-outrank-number", "urgent-signs-not-low", "emergency-not-low", "signs-with-high")
)
"""The rules about signs that the number does not explain."""

TOO_HIGH: frozenset[ReasonKey] = frozenset(("meter-shows-hi", "above-meter"))
"""The rules about a glucose above the meter's range. A prescriber who has been told answers them too."""

_RANK = {choice: at for at, choice in enumerate(CHOICE_WORDS)}
_WEIGHT = {key: at for at, key in enumerate(get_args(ReasonKey))}


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One finding that speaks for an answer, with the rule behind it.

    Attributes
    ----------
    choice : str
        The answer it asks for.
    key : str
        The short name of the rule, one of `ReasonKey`; it does not change with the numbers.
    text : Sentence
        The finding, and what it means.
    rule : Sentence
        Who says so: a citation, "policy of" a ward, or "common practice, no source".
    """

    choice: Choice
    key: ReasonKey
    text: Sentence
    rule: Sentence

    def __str__(self) -> str:
        return f"{self.text} ({self.rule})"


@dataclass(frozen=True)
class _Inside:
    """A sentence that goes on after the colon of another one: it begins with a small letter when it is said."""

    words: Sentence

    def __str__(self) -> str:
        said = str(self.words)
        return f"{said[:1].lower()}{said[1:]}"


def after_a_colon(words: Sentence) -> Sentence:
    """Return a sentence as it stands after the colon of another one, beginning with a small letter."""
    return joined((_Inside(words),))


def weight(reason: Reason) -> tuple[int, int]:
    """Return what reasons are sorted by: the most cautious answer first, and within it the weightiest rule."""
    return _RANK[reason.choice], _WEIGHT[reason.key]
