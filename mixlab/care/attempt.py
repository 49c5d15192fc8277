"""A saved attempt: the order and the actions in one small file, which replays exactly."""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path

from ..quantities import NotAnAmount
from ..ward.order import OrderError, read_order
from ..ward.site import Site, teaching_site
from .actions import ACTIONS
from .bench import Action, Impossible, Trace, run
from .dosing import CannotPrepare
from .runs import bench_for

VERSION = 1
"""The version of the file this package writes; it reads no newer one."""


class CannotReplay(ValueError):
    """A file that is no attempt of this package. The message says what is wrong and what to do."""


@dataclass(frozen=True, kw_only=True)
class Attempt:
    """An order in words, the ward's name, and what was done, in order."""

    order: str
    site: str
    actions: tuple[Action, ...]

    def trace(self, site: Site | None = None) -> Trace:
        """Replay it at the bench that the order sets out.

        Raises
        ------
        CannotReplay
            If the order cannot be prepared here, or a step cannot be done.
        """
        try:
            return run(bench_for(read_order(self.order), site), self.actions)
        except (OrderError, CannotPrepare, Impossible) as reason:
            raise CannotReplay(f"The saved attempt cannot be played here: {reason}") from reason


def save_attempt(file: str | Path, order: str, trace: Trace, site: Site | None = None) -> None:
    """Write an attempt; the old file stays whole until the new one is.

    Raises
    ------
    OSError
        If the folder cannot be written to.
    """
    file = Path(file)
    actions = [{"do": type(action).__name__, **asdict(action)} for action in trace.actions]
    content = {"mixlab_attempt": VERSION, "order": order, "site": (site or teaching_site()).name, "actions": actions}
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
        raise CannotReplay(f"There is no file {file.name} in {file.parent.absolute()}. Check its name.") from None
    except OSError as error:
        raise CannotReplay(f"{file.name} cannot be read: {error.strerror}.") from None
    except ValueError:
        raise CannotReplay(f"{file.name} is cut short or not an attempt. Use another copy, or begin again.") from None
    if not isinstance(content, dict) or not isinstance(content.get("mixlab_attempt"), int):
        raise CannotReplay(f"{file.name} is not a saved attempt. Choose a file that the bench has written.")
    if content["mixlab_attempt"] > VERSION:
        raise CannotReplay(f"{file.name} was written by a newer mixlab. Update mixlab, then open it again.")
    order, site, actions = content.get("order"), content.get("site"), content.get("actions")
    if not isinstance(order, str) or not isinstance(site, str) or not isinstance(actions, list):
        raise CannotReplay(f"{file.name} has been changed: its order, site or actions are missing. Use another copy.")
    return Attempt(
        order=order, site=site, actions=tuple(_action(file.name, at, one) for at, one in enumerate(actions, 1))
    )


def _action(name: str, number: int, written: object) -> Action:
    fault = f"{name} has been changed: action {number} is not one of the bench. Use another copy."
    if not isinstance(written, dict) or written.get("do") not in ACTIONS:
        raise CannotReplay(fault)
    try:
        return ACTIONS[written["do"]](**{key: value for key, value in written.items() if key != "do"})
    except (TypeError, NotAnAmount) as reason:
        raise CannotReplay(fault) from reason
