"""A saved attempt: the order, the vials that were not plain good ones, and the actions: one small file, which replays exactly."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from mixlab.care.dosing import CannotPrepare
from mixlab.quantities import NotAnAmount
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.at_site import at_its_site
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, sentence

from .actions import ACTIONS
from .bench import Action, Impossible, Trace, run
from .runs import bench_for, vial_of
from .vessels import CONDITIONS, PLACES, Vial, place_name

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

    @at_its_site
    def trace(self, site: Site | None = None) -> Trace:
        """Replay it at the bench that the order sets out.

        Raises
        ------
        CannotReplay
            If it was made on another ward, the order cannot be prepared here, or a step cannot be done.
        """
        here = the_site(site).name
        if here != self.site:
            raise CannotReplay(
                sentence(
                    "The saved attempt was made on {site}, and this is {here}. Open it with the site file of {site}.",
                    site=self.site,
                    here=here,
                )
            )
        try:
            return run(bench_for(read_order(self.order), site, **self.vials), self.actions)
        except (OrderError, CannotPrepare, Impossible) as refusal:
            raise CannotReplay(
                sentence("The saved attempt cannot be played here: {reason}", reason=refusal.args[0])
            ) from refusal


@at_its_site
def save_attempt(file: str | Path, order: str, trace: Trace, site: Site | None = None) -> None:
    """Write an attempt; the old file stays whole until the new one is.

    Raises
    ------
    OSError
        If the folder cannot be written to.
    """
    file = Path(file)
    actions = [{"do": type(action).__name__, **asdict(action)} for action in trace.actions]
    vials = {
        place: {"insulin": vial.insulin, **{look: getattr(vial, look) for look in _LOOKS}}
        for place, vial in trace.states[0].vials.items()
    }
    content = {
        "mixlab_attempt": VERSION,
        "order": order,
        "site": the_site(site).name,
        "vials": vials,
        "actions": actions,
    }
    part = file.with_name(f"{file.name}.part")
    part.write_text(json.dumps(content, indent=1, ensure_ascii=False), encoding="utf-8")
    os.replace(part, file)


def load_attempt(file: str | Path) -> Attempt:
    """Read an attempt back.

    Raises
    ------
    CannotReplay
        If the file is missing, cut short, edited into something else, or written by a newer version; one clear sentence.
    """
    file = Path(file)
    try:
        content = json.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise CannotReplay(
            sentence(
                "There is no file {file} in {folder}. Check its name.",
                file=file.name,
                folder=str(file.parent.absolute()),
            )
        ) from None
    except OSError as error:
        raise CannotReplay(
            sentence("{file} cannot be read: {reason}.", file=file.name, reason=error.strerror)
        ) from None
    except (ValueError, RecursionError):
        raise CannotReplay(
            sentence("{file} is cut short or not an attempt. Use another copy, or begin again.", file=file.name)
        ) from None
    version = content.get("mixlab_attempt") if isinstance(content, dict) else None
    if type(version) is not int or version < 1:
        raise CannotReplay(
            sentence("{file} is not a saved attempt. Choose a file that the bench has written.", file=file.name)
        )
    if version > VERSION:
        raise CannotReplay(
            sentence("{file} was written by a newer mixlab. Update mixlab, then open it again.", file=file.name)
        )
    parts = {"order": str, "site": str, "vials": dict, "actions": list}
    missing = [name for name, kind in parts.items() if not isinstance(content.get(name), kind)]
    if missing:
        raise CannotReplay(
            sentence(
                "{file} has been changed: its {missing} cannot be read. Use another copy.",
                file=file.name,
                missing=missing[0],
            )
        )
    return Attempt(
        order=content["order"],
        site=content["site"],
        vials={place: _vial(file.name, place, _as_spelled_now(one)) for place, one in content["vials"].items()},
        actions=tuple(_action(file.name, at, one) for at, one in enumerate(content["actions"], 1)),
    )


_LOOKS: dict[str, type | tuple[type, ...]] = {
    "strength": (int, float),
    "condition": str,
    "past_date": bool,
    "sediment_at_stopper": bool,
    "settled": (int, float),
}
"""What of a vial, beside its insulin, may differ from a full good one, and its type."""


def _vial(name: str, place: str, written: object) -> Vial:
    if (
        not isinstance(written, dict)
        or written.keys() != {"insulin", *_LOOKS}
        or written["insulin"] not in list(insulins())
        or place not in PLACES
        or not all(isinstance(written[look], kind) for look, kind in _LOOKS.items())
        or written["condition"] not in CONDITIONS
        or not 0 < written["strength"] < 1000
        or not 0 <= written["settled"] <= 1
    ):
        raise CannotReplay(
            sentence(
                "{file} has been changed: its {vial} vial is not one of the bench. Use another copy.",
                file=name,
                vial=place_name(place),
            )
        )
    return vial_of(insulins()[written["insulin"]], **{look: written[look] for look in _LOOKS})


def _as_spelled_now(written: object) -> object:
    """Return a vial with the spelling of its condition that is used since site files have a language."""
    if isinstance(written, dict) and written.get("condition") == "discoloured":
        return {**written, "condition": "discolored"}
    return written


def _action(name: str, number: int, written: object) -> Action:
    fault = sentence(
        "{file} has been changed: action {number} is not one of the bench. Use another copy.", file=name, number=number
    )
    if not isinstance(written, dict) or written.get("do") not in list(ACTIONS):
        raise CannotReplay(fault)
    try:
        return ACTIONS[written["do"]](**{key: value for key, value in written.items() if key != "do"})
    except (TypeError, NotAnAmount) as refusal:
        raise CannotReplay(fault) from refusal
