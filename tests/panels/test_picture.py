"""The live picture, without a browser: what is sent, and that a moved picture equals one drawn anew."""

import re
import xml.etree.ElementTree as ElementTree
from io import StringIO

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import RendererSVG
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, FancyBboxPatch, PathPatch, Polygon, Rectangle
from matplotlib.path import Path
from matplotlib.transforms import IdentityTransform

from mixlab import plan_dose, read_order
from mixlab.figures.style import ROOM, Moving
from mixlab.figures.syringe.barrel import draw_barrel
from mixlab.screen.picture import LivePicture
from mixlab.screen.svg_renderer import Pencil

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"
HOURS = np.linspace(0, 24, 289)


def blank() -> tuple[Figure, Axes]:
    figure = Figure(figsize=(6, 3))
    axes = figure.subplots()
    axes.set(xlim=(0, 24), ylim=(0, 10))
    return figure, axes


def show(picture: LivePicture, touched, alt: str) -> None:
    """Move a picture alone."""
    if news := picture.change(touched, alt):
        picture.send(news)


def listen(picture: LivePicture) -> list[dict]:
    sent: list[dict] = []
    picture.send = lambda content, buffers=None: sent.append(content)
    return sent


def change(old: str, difference: tuple[int, int, str]) -> str:
    """Splice as JavaScript does, which counts in UTF-16 units of two bytes."""
    start, end, middle = difference
    units = old.encode("utf-16-le")
    return (units[: 2 * start] + middle.encode("utf-16-le") + units[len(units) - 2 * end :]).decode("utf-16-le")


def follow(sent: list[dict], parts: dict[str, str]) -> dict[str, str]:
    """Do what a page does with the news it is sent."""
    for news in sent:
        parts = parts | {name: change(parts[name], difference) for name, difference in news["moved"].items()}
    return parts


def demand_whole(picture: LivePicture) -> ElementTree.Element:
    """Parse the picture, and demand that every reference in it leads somewhere and every part stands once."""
    root = ElementTree.fromstring(picture.svg())
    ids = [node.get("id") for node in root.iter() if node.get("id")]
    referred = set(re.findall(r"url\(#([^)]+)\)", picture.svg()))
    referred |= {node.get(HREF, "#")[1:] for node in root.iter(f"{SVG}use")}
    assert referred <= set(ids)
    names = [name for name in ids if name in picture.now["parts"]]
    assert sorted(names) == sorted(picture.now["parts"])
    return root


# Each makes an artist that can move, and moves it.
def line(axes):
    (made,) = axes.plot(HOURS, 5 + 4 * np.sin(HOURS / 4), linestyle="--")
    return made, lambda: made.set_ydata(5 + 4 * np.cos(HOURS / 4))


def line_with_markers(axes):
    (made,) = axes.plot([2, 8, 14], [1, 8, 3], marker="o")
    return made, lambda: made.set(ydata=[2, 7, 5], marker="s", color="black")


def text(axes):
    made = axes.text(3, 3, "8 units", parse_math=False)
    return made, lambda: made.set(text="9 units", position=(4, 4), rotation=30)


def annotation(axes):
    made = axes.annotate("mark", (8, 8), (2, 2), arrowprops={"arrowstyle": "->"})
    return made, lambda: (made.set_text("new mark"), setattr(made, "xy", (9, 3)))


def rectangle(axes):
    made = axes.add_patch(Rectangle((1, 1), 5, 2, facecolor="lightgray"))
    return made, lambda: made.set_width(9)


def hatched(axes):
    made = axes.add_patch(Rectangle((1, 1), 5, 2, facecolor="white", hatch="//"))
    return made, lambda: made.set_width(9)


def new_hatch(axes):
    made = axes.add_patch(Rectangle((1, 1), 5, 2, facecolor="white", hatch="//"))
    return made, lambda: made.set(hatch="xx", facecolor="lightgray")


