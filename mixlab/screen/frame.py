"""The frame of a panel: what its controls are called, whose keys are whose, what moves and what is said aloud.

Widgets reach the page with handles that have no name, radio buttons that belong to no group, and keys that the notebook
takes for itself: an arrow would leave the panel, and ``d`` pressed twice would delete the cell. Every panel holds one
`PanelFrame`, which draws nothing and cures all of that (`frame.js` does the work). It also carries a step of the whole
panel to the page in one message: each message costs the lab a millisecond or two, and a held key sends thirty a second.
"""

import asyncio
import math
import re
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from time import monotonic
from typing import Any

import anywidget
import ipywidgets as widgets
import traitlets
from IPython import get_ipython
from matplotlib.artist import Artist

from mixlab.words import say

from .drawing import DRAWING
from .picture import LivePicture

_LONE = 0.05  # s from a panel's last drawing on, after which a move is no part of a held key or a drag
_CONTROL = re.compile(r"[A-Za-z][\w-]*")


class _Passenger(widgets.Widget):
    """A widget whose changes a frame may carry in its own message."""

    _frame: "PanelFrame | None" = None

    def send_state(self, key: str | Iterable[str] | None = None) -> None:
        """Tell pages what changed: now, or with the frame's next message while it carries this widget."""
        if self._frame is None:
            super().send_state(key)
        else:
            self._frame.take(self, key)


class CarriedText(_Passenger, widgets.Text):
    """A text field that `PanelFrame.carrying` can carry."""


class CarriedNumber(_Passenger, widgets.FloatText):
    """A number field that `PanelFrame.carrying` can carry."""


class CarriedSlider(_Passenger, widgets.IntSlider):
    """A slider that `PanelFrame.carrying` can carry."""


class CarriedHTML(_Passenger, widgets.HTML):
    """Words that `PanelFrame.carrying` can carry."""


