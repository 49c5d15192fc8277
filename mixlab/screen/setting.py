"""A control set, or a button pressed, by the words on the screen; what is not there is refused with what is."""

from __future__ import annotations

import numbers
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import Any, TypeAlias

import ipywidgets as widgets

from mixlab.words import Sentence, sentence

Control: TypeAlias = widgets.Widget | dict[str, widgets.Checkbox]
"""A control with a value, or check boxes by their keys."""

_MOST_LISTED = 20


class NotOnPanel(ValueError):
    """What a panel was asked for is not on it, in a sentence that says what is."""

    def _render_traceback_(self) -> list[str]:
        """Show a notebook's reader the sentence and not the way through the code."""
        return [str(self)]


def find_control(controls: Mapping[str, Control], name: str) -> Control:
    """Return the control of a name.

    Raises
    ------
    NotOnPanel
        If the panel has none of that name.
    """
    if name in controls:
        return controls[name]
    raise NotOnPanel(
        _with_nearest(
            sentence("This panel does not have the control “{name}”.", name=name), name, dict.fromkeys(controls)
        )
    )


def find_place(name: str, control: Control, value: Any) -> Any:
    """Return a value as the control takes it.

    Raises
    ------
    NotOnPanel
        If the control has no such place.
    """
    if isinstance(control, dict):
        return _find_boxes(name, control, [value] if isinstance(value, str) else value)
    if hasattr(control, "options"):
        return _find_option(name, control, value)
    if isinstance(control, widgets.Checkbox | widgets.ToggleButton):
        if isinstance(value, bool):
            return value
        raise NotOnPanel(sentence("Set “{name}” to True or to False.", name=name))
    is_number = isinstance(value, numbers.Real) and not isinstance(value, bool)
    if isinstance(control, widgets.Text | widgets.Textarea):
        if is_number:
            return f"{float(value):g}"
        if isinstance(value, str):
            return value
        raise NotOnPanel(sentence("Set “{name}” to a text in quotation marks.", name=name))
    if not is_number:
        raise NotOnPanel(sentence("Set “{name}” to a number.", name=name))
    low, high = getattr(control, "min", value), getattr(control, "max", value)
    if not low <= value <= high and hasattr(control, "min"):
        raise NotOnPanel(sentence("“{name}” goes from {low} to {high}.", name=name, low=low, high=high))
    return value


def set_control(control: Control, place: Any) -> None:
    """Move a control to a place that `find_place` gave."""
    if not isinstance(control, dict):
        control.value = place
        return
    for key, box in control.items():
        box.value = key in place


def find_button(
    buttons: Mapping[str, widgets.Button | widgets.ToggleButton], words: str
) -> widgets.Button | widgets.ToggleButton:
    """Return the button of a key, or that with these words on it.

    Raises
    ------
    NotOnPanel
        If the panel has no such button.
    """
    if words in buttons:
        return buttons[words]
    said = {button.description: button for button in buttons.values()}
    for text, button in said.items():
        if text.casefold() == str(words).casefold():
            return button
    unknown = sentence("This panel does not have the button “{name}”.", name=words)
    raise NotOnPanel(_with_nearest(unknown, str(words), dict.fromkeys(said)))


def why_grayed(button: widgets.Button | widgets.ToggleButton) -> None:
    """Refuse a button that cannot be pressed now.

    Raises
    ------
    NotOnPanel
        With the reason that the button gives when one points at it.
    """
    if button.disabled:
        why = sentence("The button “{name}” cannot be pressed now.", name=button.description)
        raise NotOnPanel(sentence("{refusal} {why}", refusal=why, why=button.tooltip) if button.tooltip else why)


def _find_boxes(name: str, boxes: Mapping[str, widgets.Checkbox], wanted: Any) -> set[str]:
    if not isinstance(wanted, Iterable):
        raise NotOnPanel(sentence("Set “{name}” to a list of words.", name=name))
    said = {box.description.casefold(): key for key, box in boxes.items()}
    found = set()
    for one in wanted:
        key = one if one in boxes else said.get(str(one).casefold())
        if key is None:
            unknown = sentence("“{name}” does not have the box “{value}”.", name=name, value=one)
            raise NotOnPanel(_with_nearest(unknown, str(one), {box.description: None for box in boxes.values()}))
        found.add(key)
    return found


def _find_option(name: str, control: Any, value: Any) -> Any:
    """Find a choice by its key, then by its words: 1 is not True, and 8 is 8.0."""
    options = list(zip(control._options_labels, control._options_values, strict=True))
    for _, key in options:
        if key == value and isinstance(key, bool) == isinstance(value, bool):
            return key
    for label, key in options:
        if isinstance(value, str) and label.casefold() == value.casefold():
            return key
    unknown = sentence("“{name}” does not have the choice “{value}”.", name=name, value=value)
    raise NotOnPanel(_with_nearest(unknown, str(value), dict.fromkeys(label for label, _ in options)))


def _with_nearest(unknown: Sentence, asked: str, known: Mapping[str, None]) -> Sentence:
    """Add to a refusal the nearest name, and all names if they are few enough to be read."""
    near = get_close_matches(asked, known, n=1)
    said = unknown
    if near:
        said = sentence("{refusal} The nearest is “{name}”.", refusal=said, name=near[0])
    if len(known) <= _MOST_LISTED:
        return sentence("{refusal} Choose one of: {names}.", refusal=said, names="; ".join(known))
    if not near:
        first, *_, last = known
        return sentence("{refusal} Choose one from “{first}” to “{last}”.", refusal=said, first=first, last=last)
    return said
