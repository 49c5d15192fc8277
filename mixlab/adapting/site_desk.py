"""The desk where a team adapts the course: its site file, what is wrong in it, and what it changes for a learner."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from mixlab.adapting.cohort.changed_since import CohortError
from mixlab.adapting.cohort.copies import Cohort, cohort_copy
from mixlab.adapting.compare.comparison import SiteComparison, compare_sites
from mixlab.adapting.compare.outputs import REFUSALS
from mixlab.files.whole import CannotWrite, write_whole
from mixlab.pages.labels import checked_html, label_html, line_html, refusal_html
from mixlab.panels.action import when_it_acts
from mixlab.panels.bench import draw_up
from mixlab.panels.decision import bedside
from mixlab.panels.dose import live_dose
from mixlab.panels.low import treat_low
from mixlab.panels.order import order_check
from mixlab.panels.rows import choices
from mixlab.screen.frame import PanelFrame
from mixlab.screen.panel import Panel
from mixlab.ward.site.faults import SiteError
from mixlab.ward.site.in_force import example_sites, load_site
from mixlab.ward.site.record import Site, teaching_site
from mixlab.ward.site.writing import site_text
from mixlab.words import Sentence, counted, joined, say, sentence, voice_now

from .catalogue import half_translated

CHANGES = sentence("what changes").key

PREVIEWS: dict[str, Callable[..., widgets.Widget]] = {
    sentence("order, doses and decision").key: live_dose,
    sentence("reading the order").key: order_check,
    sentence("give or hold").key: bedside,
    sentence("treating a low").key: treat_low,
    sentence("drawing up").key: draw_up,
    sentence("when each acts").key: when_it_acts,
}
"""The panels that can be looked at as the site has them."""

DESK_VIEWS = (CHANGES, *PREVIEWS)


@lru_cache(maxsize=64)
def compared(before: Site, after: Site) -> SiteComparison:
    """Compare two sites, and remember it: looking at a panel and coming back costs nothing."""
    return compare_sites(before, after)


@dataclass(frozen=True, kw_only=True)
class DeskState:
    """What the controls say: the file's text, the site it is compared with and what is looked at."""

    text: str
    against: str
    shown: str = CHANGES


ONLY_TRIED = sentence("Nothing is saved while something is only tried.")
CHANGED = sentence(
    "{file} was changed by somebody else since it was read here. Keep your changes elsewhere, then run this cell again."
)


