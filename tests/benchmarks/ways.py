"""Ways to let pictures follow a slider: the first four show the same syringe, curves and decision, two are other panels.

Each stands in a notebook of its own; the slider is the dose of clear insulin, from 8 units.
"""

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO

import ipywidgets as widgets
import numpy as np
from IPython.display import display
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

from mixlab import lesson_order, read_order, teaching_site
from mixlab.care.bench.actions import Pierce
from mixlab.care.bench.handling import TakeSyringe
from mixlab.figures.action.curves import draw_curves
from mixlab.figures.decision.card import draw_card
from mixlab.figures.style import ROOM
from mixlab.figures.syringe.barrel import draw_barrel
from mixlab.panels import draw_up, live_dose, when_it_acts
from mixlab.panels.dose import DoseState, DoseView, see_dose

SITE = teaching_site()
ORDER = read_order(lesson_order())


def view(units: int) -> DoseView:
    """What the live panel computes at each step."""
    order = replace(ORDER, doses=(replace(ORDER.clear, units=units), ORDER.cloudy))
    return see_dose(DoseState(order_text=str(order), glucose=120.0, eating=True, signs=()), SITE)


def draw(seen: DoseView) -> tuple:
    return draw_barrel(seen.plan, ROOM), draw_curves(seen.order, seen.curves, ROOM), draw_card(seen.decision, ROOM)


def slider() -> widgets.IntSlider:
    control = widgets.IntSlider(value=8, min=0, max=60, layout={"width": "500px"})
    return control.add_class("moved")


def follow(control: widgets.IntSlider, redraw: Callable[[int], None]) -> None:
    control.observe(lambda change: redraw(change.new), "value")


def echo() -> widgets.Widget:
    """The floor: the number itself, in a label."""
    control, label = slider(), widgets.Label("8")
    follow(control, lambda units: setattr(label, "value", str(units)))
    return widgets.VBox([control, label.add_class("result")]).add_class("echo")


def usual() -> widgets.Widget:
    """What most people write: `interact`, and new figures at each step."""
    from matplotlib import pyplot  # noqa: F401  # lets the notebook show figures as PNG

    def redraw(units: int) -> None:
        for drawn in draw(view(units)):
            display(drawn.figure)

    control = slider()
    output = widgets.interactive_output(redraw, {"units": control})
    return widgets.VBox([control, output.add_class("result")]).add_class("usual")


class Blitted:
    """A figure whose still part is kept as pixels; sent as a cheap PNG."""

    def __init__(self, figure: Figure, scale: int) -> None:
        figure.set_dpi(72 * scale)
        self.figure, self.canvas = figure, FigureCanvasAgg(figure)
        self.moving: list[Artist] = figure.findobj(lambda artist: artist.get_gid() is not None)
        self.moving.sort(key=lambda artist: artist.get_zorder())
        for artist in self.moving:
            artist.set_animated(True)
        self.canvas.draw()
        self.still = self.canvas.copy_from_bbox(figure.bbox)
        self.shown = widgets.Image(width=self.canvas.get_width_height()[0] // scale)
        self.show()

    def show(self) -> None:
        self.canvas.restore_region(self.still)
        for artist in self.moving:
            self.figure.draw_artist(artist)
        png = BytesIO()
        Image.fromarray(np.asarray(self.canvas.buffer_rgba())).convert("RGB").save(png, "png", compress_level=1)
        self.shown.value = png.getvalue()


def blitted(scale: int) -> widgets.Widget:
    """One drawing of each figure, blitted."""
    barrel, curves, card = drawn = draw(view(8))
    sheets = [Blitted(one.figure, scale) for one in drawn]

    def redraw(units: int) -> None:
        seen = view(units)
        barrel.show(seen.plan)
        curves.show(seen.order, seen.curves)
        card.show(seen.decision)
        for sheet in sheets:
            sheet.show()

    control = slider()
    follow(control, redraw)
    # The card stays the same when a dose moves: no picture is sent then, and none can be waited for.
    moving, still = widgets.HBox([sheet.shown for sheet in sheets[:2]]), sheets[2].shown
    return widgets.VBox([control, widgets.HBox([moving.add_class("result"), still])]).add_class("blitted")


def bench() -> widgets.Widget:
    """The drawing bench, the needle in the clear vial: each press turns the vial over, or back.

    A run is some thirty steps long, and the list beside the picture grows with it: past forty the run is cut short.
    """
    panel = draw_up()
    for action in (TakeSyringe("0.3-one"), Pierce("clear", "air")):
        panel.do(action)
    turn = panel.buttons["turn vial over"].add_class("moved")

    def cut_short(_: widgets.Button) -> None:
        if len(panel.trace) > 40:  # by an even number of turns: the picture stays as it is
            trace = panel.trace.up_to(2 + len(panel.trace) % 2)
            panel.state = replace(panel.state, trace=trace, shown=len(trace))

    turn.on_click(cut_short)
    return panel.add_class("result").add_class("bench")


def live() -> widgets.Widget:
    """The live panel as it is, with all its controls."""
    panel = live_dose()
    panel.clear_units.add_class("moved")
    return panel.add_class("result").add_class("live")


def when() -> widgets.Widget:
    """The panel on when insulins act, with the fan open and the sum shown."""
    panel = when_it_acts()
    panel.fan.value, panel.guess.value = "day to day", 8.0
    panel.show_sum.click()
    panel.clear_units.add_class("moved")
    return panel.add_class("result").add_class("when")
