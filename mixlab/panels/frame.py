"""The frame of a panel: what its controls are called, whose keys are whose, what moves and what is said aloud.

Widgets reach the page with handles that have no name, radio buttons that belong to no group, and keys that the notebook
takes for itself: an arrow would leave the panel, and ``d`` pressed twice would delete the cell. Every panel holds one
`PanelFrame`, which draws nothing and cures all of that (`frame.js` does the work). It also carries a step of the whole
panel to the page in one message: each message costs the lab a millisecond or two, and a held key sends thirty a second.
"""

import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import anywidget
import traitlets
from matplotlib.artist import Artist

from .picture import LivePicture

_CONTROL = re.compile(r"[A-Za-z][\w-]*")


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

    _esm = Path(__file__).with_name("frame.js")
    _css = Path(__file__).with_name("frame.css")

    names = traitlets.Dict(key_trait=traitlets.Unicode(), value_trait=traitlets.Unicode()).tag(sync=True)
    readings = traitlets.Dict(
        key_trait=traitlets.Unicode(),
        value_trait=traitlets.Union([traitlets.Unicode(), traitlets.List(traitlets.Unicode())]),
    ).tag(sync=True)

    def __init__(self, names: Mapping[str, str], readings: Mapping[str, str | list[str]] | None = None) -> None:
        self._carried: dict[str, LivePicture] = {}
        super().__init__(names=dict(names), readings=dict(readings or {}))
        self.on_msg(self._catch_up)

    def show(self, changes: Mapping[LivePicture, tuple[Iterable[Artist], str]], aloud: str = "") -> None:
        """Move several pictures and say something, all in one message.

        Parameters
        ----------
        changes : mapping of LivePicture to (artists, alt)
            For each picture what `LivePicture.change` wants.
        aloud : str
            What is said aloud. Words in quick succession are held back until the latest have stood for 0.7 s.

        Raises
        ------
        ValueError
            When an `alt` is blank.
        """
        self._carried |= {picture.model_id: picture for picture in changes}
        news = {picture.model_id: picture.change(artists, alt) for picture, (artists, alt) in changes.items()}
        self.send({"news": {name: one for name, one in news.items() if one}, "aloud": aloud})

    def _catch_up(self, _: object, content: dict[str, Any], __: object) -> None:
        """Send every carried picture whole when a page's frame has only now begun to listen; others get it once more."""
        for picture in self._carried.values():
            picture.send({"now": picture.now})

    @traitlets.validate("names", "readings")
    def _check(self, proposal: traitlets.Bunch) -> dict[str, Any]:
        words: dict[str, Any] = proposal["value"]
        for control, text in words.items():
            if not _CONTROL.fullmatch(control):
                raise ValueError(f"{control!r} is not a plain class name of letters, digits and dashes.")
            if not all(one.strip() for one in ([text] if isinstance(text, str) else text)):
                raise ValueError(f"The words for the control {control!r} are blank.")
        return words