class SiteDesk(Panel):
    """The desk for a site file. A faulty file leaves the last good site and its pictures standing.

    A team's file is only ever written by Save and check.

    Parameters
    ----------
    file : str or Path
        The team's site file. Where there is none, the desk begins with every key as on `start`.
    start : Site, optional
        What a new file begins as; the teaching site if not given.

    Attributes
    ----------
    text, check, against, shown, cohort, make : ipywidgets.Widget
        The file's text, what saves and checks it, the site to compare with, what is looked at, the name of a cohort, and
        what makes its folder.
    site : Site
        The last site that the file gave without a fault.
    faults : tuple of SiteFault
        What is wrong in the file as it was last checked.
    made : Cohort or None
        The cohort's folder made last.
    """

    def __init__(self, file: str | Path, start: Site | None = None) -> None:
        self.file = Path(file)
        self.faults: tuple[Any, ...] = ()
        self.made: Cohort | None = None
        self._sites = {site.name: site for site in example_sites()}
        self.site = start or teaching_site()
        self.state = DeskState(text=self._read(), against=teaching_site().name)
        super().__init__(voice_now(), "mixlab-site-desk")

    def build(self) -> list[widgets.Widget]:
        """Make controls, and return what stands on the desk."""
        self._make_controls()
        return self._lay_out()

    def memory(self) -> list[tuple[object, str]]:
        """Return what the desk remembers beside what its parts show; a file that was saved stays as it was saved."""
        return [*super().memory(), *((self, name) for name in ("site", "faults", "made", "_kept", "_readable"))]

    def begin(self) -> None:
        """Check the file, or begin a new one."""
        if self.file.exists():
            self._take()
        else:
            self.verdict.value = checked_html(sentence("{file} is new: Save and check keeps it.", file=self.file.name))
            self.redraw()

    def _read(self) -> str:
        """Return the file's text, or a new one; `_kept` remembers what stood in the file."""
        self._kept: bytes | None = None
        self._readable = True
        if not self.file.exists():
            return site_text(self.site)
        try:
            self._kept = self.file.read_bytes()
            return self._kept.decode("utf-8").replace("\r\n", "\n")
        except (OSError, UnicodeDecodeError):
            self._readable = False  # the check says what is wrong with it; it is not written over
            return ""

    def _make_controls(self) -> None:
        self.text = widgets.Textarea(
            value=self.state.text, continuous_update=False, rows=20, layout={"width": "calc(100% - 6px)"}
        )
        self.check = widgets.Button(description=say("Save and check"), layout={"width": "auto"})
        self.against = widgets.Dropdown(options=list(self._sites), value=self.state.against, layout={"width": "220px"})
        self.shown = widgets.Dropdown(options=choices(DESK_VIEWS), value=CHANGES, layout={"width": "220px"})
        self.cohort = widgets.Text(placeholder=say("such as: autumn, group B"), layout={"width": "260px"})
        self.make = widgets.Button(description=say("Make this cohort's folder"), layout={"width": "max-content"})
        self.verdict, self.result, self.told = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.preview = widgets.Box(layout={"display": "none"})
        controls = {"text": self.text, "against": self.against, "shown": self.shown, "cohort": self.cohort}
        names = (
            say("The text of {file}", file=self.file.name), say("Compare with"), say("Look at"), say("Name of the cohort"),
        )  # fmt: skip
        for name, control in controls.items():
            control.add_class(f"mixlab-desk-{name}")
        self._frame = PanelFrame({f"mixlab-desk-{key}": name for key, name in zip(controls, names, strict=True)})
        self.controls = {**controls}
        self.pressable = {"Save and check": self.check, "Make this cohort's folder": self.make}
        self.when(self.check, self._on_check)
        self.when(self.make, self._on_make)
        self.when(self.against, lambda name: self._look(against=name))
        self.when(self.shown, lambda view: self._look(shown=view))

    def _lay_out(self) -> list[widgets.Widget]:
        row = {"align_items": "center", "flex_flow": "row wrap", "grid_gap": "4px 10px"}
        file = widgets.VBox(
            [widgets.HBox([widgets.HTML(label_html(self.file.name)), self.check], layout=row), self.text],
            layout={"flex": "1.6 1 0", "min_width": "420px"},
        )
        beside = widgets.VBox(
            [
                self.verdict,
                widgets.HBox([widgets.HTML(line_html(sentence("<b>Compare with</b>"))), self.against], layout=row),
                widgets.HBox([widgets.HTML(line_html(sentence("<b>Look at</b>"))), self.shown], layout=row),
                widgets.HBox([widgets.HTML(line_html(sentence("<b>Cohort</b>"))), self.cohort], layout=row),
                self.make,
                self.told,
            ],
            layout={"flex": "1 1 0", "min_width": "330px", "grid_gap": "6px"},
        )
        return [
            widgets.HBox([file, beside], layout={"flex_flow": "row wrap", "grid_gap": "8px 18px"}),
            self.result,
            self.preview,
            self._frame,
        ]

    def _on_check(self) -> None:
        if not self._readable:
            self._take()
            return
        if self.is_trying or self._changed_meanwhile():
            self._refuse(ONLY_TRIED if self.is_trying else CHANGED.filled(file=self.file.name))
            return
        try:
            write_whole(self.file, self.text.value)
        except CannotWrite as fault:
            why = sentence("{file} cannot be saved: {reason}. The text stands here.")
            self._refuse(why.filled(file=self.file.name, reason=fault.reason))
            return
        self._kept = self.text.value.encode("utf-8")
        self.state = replace(self.state, text=self.text.value)
        self._take()

    def _changed_meanwhile(self) -> bool:
        try:
            return self.file.is_file() and self.file.read_bytes() != self._kept
        except OSError:  # it cannot be read any more: what stands in it is not known
            return True

    def _take(self) -> None:
        """Check the file, and show what follows from it or everything that is wrong in it."""
        try:
            site = load_site(self.file)
        except SiteError as wrong:
            self.faults = wrong.faults
            kept = sentence("{file} stands as you typed it, with its faults; nothing is lost.", file=self.file.name)
            todo = counted(
                len(wrong.faults),
                "<b>{count} thing to put right</b>, then save and check again:",
                "<b>{count} things to put right</b>, then save and check again:",
                count=len(wrong.faults),
            )
            self._refuse(todo, kept, faults=wrong.faults)
            return
        self.faults, self.site = (), site
        self.verdict.value = refusal_html(
            sentence("{file} is accepted, but cannot be shown here.", file=self.file.name)
        )
        self.redraw()  # where this fails, nothing of the site before is left standing
        self.verdict.value = checked_html(self._accepted())

    def _accepted(self) -> Sentence:
        said = sentence("{file} is checked: nothing is wrong with it.", file=self.file.name)
        lacking = half_translated(self.site.language)
        return joined((said, lacking), " ") if lacking else said

    def _refuse(self, *lines: Sentence, faults: Sequence[object] = ()) -> None:
        stays = sentence("What you see here is still {site} as it was last without a fault.", site=self.site.name)
        self.verdict.value = refusal_html(*lines, stays, faults=faults)

    def _look(self, **asked: str) -> None:
        self.state = replace(self.state, **asked)
        self.redraw()

    @property
    def comparison(self) -> SiteComparison:
        """The site beside the one that it is compared with."""
        return compared(self._sites[self.state.against], self.site)

    def redraw(self) -> None:
        """Show the changes, or a panel as the site has it; what stood here before is taken away first."""
        self.result.value = ""
        for old in self.preview.children:
            old.close()
        self.preview.children, self.preview.layout.display = (), "none"
        looked_at = PREVIEWS.get(self.state.shown)
        if looked_at is None:
            self.result.value = self.comparison.page_html()
            return
        try:
            panel = looked_at(site=self.site)
        except REFUSALS as why:
            words = {"panel": sentence(self.state.shown), "site": self.site.name, "why": why.args[0]}
            self.result.value = refusal_html(sentence("“{panel}” cannot be shown for {site}. {why}", **words))
            return
        self.preview.children, self.preview.layout.display = (panel,), ""

    def _on_make(self) -> None:
        if self.faults:
            self.told.value = refusal_html(
                sentence("Put right what is wrong in the site file first; then make the folder.")
            )
            return
        unsaved = self.text.value != self.state.text or not self.file.exists() or self._changed_meanwhile()
        if self.is_trying or unsaved:
            first = sentence("The text is not saved as it stands: press Save and check first.")
            self.told.value = refusal_html(ONLY_TRIED if self.is_trying else first)
            return
        try:
            self.made = cohort_copy(self.cohort.value, self.file, self.file.absolute().parent)
        except (CohortError, SiteError) as why:
            self.told.value = refusal_html(joined((str(why),)))
        else:
            self.told.value = checked_html(repr(self.made))


def adapt_site(file: str | Path = "my_site.toml", start: Site | None = None) -> SiteDesk:
    """Return the desk for a site file, ready to show as the last line of a cell; the parameters are those of `SiteDesk`.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     desk = adapt_site(f"{folder}/my_site.toml")
    ...     desk.set(text='name = "ward 3"')
    ...     desk.press("Save and check")
    ...     desk.site.name
    'ward 3'
    """
    return SiteDesk(file, start)
