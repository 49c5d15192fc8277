"""What can be looked at on the desk: what a site changes, or one of the panels as that site has it."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import ipywidgets as widgets

from mixlab.adapting.compare.comparison import SiteComparison, compare_sites
from mixlab.panels.action import when_it_acts
from mixlab.panels.bench import draw_up
from mixlab.panels.decision import bedside
from mixlab.panels.dose import live_dose
from mixlab.panels.low import treat_low
from mixlab.panels.order import order_check
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, counted, sentence

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


def to_put_right(count: int) -> Sentence:
    """Return how many faults of a site file there are, and what to do about them."""
    return counted(
        count,
        "<b>{count} thing to put right</b>, then save and check again:",
        "<b>{count} things to put right</b>, then save and check again:",
        count=count,
    )