class PanelFrame(anywidget.AnyWidget):
    """Names the controls of the panel it stands in, and keeps their plain keys from the notebook.

    Parameters
    ----------
    names : mapping of str to str
        For each control the class it was given (`widget.add_class`) and its name for assistive technology. A slider's
        name goes to its handle, that of radio buttons, check boxes or several buttons to the group they form, any other
        to the field itself. Controls that appear later are named when they appear.
    readings : mapping of str to str or list of str, optional
        For a slider's class, how its value is read out: ``"{} units"`` is read as "8 units". A slider over a list of
        options has one reading for each.

    Raises
    ------
    ValueError
        When a control's class is not a plain name, or a name or reading is blank.

    Notes
    -----
    Keys pressed with Ctrl, Alt or Command, Shift+Enter, Tab and Escape still reach the notebook.
    """

    # As texts, not as paths: anywidget watches a path, and keeps whatever was made with it alive for ever.
    _esm = Path(__file__).with_name("frame.js").read_text(encoding="utf-8")
    _css = Path(__file__).with_name("panels.css").read_text(encoding="utf-8")

    names = traitlets.Dict(key_trait=traitlets.Unicode(), value_trait=traitlets.Unicode()).tag(sync=True)
    readings = traitlets.Dict(
        key_trait=traitlets.Unicode(),
        value_trait=traitlets.Union([traitlets.Unicode(), traitlets.List(traitlets.Unicode())]),
    ).tag(sync=True)

    # How the parts of one control are called after it: ``"{}"`` stands for the control's name.
    parts = traitlets.Dict(key_trait=traitlets.Unicode(), value_trait=traitlets.Unicode()).tag(sync=True)

    def __init__(self, names: Mapping[str, str], readings: Mapping[str, str | list[str]] | None = None) -> None:
        self._asked = -math.inf  # when this panel was moved last, and drawn
        self._carried: dict[str, LivePicture] = {}
        self._passengers: dict[str, _Passenger] = {}
        self._luggage: dict[_Passenger, dict[str, None]] = {}  # what carried controls changed, in that order
        self._waiting: deque[Callable[[], None]] = deque(maxlen=1)  # pages and cells may ask from threads of their own
        parts = {
            "typed": say("{control}, typed", control="{}"),
            "from": say("{control}, from", control="{}"),
            "to": say("{control}, to", control="{}"),
        }
        super().__init__(names=dict(names), readings=dict(readings or {}), parts=parts)
        self.on_msg(self._catch_up)

    def soon(self, work: Callable[[], None]) -> None:
        """Do some work once a page's message is answered; at once after a pause, and if there is no message, as in a cell.

        A page keeps the next place of a slider to itself until the last one is answered. Drawing put off until then goes
        on while the next place travels, so that pictures follow a held key. Of works put off together the latest is done.
        A lone move is drawn before it is answered, so that its picture comes sooner.

        Parameters
        ----------
        work : callable
            Shows what is so by then.
        """
        self._waiting.append(work)
        loop, before = _answering(), self._asked
        self._asked = monotonic()
        if loop is None or self._asked - before > _LONE:
            self._work()
        else:
            loop.call_soon(self._work)

    def _work(self) -> None:
        try:
            work = self._waiting.pop()
        except IndexError:  # done already
            return
        try:
            with DRAWING:
                work()
        finally:
            self._asked = monotonic()

    def show(self, changes: Mapping[LivePicture, tuple[Iterable[Artist], str]], aloud: str = "") -> None:
        """Move several pictures and say something, all in one message.

        Parameters
        ----------
        changes : mapping of LivePicture to (what, alt)
            For each picture the artists that were touched, and the picture in words, as for `LivePicture.change`.
        aloud : str
            What is said aloud. Words in quick succession are held back until the latest have stood for 0.7 s.

        Raises
        ------
        ValueError
            When an `alt` is blank.
        """
        self._carried |= {picture.model_id: picture for picture in changes}
        news = {picture.model_id: picture.change(artists, alt) for picture, (artists, alt) in changes.items()}
        self.send(
            {"news": {name: one for name, one in news.items() if one}, "controls": self._unpack(), "aloud": aloud}
        )

    @contextmanager
    def carrying(self, controls: Sequence[_Passenger]) -> Iterator[None]:
        """Let what these controls change meanwhile travel with `show`, or at the end if there is no `show`."""
        self._passengers |= {control.model_id: control for control in controls}
        for control in controls:
            control._frame = self
        try:
            yield
        finally:
            for control in controls:
                control._frame = None
            if self._luggage:
                self.send({"controls": self._unpack()})

    def take(self, control: _Passenger, key: str | Iterable[str] | None) -> None:
        """Note what a control changed for the next message."""
        self._luggage.setdefault(control, {}).update(dict.fromkeys(control.get_state(key)))

    def _unpack(self) -> dict[str, Any]:
        """Give what carried controls changed, as it is now, by their id."""
        luggage, self._luggage = self._luggage, {}
        return {control.model_id: control.get_state(list(keys)) for control, keys in luggage.items()}

    def _catch_up(self, _: object, content: dict[str, Any], __: object) -> None:
        """Send every carried picture and control whole when a page's frame has only now begun to listen."""
        for picture in self._carried.values():
            picture.send({"now": picture.now})
        for control in self._passengers.values():
            control.send_state()

    @traitlets.validate("names", "readings")
    def _check(self, proposal: traitlets.Bunch) -> dict[str, Any]:
        words: dict[str, Any] = proposal["value"]
        for control, text in words.items():
            if not _CONTROL.fullmatch(control):
                raise ValueError(f"{control!r} is not a plain class name of letters, digits and dashes.")
            if not all(one.strip() for one in ([text] if isinstance(text, str) else text)):
                raise ValueError(f"The words for the control {control!r} are blank.")
        return words


def _answering() -> asyncio.AbstractEventLoop | None:
    """Give the loop that will answer a page's message, if it is such a message that the kernel is at."""
    kernel = getattr(get_ipython(), "kernel", None)
    if kernel is None or kernel.get_parent().get("header", {}).get("msg_type") != "comm_msg":
        return None
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None
