"""What the tests of the pictures share: the parts of a drawing by their ids, its SVG, and where its words stand."""

import io
import itertools
import re

import matplotlib as mpl
import numpy as np

from mixlab import read_order


def order_of(clear=8, cloudy=20, name="regular insulin"):
    minutes = 30 if name == "regular insulin" else 15
    return read_order(
        f"{name} {clear:g} units and NPH insulin {cloudy:g} units subcut {minutes} minutes before breakfast"
    )


def parts(drawn):
    """Every artist with an id, by that id; each has one of its own, and a plain one."""
    named = [artist for artist in drawn.figure.findobj(lambda one: one.get_gid()) if artist is not drawn.figure]
    found = {artist.get_gid(): artist for artist in named}
    assert len(found) == len(named)
    assert all(re.fullmatch(r"[A-Za-z][\w.-]*", gid) for gid in found)
    return found


def written(found, name):
    """What the numbered texts of a name say, those that say nothing left out."""
    return [text.get_text() for gid, text in found.items() if re.fullmatch(rf"{name}-\d+", gid) and text.get_text()]


def reach(shape):
    """From where to where a shape reaches across."""
    xs = shape.get_xy()[:, 0]
    return xs.min(), xs.max()


def svg(drawn):
    text = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": "one", "svg.fonttype": "none"}):
        drawn.figure.savefig(text, format="svg", metadata={"Date": None})
    return text.getvalue()


def moves_as_drawn_anew(draw, records, moved=None):
    """Whether one drawing, moved from record to record, is what drawing each anew gives, and showing one again touches nothing."""
    moved = moved or draw(*records[0])
    for record in records:
        moved.show(*record)
        assert svg(moved) == svg(draw(*record)), record
        assert not moved.show(*record), record


def boxes(drawn):
    """Every text that says something, with the box of its letters."""
    texts = drawn.figure.findobj(lambda one: hasattr(one, "get_text") and one.get_text() and one.get_visible())
    return [(text, mpl.text.Text.get_window_extent(text)) for text in texts]


def words_outside(drawn, margin=0):
    """The texts that come nearer to the edge of the picture than the margin."""
    width, height = drawn.figure.bbox.size
    return [
        text.get_text() for text, box in boxes(drawn) if min(box.x0, box.y0, width - box.x1, height - box.y1) < margin
    ]


def words_on_words(drawn, across=1, upward=3, *, but=r"(?!)"):
    """The pairs of texts that lie on each other by more than so many points; a letter's box is a little higher than its ink."""
    placed = [(text.get_text(), box) for text, box in boxes(drawn) if not re.search(but, text.get_gid() or "")]
    return [
        (one, other)
        for (one, box), (other, its) in itertools.combinations(placed, 2)
        if lie_on(box, its, across, upward)
    ]


def lie_on(box, other, across, upward):
    """Whether two boxes share more than so many points."""
    wide, high = min(box.x1, other.x1) - max(box.x0, other.x0), min(box.y1, other.y1) - max(box.y0, other.y0)
    return wide >= across and high >= upward


def blank(found, *gids):
    """Whether nothing is to be seen of texts, lines and shapes."""
    shown = [found[gid] for gid in gids]
    return not any(
        one.get_text()
        if hasattr(one, "get_text")
        else len(one.get_xdata())
        if hasattr(one, "get_xdata")
        else np.ptp(one.get_xy())
        for one in shown
    )