def polygon(axes):
    made = axes.add_patch(Polygon([(1, 1), (5, 2), (3, 6)]))
    return made, lambda: made.set_xy([(1, 1), (8, 2), (3, 9)])


def curved_patch(axes):
    made = axes.add_patch(PathPatch(Path.unit_circle(), transform=axes.transData, hatch=".."))
    return made, lambda: made.set_path(Path.circle((9, 4), 3))


def clipped_by_a_shape(axes):
    axes.add_patch(Rectangle((10, 1), 4, 4)).set_clip_path(Circle((12, 3), 1, transform=axes.transData))
    barrel = axes.add_patch(FancyBboxPatch((2, 2), 8, 3, boxstyle="round,pad=0.5", facecolor="none"))
    made = axes.add_patch(Rectangle((1, 1), 5, 6))
    made.set_clip_path(barrel)
    return made, lambda: made.set_width(7)


def clip_that_moves(axes):
    window = Circle((4, 4), 2, transform=axes.transData)
    made = axes.add_patch(Rectangle((1, 1), 9, 6))
    made.set_clip_path(window)
    return made, lambda: (window.set_radius(3), made.set_clip_path(window))


def filled_between(axes):
    made = axes.fill_between(HOURS, 0, 3 + np.sin(HOURS), alpha=0.4)
    return made, lambda: made.set_data(HOURS, 0, 5 + np.cos(HOURS))


def hatched_collection(axes):
    made = axes.fill_between(HOURS, 0, 3 + np.sin(HOURS), facecolor="none", edgecolor="black", hatch="..")
    return made, lambda: made.set_data(HOURS, 0, 5 + np.cos(HOURS))


def line_collection(axes):
    made = axes.add_collection(LineCollection([[(0, 1), (5, 5)], [(2, 8), (9, 1)]]))
    return made, lambda: made.set_segments([[(0, 2), (7, 5)], [(3, 8), (9, 1)]])


def scattered(axes):
    made = axes.scatter(np.arange(20), np.arange(20) / 2)
    return made, lambda: made.set_offsets(np.column_stack([np.arange(20), 9 - np.arange(20) / 3]))


def whole_axis(axes):
    return axes.yaxis, lambda: axes.set_ylim(0, 25)


KINDS = [
    *(line, line_with_markers, text, annotation, rectangle, hatched, new_hatch, polygon, curved_patch),
    *(clipped_by_a_shape, clip_that_moves, filled_between, hatched_collection, line_collection, scattered, whole_axis),
]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_moved_picture_equals_one_drawn_anew(kind):
    figure, axes = blank()
    made, move = kind(axes)
    made.set_gid("it")
    picture = LivePicture(figure, "before")
    sent = listen(picture)
    before = dict(picture.now["parts"])
    demand_whole(picture)

    move()
    show(picture, [made], "after")

    demand_whole(picture)
    assert picture.now["parts"] != before
    assert follow(sent, before) == picture.now["parts"]
    moved = dict(picture.now)
    picture.replace(figure, "after")
    assert moved["parts"] == picture.now["parts"]
    assert moved["body"] == picture.now["body"]
    assert moved["definitions"].items() >= picture.now["definitions"].items()


def test_the_markers_of_a_line_are_one_path_about_its_points():
    figure = Figure(figsize=(2, 1), dpi=72)
    looks = {"marker": "s", "markersize": 10, "linestyle": "none", "transform": IdentityTransform()}
    (path,) = re.findall(r' d="([^"]+)"', Pencil(figure).draw(figure.add_artist(Line2D([20, 80], [30, 50], **looks))))
    corners = {tuple(map(float, point.split())) for point in re.findall(r"[ML] ([^MLz]+)", path)}
    # SVG counts from the top: the points stand at 72 - 30 and 72 - 50.
    assert corners == {(x, y) for at, top in ((20, 42), (80, 22)) for x in (at - 5, at + 5) for y in (top - 5, top + 5)}
    assert "path" not in Pencil(figure).draw(figure.add_artist(Line2D([], [], **looks)))


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_hidden_artist_leaves_an_empty_part_and_comes_back(kind):
    figure, axes = blank()
    made, _ = kind(axes)
    made.set_gid("it")
    picture = LivePicture(figure, "shown")
    shown = picture.svg()
    made.set_visible(False)
    show(picture, [made], "hidden")
    part = demand_whole(picture).find(f".//{SVG}g[@id='it']")
    assert not list(part)
    made.set_visible(True)
    show(picture, [made], "shown")
    assert picture.svg() == shown


