"""The bench: vials, a syringe, two hands, and what every action really does to them.

Physics only: nothing here knows an order or calls anything wrong. States are frozen and actions are values, so that a run
can be kept, cut short and played again. What cannot be done at all raises `Impossible`; a mistake can be done.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import ClassVar, dataclass_transform

from mixlab.quantities import NotAnAmount
from mixlab.words import Sentence, joined, sentence

from .vessels import HANDS, TIPS, Held, Liquid, Physics, SyringeKind, Vial, place_name

SLACK_ML = 1e-9


class Impossible(ValueError):
    """What cannot be done at a real bench. The reason says why; the bench stays as it was."""

    def __init__(self, reason: Sentence) -> None:
        super().__init__(reason)
        self.reason = reason


@dataclass(frozen=True, kw_only=True)
class Bench:
    """Everything on the bench at one moment.

    Attributes
    ----------
    vials, cupboard : mapping of str to Vial
        By their places; the cupboard holds what may be taken when a vial has been thrown away.
    kinds : mapping of str to SyringeKind
        Syringes that can be taken.
    syringe : Held or None
        The syringe in hand.
    given, outside : Liquid
        What went into the patient, and what was spilled or thrown away.
    outside_air_ml : float
        Air that went into the room, less what came from it, mL.
    clock_s : float
        Seconds since the start.
    """

    physics: Physics
    vials: Mapping[str, Vial] = field(default_factory=dict)
    cupboard: Mapping[str, Vial] = field(default_factory=dict)
    kinds: Mapping[str, SyringeKind] = field(default_factory=dict)
    syringe: Held | None = None
    hands_clean: bool = False
    gloved: bool = False
    given: Liquid = field(default_factory=Liquid)
    outside: Liquid = field(default_factory=Liquid)
    outside_air_ml: float = 0.0
    clock_s: float = 0.0

    def in_hand(self) -> Held:
        """Return the syringe in hand, or say that there is none."""
        if self.syringe is None:
            raise Impossible(sentence("There is no syringe in your hand. Take one first."))
        return self.syringe

    def bare_syringe(self) -> Held:
        """Return the syringe in hand if its needle has no cap."""
        held = self.in_hand()
        if held.capped is not None:
            raise Impossible(sentence("The needle is capped. Take the cap off first."))
        return held

    def in_vial(self) -> tuple[Held, Vial, str]:
        """Return the syringe in hand, the vial its needle is in, and its place."""
        held = self.in_hand()
        if held.vial is None:
            raise Impossible(sentence("The needle is in no vial. Pierce a stopper first."))
        return held, self.vials[held.vial], held.vial

    def vial(self, place: str) -> Vial:
        """Return the vial at a place, or say that there is none."""
        if place not in self.vials:
            refusal = sentence("There is no {place} vial on the bench. Take one, or choose from: {vials}.")
            raise Impossible(refusal.filled(place=place_name(place), vials=joined(map(place_name, self.vials))))
        return self.vials[place]

    def free_vial(self, place: str, refusal: Sentence) -> Vial:
        """Return a vial that no needle is in, or refuse in these words, with the vial's place in them."""
        vial = self.vial(place)
        if self.syringe is not None and self.syringe.vial == place:
            raise Impossible(refusal.filled(vial=place_name(place)))
        return vial

    def with_vial(self, place: str, vial: Vial) -> Bench:
        """Return the bench with another state of one vial."""
        return replace(self, vials={**self.vials, place: vial})


def out_of_vials(held: Held, refusal: Sentence) -> Held:
    """Return a syringe whose needle is in no vial, or refuse in these words, with the vial's place in them."""
    if held.vial is not None:
        raise Impossible(refusal.filled(vial=place_name(held.vial)))
    return held


ACTIONS: dict[str, type[Action]] = {}
"""Every action by its name."""


