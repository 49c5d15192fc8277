"""A saved attempt: the order, the vials that were not plain good ones, and the actions: one small file, which replays exactly."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any, ClassVar, Literal

from mixlab.care.dosing import CannotPrepare
from mixlab.files.faults import NO_WORDS, Fault, FileError
from mixlab.files.records import STRICT, check
from mixlab.files.saved_json import json_text, read_json
from mixlab.files.text import Sort
from mixlab.files.toml import Written
from mixlab.files.whole import write_whole
from mixlab.quantities import NotAnAmount
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, sentence

from .bench import ACTIONS, Action, Impossible, Trace, run
from .runs import bench_for, vial_of
from .vessels import Vial, VialCondition, place_name

VERSION = 1
"""The version of the file this package writes; it reads no newer one."""


class CannotReplay(ValueError):
    """A file that is no attempt of this package. The reason says what is wrong and what to do."""

    def __init__(self, reason: Sentence) -> None:
        super().__init__(reason)
        self.reason = reason


@dataclass(frozen=True, kw_only=True)
class Attempt:
    """An order in words, the ward's name, the vials on the bench, and what was done, in order."""

    order: str
    site: str
    vials: Mapping[str, Vial]
    actions: tuple[Action, ...]

    def trace(self, site: Site | None = None) -> Trace:
        """Replay it at the bench that the order sets out.

        Raises
        ------
        CannotReplay
            If it was made on another ward, the order cannot be prepared here, or a step cannot be done.
        """
        here = the_site(site).name
        if here != self.site:
            refusal = sentence(
                "The saved attempt was made on {site}, and this is {here}. Open it with the site file of {site}."
            )
            raise CannotReplay(refusal.filled(site=self.site, here=here))
        try:
            return run(bench_for(read_order(self.order), site, **self.vials), self.actions)
        except (OrderError, CannotPrepare, Impossible) as refused:
            refusal = sentence("The saved attempt cannot be played here: {reason}")
            raise CannotReplay(refusal.filled(reason=refused.args[0])) from refused


def save_attempt(file: str | Path, order: str, trace: Trace, site: Site | None = None) -> None:
    """Write an attempt; the old file stays whole until the new one is.

    Raises
    ------
    CannotWrite
        If the file cannot be written.
    """
    looks = [one.name for one in fields(_SavedVial)]
    vials = trace.states[0].vials.items()
    content = {
        "mixlab_attempt": VERSION,
        "order": order,
        "site": the_site(site).name,
        "vials": {place: {look: getattr(vial, look) for look in looks} for place, vial in vials},
        "actions": [{"do": type(action).__name__, **asdict(action)} for action in trace.actions],
    }
    write_whole(Path(file), json_text(content))


def load_attempt(file: str | Path) -> Attempt:
    """Read an attempt back.

    Raises
    ------
    CannotReplay
        If the file is missing, cut short, edited into something else, or written by a newer version; one clear sentence.
    """
    try:
        written = read_json(Path(file), _SORT)
        _refuse_version(written)
        saved = check(_SavedRun, written)
        return Attempt(
            order=saved.order,
            site=saved.site,
            vials={place: vial.vial() for place, vial in saved.vials.items()},
            actions=tuple(_action(written, at, one) for at, one in enumerate(saved.actions)),
        )
    except FileError as wrong:
        raise CannotReplay(_told(wrong.faults[0])) from wrong


_SORT = Sort(name=sentence("saved attempt"), wanted=sentence("a file that the bench has written"))


def _refuse_version(written: Written) -> None:
    version = written.tables.get("mixlab_attempt") if isinstance(written.tables, dict) else None
    if type(version) is not int or version < 1:
        refusal = sentence("{file} is not a saved attempt. Choose a file that the bench has written.")
    elif version > VERSION:
        refusal = sentence("{file} was written by a newer mixlab. Update mixlab, then open it again.")
    else:
        return
    raise CannotReplay(refusal.filled(file=written.file))


@dataclass(frozen=True, kw_only=True)
class _SavedVial:
    """What of a vial may differ from a full good one."""

    __pydantic_config__: ClassVar[dict[str, object]] = STRICT

    insulin: str
    strength: float
    condition: VialCondition | Literal["discoloured"]  # as it was spelled before site files had a language
    past_date: bool
    sediment_at_stopper: bool
    settled: float
    opened_days: int = 1
    expires_in_days: int = 200

    def __post_init__(self) -> None:
        known = self.insulin in insulins()
        days = 0 <= self.opened_days < 10_000 and abs(self.expires_in_days) < 10_000
        if not known or not days or not 0 < self.strength < 1000 or not 0 <= self.settled <= 1:
            raise ValueError  # `_told` says which vial it is

    def vial(self) -> Vial:
        """Return the full vial that it means."""
        looks = asdict(self) | ({"condition": "discolored"} if self.condition == "discoloured" else {})
        return vial_of(insulins()[looks.pop("insulin")], **looks)


@dataclass(frozen=True, kw_only=True)
class _SavedRun:
    """A whole file."""

    order: str
    site: str
    vials: Mapping[Literal["clear", "cloudy", "other"], _SavedVial]
    actions: tuple[Mapping[str, Any], ...]


def _action(written: Written, at: int, one: Mapping[str, Any]) -> Action:
    try:
        return ACTIONS[one["do"]](**{key: value for key, value in one.items() if key != "do"})
    except (KeyError, TypeError, NotAnAmount) as refusal:
        raise FileError([Fault(file=written.file, at=("actions", at), wrong=NO_WORDS)]) from refusal


def _told(fault: Fault) -> Sentence:
    """Say what is wrong with a file that the bench wrote and somebody changed."""
    match fault.at:
        case ("vials", str(place), *_):
            changed = sentence("{file} has been changed: its {vial} vial is not one of the bench. Use another copy.")
            return changed.filled(file=fault.file, vial=place_name(place))
        case ("actions", int(at), *_):
            changed = sentence("{file} has been changed: action {number} is not one of the bench. Use another copy.")
            return changed.filled(file=fault.file, number=at + 1)
        case (part, *_):
            changed = sentence("{file} has been changed: its {missing} cannot be read. Use another copy.")
            return changed.filled(file=fault.file, missing=part)
        case _:
            return sentence("{fault}", fault=fault)