def test_what_is_hidden_or_blank_at_first_later_appears_in_its_own_place():
    figure, axes = blank()
    axes.add_patch(Rectangle((0, 0), 9, 9, gid="below", zorder=2))
    words = axes.text(1, 1, "", gid="words", zorder=3)
    middle = axes.add_patch(Rectangle((1, 1), 3, 3, gid="middle", zorder=4, hatch="xx", visible=False))
    axes.add_patch(Rectangle((2, 2), 3, 3, gid="above", zorder=5))
    picture = LivePicture(figure, "two")
    middle.set_visible(True)
    words.set_text("mark")
    show(picture, [middle, words], "four")
    root = demand_whole(picture)
    assert [node.get("id") for node in root.iter(f"{SVG}g") if node.get("id")] == ["below", "words", "middle", "above"]
    assert root.find(f".//{SVG}g[@id='middle']//{SVG}path") is not None
    assert root.find(f".//{SVG}g[@id='words']//{SVG}text").text == "mark"


def test_only_what_looks_different_is_sent():
    figure, axes = blank()
    artists = [axes.text(1, row, f"row {row}", gid=f"row-{row}") for row in range(5)]
    picture = LivePicture(figure, "rows")
    sent = listen(picture)
    artists[3].set_text("new")
    show(picture, [*artists, axes.title], "rows")
    assert [sorted(news["moved"]) for news in sent] == [["row-3"]]
    assert change("rows", sent[0]["alt"]) == "rows"
    show(picture, artists, "rows")
    assert len(sent) == 1
    show(picture, artists, "the same rows, in other words")
    assert sent[1]["moved"] == {}
    assert change("rows", sent[1]["alt"]) == "the same rows, in other words" == picture.alt


def test_of_a_part_only_what_changed_in_it_is_sent():
    figure, axes = blank()
    words = axes.text(1, 1, "8 units", gid="words", parse_math=False)
    picture = LivePicture(figure, "8 units in the barrel")
    for text in ("9 units", "9", "99", "💉💉 9", "💉 9", "aba", "ababa", ""):
        sent, before, alt = listen(picture), dict(picture.now["parts"]), picture.alt
        words.set_text(text)
        show(picture, [words], f"{text} units in the barrel")
        assert follow(sent, before) == picture.now["parts"]
        assert change(alt, sent[0]["alt"]) == f"{text} units in the barrel"
        assert len(str(sent[0]["alt"])) < 40


def test_a_moved_axis_moves_all_that_stands_in_its_axes():
    figure, axes = blank()
    axes.plot(HOURS, HOURS / 3, gid="curve")
    axes.yaxis.set_gid("scale")
    picture = LivePicture(figure, "to 10")
    sent = listen(picture)
    axes.set_ylim(0, 20)
    show(picture, [axes.yaxis], "to 20")
    assert sent[0]["moved"].keys() == {"scale", "curve"}
    moved = dict(picture.now["parts"])
    picture.replace(figure, "to 20")
    assert moved == picture.now["parts"]


def test_an_error_in_the_middle_of_a_drawing_does_no_lasting_harm():
    figure, axes = blank()
    words = axes.text(1, 1, "8 units", gid="words")
    picture = LivePicture(figure, "8 units")
    before = picture.svg()
    words.set_text(r"$\nosuchsign$")
    with pytest.raises(ValueError, match="nosuchsign"):
        show(picture, [words], "mathematics")
    assert picture.svg() == before
    words.set_text("9 units")
    show(picture, [words], "9 units")
    moved = picture.svg()
    picture.replace(figure, "9 units")
    assert picture.svg() == moved
    assert mpl.rcParams["svg.fonttype"] == "path"


