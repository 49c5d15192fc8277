"""The frame of a panel: what its controls are called, whose keys are whose, and what is said aloud.

Widgets reach the page with handles that have no name, radio buttons that belong to no group, and keys that the notebook
takes for itself: an arrow would leave the panel, and ``d`` pressed twice would delete the cell. Every panel holds one
`PanelFrame`, which draws nothing and cures all of that (`frame.js` does the work).
"""

import re
from collections.abc import Mapping
from pathlib import Path

import anywidget
import traitlets

_CONTROL = re.compile(r"[A-Za-z][\w-]*")


class PanelFrame(anywidget.AnyWidget):
    """Names the controls of the panel it stands in, and keeps their plain keys from the notebook.

    Parameters
    ----------
    names : mapping of str to str
        For each control the class it was given (`widget.add_class`) and its name for assistive technology. A slider's
        name goes to its handle, that of radio buttons, check boxes or several buttons to the group they form, any other
        to the field itself. Controls that appear later are named when they appear.
    readings : mapping of str to str, optional
        For a slider's class, how its value is read out: ``"{} units"`` is read as "8 units".

    Attributes
    ----------
    announce : str
        What is said aloud next. Changes in quick succession are held back until the latest has stood for 0.7 s.

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
    readings = traitlets.Dict(key_trait=traitlets.Unicode(), value_trait=traitlets.Unicode()).tag(sync=True)
    announce = traitlets.Unicode("").tag(sync=True)

    def __init__(self, names: Mapping[str, str], readings: Mapping[str, str] | None = None) -> None:
        super().__init__(names=dict(names), readings=dict(readings or {}))

    @traitlets.validate("names", "readings")
    def _check(self, proposal: traitlets.Bunch) -> dict[str, str]:
        words: dict[str, str] = proposal["value"]
        for control, text in words.items():
            if not _CONTROL.fullmatch(control):
                raise ValueError(f"{control!r} is not a plain class name of letters, digits and dashes.")
            if not text.strip():
                raise ValueError(f"The words for the control {control!r} are blank.")
        return words
