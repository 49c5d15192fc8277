"""Four ways to let a picture follow a slider, all drawing the same one. Copied beside the notebook of the benchmark."""

from io import BytesIO

import ipywidgets as widgets
import numpy as np
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from PIL import Image

from mixlab.panels.picture import LivePicture

SIZE = (10, 4)  # inches
HOURS = np.linspace(0, 24, 289)  # 24 h at 5-minute steps


def slider() -> widgets.IntSlider:
    return widgets.IntSlider(value=100, min=0, max=200, layout={"width": "500px"})


def draw(figure: Figure) -> dict[str, Artist]:
    """Two barrels, three curves and the words beside them, as far as they can move."""
    barrels, curves = figure.subplots(1, 2)
    barrels.set(xlim=(0, 10), ylim=(0, 100), ylabel="units")
    curves.set(xlim=(0, 24), ylim=(0, 12), xlabel="hours after the dose", ylabel="units per hour")
    curves.grid(alpha=0.3)
    moving: dict[str, Artist] = {}
    for at, name in enumerate(("first", "second")):
        barrels.add_patch(Rectangle((1 + 5 * at, 0), 3, 100, facecolor="none", edgecolor="black"))
        moving[f"{name}-clear"] = barrels.add_patch(Rectangle((1 + 5 * at, 0), 3, 0, facecolor="#88bbee"))
        moving[f"{name}-cloudy"] = barrels.add_patch(Rectangle((1 + 5 * at, 0), 3, 0, facecolor="white", hatch="//"))
        moving[f"{name}-mark"] = barrels.text(1 + 5 * at, 0, "")
    for name, colour in (("clear", "tab:blue"), ("cloudy", "tab:orange"), ("sum", "black")):
        (moving[name],) = curves.plot(HOURS, HOURS, color=colour, label=name)
        moving[f"{name}-peak"] = curves.text(0, 0, "", color=colour)
    curves.legend()
    for name, artist in moving.items():
        artist.set_gid(name)
    return moving


def move(moving: dict[str, Artist], value: int) -> None:
    clear, cloudy = 5 + value / 5, 20.0
    shapes = {"clear": clear * HOURS / 9 * np.exp(-HOURS / 3), "cloudy": cloudy * HOURS / 64 * np.exp(-HOURS / 8)}
    shapes["sum"] = shapes["clear"] + shapes["cloudy"]
    for name, heights in shapes.items():
        moving[name].set(ydata=heights)
        moving[f"{name}-peak"].set(text=f"{heights.max():.2f}", position=(HOURS[heights.argmax()], heights.max()))
    for name, top in (("first", clear), ("second", clear + cloudy)):
        moving[f"{name}-clear"].set(height=clear)
        moving[f"{name}-cloudy"].set(y=clear, height=top - clear)
        moving[f"{name}-mark"].set(text=f"{top:.1f} units", y=top)


def echo() -> widgets.Widget:
    """The floor: the number itself, in a label."""
    control, label = slider(), widgets.Label("100")
    control.observe(lambda change: setattr(label, "value", str(change.new)), "value")
    return widgets.VBox([control, label.add_class("result")]).add_class("echo")


def usual() -> widgets.Widget:
    """What most people write: `interact` and new subplots."""
    from matplotlib import pyplot as plt

    def redraw(value: int) -> None:
        figure = plt.figure(figsize=SIZE)
        move(draw(figure), value)
        plt.show()

    control = slider()
    output = widgets.interactive_output(redraw, {"value": control})
    return widgets.VBox([control, output.add_class("result")]).add_class("usual")


def blitted(scale: int) -> widgets.Widget:
    """One figure, its still part kept as pixels, sent as a cheap PNG."""
    figure = Figure(figsize=SIZE, dpi=72 * scale)
    canvas = FigureCanvasAgg(figure)
    moving = draw(figure)
    for artist in moving.values():
        artist.set_animated(True)
    canvas.draw()
    still = canvas.copy_from_bbox(figure.bbox)
    control, shown = slider(), widgets.Image(width=720)

    def redraw(value: int) -> None:
        canvas.restore_region(still)
        move(moving, value)
        for artist in moving.values():
            artist.axes.draw_artist(artist)
        png = BytesIO()
        Image.fromarray(np.asarray(canvas.buffer_rgba())).convert("RGB").save(png, "png", compress_level=1)
        shown.value = png.getvalue()

    redraw(100)
    control.observe(lambda change: redraw(change.new), "value")
    return widgets.VBox([control, shown.add_class("result")]).add_class("blitted")


def live() -> widgets.Widget:
    """The way of this package."""
    figure = Figure(figsize=SIZE)
    moving = draw(figure)
    move(moving, 100)
    picture = LivePicture(figure, "100")
    picture.layout.width = "720px"
    control = slider()

    def redraw(value: int) -> None:
        move(moving, value)
        picture.show(moving.values(), f"value {value}")

    control.observe(lambda change: redraw(change.new), "value")
    return widgets.VBox([control, picture.add_class("result")]).add_class("live")
