"""The base of every panel: it speaks in one voice, holds one state, and does from Python what a hand does on the screen."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from html import escape
from typing import Any, Self

import ipywidgets as widgets

from mixlab.words import Sentence, Voice, say, sentence, speaking

from .frame import PanelFrame
from .picture import LivePicture
from .setting import Control, Pressable, find_button, find_control, find_place, set_control, why_grayed

_PUT_BACK = (
    "children", "options", "min", "max", "value", "disabled", "description", "tooltip", "readings", "stale", "display", "flex_flow",
)  # fmt: skip
"""What a panel changes of its parts once it stands, in the order in which it is put back: a slider's ends before its place."""


NOT_SHOWN = sentence("<b>Not shown:</b> {text}")
NOT_DONE = sentence("<b>Not done:</b> {text}")


class Panel(widgets.VBox):
    """A panel: a frozen state, controls whose handlers replace it, and pictures that are drawn from it.

    Parameters
    ----------
    voice : Voice
        In whose words the panel is made, answers and is drawn, whoever moves its controls.
    kind : str
        The panel's class on the page, by which the style sheet knows it.

    Attributes
    ----------
    state : object
        What the controls say: a frozen record.
    message : str
        Why something cannot be shown or done; empty when all is well.
    controls : dict of str to ipywidgets control, or to a dict of check boxes
        What `set` moves, by its plain name.
    pressable : dict of str to ipywidgets button
        What `press` presses, by its key.
    is_trying : bool
        Whether all that is done now will be put back: then nothing may be saved.

    Notes
    -----
    A panel defines `build`, which makes its controls and returns what stands on it, and `redraw`. `begin` may do more
    once it stands. All three, and every handler given to `when` or `soon`, speak in the panel's voice.
    """

    _frame: PanelFrame  # made by `build`
    _refusal: Sentence = NOT_SHOWN  # how the notice says why

    def __init__(self, voice: Voice, kind: str) -> None:
        self._voice = voice
        self._settling = False
        self.is_trying = False
        self.message = ""
        self._notice = widgets.HTML()  # stands where `build` puts it
        self.controls: dict[str, Control] = {}
        self.pressable: dict[str, Pressable] = {}
        with speaking(voice):
            super().__init__(self.build())
            self.add_class(kind)
            self._pictures = tuple(part for part in self._parts() if isinstance(part, LivePicture))
            self.begin()

    def build(self) -> list[widgets.Widget]:
        """Make controls and pictures, and return what stands on the panel from top to bottom."""
        raise NotImplementedError

    def begin(self) -> None:
        """Do what can only be done once the panel stands."""

    def redraw(self) -> None:
        """Let the pictures show what the panel now remembers; the controls say it already."""
        raise NotImplementedError

    def memory(self) -> list[tuple[object, str]]:
        """Return what the panel remembers beside what its parts show, each as an object and the name of its attribute."""
        return [(self, "state"), (self, "message")]

    def when(self, control: widgets.Widget, handler: Callable[..., None]) -> None:
        """Let a handler follow a control, in the panel's words.

        Parameters
        ----------
        control : ipywidgets.Widget
            A button, or a control with a value.
        handler : callable
            Called when the button is pressed; or with the control's new value, unless the panel sets it by itself.
        """

        def follow(change: Any) -> None:
            if not self._settling:
                with speaking(self._voice):
                    handler(change.new)

        def press(_: Any) -> None:
            with speaking(self._voice):
                handler()

        if isinstance(control, widgets.Button):
            control.on_click(press)
        else:
            control.observe(follow, "value")

    def soon(self, work: Callable[[], None]) -> None:
        """Draw in the panel's words, as soon as `PanelFrame.soon` lets it."""

        def speak() -> None:
            with speaking(self._voice):
                work()

        self._frame.soon(speak)

    @contextmanager
    def speaking(self) -> Iterator[None]:
        """Say everything in the panel's words meanwhile: for what is asked of a panel from outside."""
        with speaking(self._voice):
            yield

    @contextmanager
    def settling(self) -> Iterator[None]:
        """Set controls meanwhile without calling their handlers."""
        before, self._settling = self._settling, True
        try:
            yield
        finally:
            self._settling = before

    def button(self, key: str, words: str, handler: Callable[[], None]) -> widgets.Button:
        """Return a new button.

        Parameters
        ----------
        key : str
            Its name for `press`.
        words : str
            What stands on it.
        handler : callable
            What it does.
        """
        made = widgets.Button(description=words, layout={"width": "auto"})
        self.when(made, handler)
        self.pressable[key] = made
        return made

    def refuse(self, why: object) -> None:
        """Say why the controls cannot be shown; the last good pictures stay, marked as stale."""
        self._object(why)
        for picture in self._pictures:
            picture.stale = True

    def _object(self, why: object) -> None:
        """Say why something is not shown or done."""
        self.message = str(why)
        words = say(self._refusal, text=escape(self.message))
        self._notice.value = f'<div class="mixlab-refusal" role="alert">{words}</div>'

    def accept(self) -> None:
        """Take back what was refused."""
        self.message = self._notice.value = ""
        for picture in self._pictures:
            picture.stale = False

    def set(self, **values: Any) -> None:
        """Set controls by their names, one after the other, as a hand would.

        Parameters
        ----------
        **values
            A number, a text, True or False; of choices the words on the screen, or the key; of several boxes a list of
            those that are ticked.

        Raises
        ------
        NotOnPanel
            If the panel has no such control, or the control no such place. Nothing is moved then.
        """
        with speaking(self._voice):
            found = {name: find_control(self.controls, name) for name in values}
            places = {name: find_place(name, found[name], value) for name, value in values.items()}
            for name, place in places.items():
                set_control(found[name], place)

    def press(self, words: str) -> None:
        """Press a button.

        Parameters
        ----------
        words : str
            What stands on it, or its key.

        Raises
        ------
        NotOnPanel
            If the panel has no such button, or it is greyed; the sentence says why.
        """
        with speaking(self._voice):
            standing = set(self._parts())
            button = find_button({key: one for key, one in self.pressable.items() if one in standing}, words)
            why_grayed(button)
        if isinstance(button, widgets.ToggleButton):
            button.value = not button.value
        else:
            button.click()

    @contextmanager
    def trying(self, **values: Any) -> Iterator[Self]:
        """Try something, and put back every control, the state and the pictures as they stood.

        Parameters
        ----------
        **values
            What to set first, as `set` takes it.
        """
        before, trying_before = self._stand(), self.is_trying
        self.is_trying = True
        try:
            self.set(**values)
            yield self
        finally:
            self._put_back(before)
            self.is_trying = trying_before

    def _parts(self) -> Iterator[widgets.Widget]:
        """Yield everything that stands on the panel."""
        waiting = list(self.children)[::-1]
        while waiting:
            part = waiting.pop()
            yield part
            waiting.extend(getattr(part, "children", ())[::-1])

    def _stand(self) -> list[tuple[Any, str, Any]]:
        """Return all that `trying` puts back: an object, the name of its attribute, and the value."""
        places = [
            (one, name)
            for part in self._parts()
            for one in (part, part.layout)
            for name in _PUT_BACK
            if one.has_trait(name)
        ]
        return [(owner, name, getattr(owner, name)) for owner, name in [*self.memory(), *places]]

    def _put_back(self, before: list[tuple[Any, str, Any]]) -> None:
        with speaking(self._voice), self.settling():
            for owner, name, value in before:
                if getattr(owner, name) is not value:
                    setattr(owner, name, value)
            self.redraw()
