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

Pressable: TypeAlias = widgets.Button | widgets.ToggleButton

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
    unknown = sentence("This panel does not have the control “{name}”.", name=name)
    raise NotOnPanel(_with_nearest(unknown, name, controls))


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
        unknown = sentence("“{name}” does not have the choice “{value}”.", name=name, value=value)
        return _key_of(value, zip(control._options_labels, control._options_values, strict=True), unknown)
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


def find_button(buttons: Mapping[str, Pressable], words: str) -> Pressable:
    """Return the button of a key, or that with these words on it.

    Raises
    ------
    NotOnPanel
        If the panel has no such button.
    """
    unknown = sentence("This panel does not have the button “{name}”.", name=words)
    return buttons[_key_of(words, [(button.description, key) for key, button in buttons.items()], unknown)]


def why_grayed(button: Pressable) -> None:
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
    said = [(box.description, key) for key, box in boxes.items()]
    return {
        _key_of(one, said, sentence("“{name}” does not have the box “{value}”.", name=name, value=one))
        for one in wanted
    }


def _key_of(asked: Any, said: Iterable[tuple[str, Any]], unknown: Sentence) -> Any:
    """Find what is asked for by its key, then by its words on the screen: 1 is not True, and 8 is 8.0."""
    known = tuple(said)
    for _, key in known:
        if key == asked and isinstance(key, bool) == isinstance(asked, bool):
            return key
    for words, key in known:
        if words.casefold() == str(asked).casefold() and isinstance(asked, str):
            return key
    raise NotOnPanel(_with_nearest(unknown, str(asked), dict(known)))


def _with_nearest(unknown: Sentence, asked: str, known: Mapping[str, Any]) -> Sentence:
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
