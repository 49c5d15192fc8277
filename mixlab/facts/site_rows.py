"""The rows about a ward: its policies, limits, words, lists, meals and rounds."""

from __future__ import annotations

from dataclasses import dataclass

from mixlab.words import Sentence

from .records import NOTHING, Sourced


@dataclass(frozen=True, kw_only=True)
class Policy(Sourced):
    """What a ward decides for itself, out of a few choices."""

    value: str
    choices: tuple[str, ...]

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.value not in self.choices:
            raise ValueError(f"{self.value!r} is not one of the choices: {', '.join(map(repr, self.choices))}.")


@dataclass(frozen=True, kw_only=True)
class WardChoice(Policy):
    """A policy of which some choices need a reason of the ward, and why they do."""

    unusual: tuple[str, ...] = ()
    because: Sentence = NOTHING

    def __post_init__(self) -> None:
        super().__post_init__()
        if not {*self.unusual} <= {*self.choices} or bool(self.unusual) != bool(self.because):
            raise ValueError("unusual lists some of the choices, and because says why they need a reason.")


@dataclass(frozen=True, kw_only=True)
class LimitsRow(Sourced):
    """How far a ward may move a number: beyond `lowest` and `highest` never, beyond the usual ones with a reason."""

    lowest: float
    highest: float
    usual_low: float
    usual_high: float
    unit: str
    whole: bool = False

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.lowest <= self.usual_low <= self.usual_high <= self.highest:
            raise ValueError("the limits run upwards: lowest, usual_low, usual_high, highest.")


@dataclass(frozen=True, kw_only=True)
class WordRow(Sourced):
    """A word that a ward may replace by its own."""

    value: str


@dataclass(frozen=True, kw_only=True)
class ListRow(Sourced):
    """A list of keys that a ward may change."""

    value: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ClockTimes(Sourced):
    """Times of day on the 24-hour clock, such as "07:30", each once and in order."""

    at: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class MealRow(Sourced):
    """A meal of the day: when it is usually served, its carbohydrate in g, and what an order may call it."""

    name: str
    also_called: tuple[str, ...]
    at: str
    grams: float