@dataclass_transform(frozen_default=True)
@dataclass(frozen=True)
class Action:
    """Something a person does at the bench; every subclass is a frozen record by itself, and one of `ACTIONS`.

    Raises
    ------
    NotAnAmount
        When it is made with a number that is negative, not finite or beyond all sense, or with a word it does not know.
    """

    seconds: ClassVar[float] = 5.0
    """How long it takes; an assumption, for the clock of the bench."""

    words: ClassVar[Mapping[str, Mapping[str, Sentence]]] = {}
    """Its own parts that take one of a few words, and what those are called."""

    def __init_subclass__(cls) -> None:
        dataclass(frozen=True)(cls)
        if not cls.__name__.startswith("_"):
            ACTIONS[cls.__name__] = cls

    def __post_init__(self) -> None:
        for part in fields(self):
            value, known = getattr(self, part.name), {**_WORDS, **self.words}.get(part.name)
            if known:
                good, choose = value in [*known], sentence("Choose from: {known}.", known=joined(known))
            elif part.name in ("vial", "kind"):
                good, choose = isinstance(value, str), sentence("Name it in words.")
            else:
                number = isinstance(value, int | float) and not isinstance(value, bool)
                good = number and 0 <= value <= _MOST
                choose = sentence("Write a number of 0 or more that can be meant.")
            if not good:
                refusal = sentence("{value!r} is not a {part} of {action}. {choose}")
                action = type(self).__name__
                raise NotAnAmount(refusal.filled(value=value, part=part.name, action=action, choose=choose))

    def takes_s(self) -> float:
        """Return how many seconds it takes."""
        return self.seconds

    def do(self, bench: Bench) -> Bench:
        """Return the bench afterwards."""
        raise NotImplementedError


_MOST = 1e6
"""More than this of anything no person means at a bench."""

_WORDS: dict[str, Mapping[str, Sentence]] = {"tip": TIPS, "hands": HANDS}
"""The parts of an action that take one of a few words."""


def act(bench: Bench, action: Action) -> Bench:
    """Do one action.

    Raises
    ------
    TypeError
        If `action` is no action.
    Impossible
        If it cannot be done; the message says why.
    """
    if not isinstance(action, Action):
        raise TypeError(f"{action!r} is not an action. Write one such as DrawTo(8).")
    done = action.do(bench)
    seconds = action.takes_s()
    vials = {place: vial.wait(seconds / 60, bench.physics) for place, vial in done.vials.items()}
    return replace(done, vials=vials, clock_s=done.clock_s + seconds)


def why_not(bench: Bench, action: Action) -> Sentence:
    """Return why an action cannot be done now; empty when it can."""
    try:
        action.do(bench)
    except Impossible as refusal:
        return refusal.reason
    return Sentence("")


@dataclass(frozen=True, kw_only=True)
class Trace:
    """A run: the actions, and the bench before the first and after each."""

    actions: tuple[Action, ...]
    states: tuple[Bench, ...]

    def __iter__(self) -> Iterator[tuple[int, Action, Bench, Bench]]:
        """Yield for each action its number from 1, the action, the bench before and the bench after."""
        return ((at + 1, action, self.states[at], self.states[at + 1]) for at, action in enumerate(self.actions))

    def __len__(self) -> int:
        return len(self.actions)

    @property
    def last(self) -> Bench:
        """The bench as it stands now."""
        return self.states[-1]

    def then(self, action: Action) -> Trace:
        """Return the run with one more action.

        Raises
        ------
        Impossible
            As `act`.
        """
        return Trace(actions=(*self.actions, action), states=(*self.states, act(self.last, action)))

    def up_to(self, count: int) -> Trace:
        """Return the first so many actions: undo is one less."""
        count = min(max(count, 0), len(self))
        return Trace(actions=self.actions[:count], states=self.states[: count + 1])


def run(bench: Bench, actions: Iterable[Action] = ()) -> Trace:
    """Do actions one after the other.

    Raises
    ------
    Impossible
        At the first that cannot be done, with its number.

    Examples
    --------
    >>> from mixlab import bench_for, plan_dose, read_order, right_run
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units")
    >>> trace = run(bench_for(order), right_run(plan_dose(order)))
    >>> {insulin: round(units, 1) for insulin, units in trace.last.given.units.items()}
    {'regular': 8.2, 'nph': 19.8}
    """
    actions, states = tuple(actions), [bench]
    for number, action in enumerate(actions, 1):
        try:
            states.append(act(states[-1], action))
        except Impossible as refusal:
            where = sentence("Step {number}, {action}: {reason}")
            raise Impossible(where.filled(number=number, action=action, reason=refusal.reason)) from refusal
    return Trace(actions=actions, states=tuple(states))