def test_a_hatch_is_sent_once_and_only_when_it_is_new():
    figure, axes = blank()
    patch = axes.add_patch(Rectangle((1, 1), 3, 3, hatch="//", gid="cloudy"))
    picture = LivePicture(figure, "lines")
    sent = listen(picture)
    for hatch, new in [("//", 0), ("xx", 1), ("//", 0), ("xx", 0)]:
        patch.set(hatch=hatch, width=patch.get_width() + 1)
        show(picture, [patch], "other lines")
        assert len(sent[-1]["definitions"]) == new


def test_clips_without_end_do_not_pile_up():
    figure, axes = blank()
    patch = axes.add_patch(Rectangle((1, 1), 9, 6, gid="it"))
    picture = LivePicture(figure, "start")
    sent = listen(picture)
    for step in range(220):
        patch.set_clip_path(Circle((4, 4), 1 + step / 100, transform=axes.transData))
        show(picture, [patch], f"step {step}")
    assert len(picture.now["definitions"]) < 210
    assert sum("now" in news for news in sent) == 1
    demand_whole(picture)


def test_an_artist_that_was_not_in_the_picture_makes_it_be_drawn_whole():
    figure, axes = blank()
    picture = LivePicture(figure, "nothing")
    sent = listen(picture)
    late = axes.text(2, 2, "late", gid="late")
    show(picture, [late], "something")
    assert sent == [{"now": picture.now}]
    assert demand_whole(picture).find(f".//{SVG}g[@id='late']//{SVG}text").text == "late"


def test_a_part_within_a_part_moves_with_the_outer_one():
    figure, axes = blank()
    axes.yaxis.set_gid("scale")
    label = axes.set_ylabel("units", gid="label")
    picture = LivePicture(figure, "units")
    assert list(picture.now["parts"]) == ["scale"]
    label.set_text("mL")
    show(picture, [label], "mL")
    assert ">mL<" in picture.now["parts"]["scale"]


def test_a_replaced_figure_moves_from_then_on():
    picture = LivePicture(blank()[0], "first")
    figure = Figure(figsize=(2, 1))
    words = figure.text(0.5, 0.5, "one", gid="words")
    picture.replace(figure, "second")
    words.set_text("two")
    show(picture, [words], "third")
    assert demand_whole(picture).get("viewBox") == "0 0 144 72"
    assert ">two<" in picture.svg()


def test_a_new_scale_moves_curves_that_wait_for_it():
    figure, axes = blank()
    axes.set_autoscaley_on(True)
    (curve,) = axes.plot(HOURS, HOURS, gid="curve")
    picture = LivePicture(figure, "to 24")
    curve.set_ydata(HOURS * 3)
    axes.relim()
    axes.autoscale_view()
    show(picture, [curve], "to 72")
    moved = picture.now["parts"]["curve"]
    picture.replace(figure, "to 72")
    assert moved == picture.now["parts"]["curve"]


@pytest.mark.parametrize(
    "typed",
    [
        '<script>alert("x")</script>',
        "</text><g id='words'/>",
        '<g id="words"/>',
        "url(#h0123456789)",
        "a & b &lt; c ' \" ]]>",
        "<!-- -->",
    ],
)
def test_what_a_person_typed_stays_text(typed):
    figure, axes = blank()
    words = axes.text(1, 1, "order", gid="words", parse_math=False)
    picture = LivePicture(figure, "order")
    words.set_text(typed)
    show(picture, [words], typed)
    root = ElementTree.fromstring(picture.svg())
    assert [node.text for node in root.iter(f"{SVG}text") if node.text == typed] == [typed]
    assert root.get("aria-label") == typed
    assert not list(root.iter(f"{SVG}script"))


def test_signs_that_xml_forbids_and_signs_without_a_glyph_do_no_harm():
    # XML 1.0 (W3C), production 2: control characters other than tab, newline and return may not stand in a document.
    figure, axes = blank()
    words = axes.text(1, 1, "order", gid="words", parse_math=False)
    picture = LivePicture(figure, "order")
    words.set_text("8\x00\x0b\x1f units 💉 ")
    show(picture, [words], "8\x00 units")
    root = ElementTree.fromstring(picture.svg())
    assert any(node.text == "8��� units 💉 " for node in root.iter(f"{SVG}text"))
    assert root.get("aria-label") == "8� units"


def test_two_pictures_share_no_definition_and_one_keeps_its_own():
    first, second = (LivePicture(Figure(), "blank") for _ in range(2))
    for picture in (first, second):
        figure, axes = blank()
        axes.add_patch(Rectangle((1, 1), 3, 3, hatch="//", gid="it"))
        picture.replace(figure, "lines")
    assert first.now["definitions"]
    assert not first.now["definitions"].keys() & second.now["definitions"].keys()
    before = first.svg()
    first.replace(first._drawing.figure, "lines")
    assert first.svg() == before


def test_coordinates_are_cut_to_a_tenth_of_a_pixel_and_stay_near():
    figure, axes = blank()
    axes.plot(HOURS, 5 + 4 * np.sin(HOURS), gid="curve")
    axes.add_patch(Rectangle((1.2345, 2.3456), 3.4567, 4.5678, gid="patch"))
    picture = LivePicture(figure, "wave")
    drawn = {}
    for name in ("curve", "patch"):
        numbers = re.findall(r"[\d.]+", re.search(r' d="([^"]*)"', picture.now["parts"][name])[1])
        assert all(len(number.partition(".")[2]) <= 1 for number in numbers)
        drawn[name] = np.array(numbers, dtype=float).reshape(-1, 2)
    exact = axes.transData.transform(np.column_stack([HOURS, 5 + 4 * np.sin(HOURS)]))
    exact[:, 1] = 3 * 72 - exact[:, 1]
    near = np.interp(drawn["curve"][:, 0], exact[:, 0], exact[:, 1])
    assert np.abs(near - drawn["curve"][:, 1]).max() < 0.35  # a third of a pixel, on a curve three pixels wide


def test_words_are_real_text_and_no_style_reaches_the_page():
    figure, axes = blank()
    axes.set_title("Units per hour")
    picture = LivePicture(figure, "a title")
    root = demand_whole(picture)
    assert "Units per hour" in [node.text for node in root.iter(f"{SVG}text")]
    assert not list(root.iter(f"{SVG}style"))
    assert not list(root.iter(f"{SVG}metadata"))


def test_drawing_leaves_the_figure_an_ordinary_one():
    figure, axes = blank()
    axes.plot(HOURS, HOURS / 3, gid="curve")
    LivePicture(figure, "line")
    assert all("draw" not in vars(artist) for artist in figure.findobj())
    saved = StringIO()
    figure.savefig(saved, format="svg")
    assert 'id="curve"' in saved.getvalue()


def test_a_page_that_missed_something_gets_all_of_it():
    figure, axes = blank()
    words = axes.text(1, 1, "one", gid="words")
    picture = LivePicture(figure, "one")
    words.set_text("two")
    show(picture, [words], "two")
    sent = listen(picture)
    hold(picture, 1)
    assert sent == []
    hold(picture, 0)
    assert sent == [{"now": picture.now}]
    assert ">two<" in picture.get_state()["now"]["parts"]["words"]


def hold(picture: LivePicture, revision: int) -> None:
    """Let a page say which revision it holds."""
    data = {"method": "custom", "content": {"holds": revision}}
    picture._handle_msg({"content": {"data": data}, "buffers": []})


def named(*names: str) -> Figure:
    figure = Figure()
    for name in names:
        figure.text(0, 0, name, gid=name)
    return figure


@pytest.mark.parametrize(
    ("figure", "alt", "words"),
    [
        (named("same", "same"), "two", "share the id 'same'"),
        (named('a"b'), "quote", "not a plain name"),
        (named("a"), "  ", "is blank"),
    ],
)
def test_a_figure_that_cannot_be_a_picture_is_refused(figure, alt, words):
    with pytest.raises(ValueError, match=words):
        LivePicture(figure, alt)
    picture = LivePicture(named("good"), "good")
    before = picture.svg()
    with pytest.raises(ValueError, match=words):
        picture.replace(figure, alt)
    assert picture.svg() == before


def test_words_for_the_picture_may_not_become_blank():
    figure = named("good")
    picture = LivePicture(figure, "good")
    before = picture.svg()
    artists: list[Artist] = figure.texts
    artists[0].set_text("moved")
    with pytest.raises(ValueError, match="is blank"):
        show(picture, artists, "")
    assert picture.svg() == before


def test_staleness_height_and_caption_reach_the_page():
    picture = LivePicture(named("good"), "good", stale=True, max_height="60vh", caption=True)
    state = picture.get_state()
    assert (state["stale"], state["max_height"], state["caption"]) == (True, "60vh", True)


@pytest.mark.parametrize("looks", [{}, {"fontsize": 17, "fontweight": "bold", "va": "top"}, {"fontfamily": ["serif"]}])
def test_a_remembered_font_height_changes_no_text(monkeypatch, looks):
    """Matplotlib's own reading of the font is the reference."""
    figure, axes = blank()
    figure.set_dpi(72)  # as a live picture does
    words = axes.text(1, 1, "8 units\nof regular", parse_math=False, **looks)
    ours = Pencil(figure).draw(words)
    monkeypatch.delattr(Pencil, "_get_font_height_metrics")
    assert Pencil(figure).draw(words) == ours


@pytest.mark.parametrize(
    "looks",
    [
        *({"ha": ha, "va": va} for ha in ("left", "center", "right") for va in ("top", "center", "baseline", "bottom")),
        {"rotation": 90, "ha": "center"},
        {"bbox": {"pad": 2}, "ha": "center"},
        {"wrap": True, "ha": "right", "x": 0.4},
        {"s": "8 units\nof regular", "ha": "center"},
        {"fontsize": 17, "fontweight": "bold", "va": "center"},
    ],
)
def test_words_that_were_not_measured_stand_where_measured_ones_do(monkeypatch, looks):
    """Matplotlib's own measuring of the words is the reference."""
    monkeypatch.setitem(mpl.rcParams, "svg.fonttype", "none")  # as a live picture does
    figure, axes = blank()
    figure.set_dpi(72)
    words = axes.text(**{"x": 1, "y": 1, "s": "8 units of regular", "parse_math": False} | looks)
    ours = Pencil(figure).draw(words)
    monkeypatch.delattr(Pencil, "get_text_width_height_descent")
    measured = Pencil(figure).draw(words)
    number = re.compile(r"-?\d+\.?\d*")
    assert number.sub("#", ours) == number.sub("#", measured)
    assert [float(one) for one in number.findall(ours)] == pytest.approx(
        list(map(float, number.findall(measured))), abs=0.01
    )


def test_words_in_a_whole_figure_are_measured(monkeypatch):
    """An axis, say, asks how wide its labels are before it places its name."""
    monkeypatch.setitem(mpl.rcParams, "svg.fonttype", "none")
    figure, axes = blank()
    asked = []
    monkeypatch.setattr(
        RendererSVG, "get_text_width_height_descent", lambda _, words, *__: (asked.append(words), (10.0, 9.0, 2.0))[1]
    )
    Pencil(figure).draw(axes.text(1, 1, "a part", parse_math=False))
    assert not asked
    Pencil(figure).draw(figure)
    assert {"a part", axes.get_xticklabels()[0].get_text()} <= set(asked)


def test_a_look_seen_before_is_not_drawn_again_and_looks_as_it_did(monkeypatch):
    plans = [plan_dose(read_order(f"regular {clear} units and NPH 20 units subcut")) for clear in (8, 9, 14, 60)]
    drawn = draw_barrel(plans[0], ROOM)
    picture = LivePicture(drawn.figure, "first")
    seen = {}
    for plan in [*plans, plans[0]]:
        show(picture, drawn.show(plan), str(plan.clear_mark))
        seen[plan.clear_mark] = picture.svg()
    assert len(set(seen.values())) == len(plans)

    def demand_memory(*_):
        raise AssertionError("a look that was seen before is drawn again")

    monkeypatch.setattr(Pencil, "draw", demand_memory)
    for plan in [*plans, *plans[::-1]]:
        show(picture, drawn.show(plan), str(plan.clear_mark))
        assert picture.svg() == seen[plan.clear_mark]


def test_a_look_is_all_that_was_ever_set_and_the_limits_it_was_drawn_in():
    figure, axes = blank()
    words, (line,) = axes.text(1, 1, "", gid="words"), axes.plot([0, 1], [0, 1], gid="line", clip_on=False)
    picture = LivePicture(figure, "start")
    shown = {}

    def draw(**values):
        moving = Moving(shown)
        for name, value in values.items():
            moving.set(words, **{name: value})
        axes.set_ylim(0, len(values["text"]))
        show(picture, moving.touched | {line: "the same data"}, "now")
        assert picture.now["parts"] == LivePicture(figure, "drawn anew").now["parts"]

    for color, text in (("red", "one"), ("blue", "one"), ("blue", "three"), ("red", "three"), ("red", "one")):
        draw(color=color, text=text)


def test_what_is_remembered_is_bounded(monkeypatch):
    monkeypatch.setattr("mixlab.screen.drawing._MOST_REMEMBERED", 5)
    figure, axes = blank()
    words = axes.text(1, 1, "", gid="words")
    picture = LivePicture(figure, "start")
    for step in range(40):
        words.set_text(str(step))
        show(picture, {words: step}, str(step))
        assert len(picture._drawing._remembered) <= 6
        assert f">{step}<" in picture.svg()


def test_another_figure_remembers_nothing_of_the_one_before():
    figures = []
    for color in ("red", "blue"):
        figure, axes = blank()
        figures.append((figure, axes.text(1, 1, "8 units", gid="words", color=color)))
    (first, red), (second, blue) = figures
    picture = LivePicture(first, "red")
    show(picture, {red: "the same look"}, "red")
    before = picture.now["parts"]
    picture.replace(second, "blue")
    show(picture, {blue: "the same look"}, "blue")
    assert picture.now["parts"] == LivePicture(second, "blue").now["parts"] != before


@pytest.mark.parametrize("hatch", ["....", ".."])
def test_the_tile_of_a_dotted_hatch_repeats_to_what_matplotlib_fills_an_inch_with(hatch):
    figure, axes = blank()
    axes.add_patch(Rectangle((0, 0), 1, 1, fc="white", hatch=hatch))
    pencil = Pencil(figure)
    pencil.draw(figure)
    (definition,) = (text for text in pencil.definitions().values() if text.startswith("<pattern"))
    assert len(definition) < 10_000
    side = float(re.search(r'width="([\d.]+)" height="\1"', definition)[1])
    assert 72 % side == 0

    def within_the_inch(x, y):
        return {(round(x, 2) % 72, round(y, 2) % 72) for x, y in zip(np.ravel(x), np.ravel(y), strict=True)}

    inch = Path.hatch(hatch, 6)
    x, y = inch.vertices[inch.codes == Path.MOVETO].T  # where each dot begins to be drawn
    tile_x, tile_y = np.array(re.findall(r"M ([\d.-]+) ([\d.-]+)C", definition), dtype=float).T
    right, down = (steps[..., None] for steps in np.meshgrid(np.arange(0, 72, side), np.arange(0, 72, side)))
    assert within_the_inch(tile_x + right, tile_y + down) == within_the_inch(72 * x, 72 - 72 * y)
