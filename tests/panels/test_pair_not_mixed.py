"""A ward that forbids the pair of the lessons, or every pair: every panel comes up, says so, and draws only what it computed."""

from dataclasses import replace

import pytest

from mixlab import (
    bedside,
    draw_up,
    lesson_order,
    live_dose,
    order_check,
    plan_dose,
    read_order,
    treat_low,
    when_it_acts,
)
from mixlab.care.dosing import MustNotMix
from mixlab.ward.site.record import teaching_site
from mixlab.ward.site.values.choices import mixable

PANELS = (live_dose, when_it_acts, draw_up, bedside, treat_low, order_check)
TEACHING = teaching_site()
WARDS = [replace(TEACHING, name="the ward apart", never_mix=mixable()[: at + 1]) for at in range(len(mixable()))]
NO_PAIR = WARDS[-1]
BAN = "regular insulin and NPH insulin are not mixed at the ward apart in one syringe. Ordered for one time, they are two syringes and two injections: ask the prescriber."


def said(panel):
    return "".join(part.value for part in panel._parts() if isinstance(getattr(part, "value", None), str))


@pytest.mark.parametrize("show", PANELS, ids=lambda show: show.__name__)
class TestEveryPanel:
    @pytest.mark.parametrize("ward", WARDS, ids=lambda ward: str(len(ward.never_mix)))
    def test_says_which_pair_is_forbidden_and_what_to_do(self, show, ward):
        panel = show(site=ward)
        assert BAN in said(panel)
        goes_on = "This lesson goes on with insulin " in said(panel)
        assert (goes_on, "This ward allows no pair" in said(panel)) == (ward != NO_PAIR, ward == NO_PAIR)
        assert not [
            part for part in panel._pictures if part.stale and part is not getattr(panel, "bench_picture", None)
        ]

    def test_says_nothing_of_it_where_the_pair_is_mixed(self, show):
        assert "two syringes" not in said(show(site=TEACHING))
        assert "two syringes" not in said(show(site=replace(TEACHING, never_mix=mixable()[1:])))


@pytest.mark.parametrize("ward", WARDS[:-1], ids=lambda ward: str(len(ward.never_mix)))
def test_the_lesson_goes_on_with_the_first_pair_that_the_ward_allows(ward):
    order = read_order(lesson_order(site=ward))
    assert f"{order.clear.insulin.key} + {order.cloudy.insulin.key}" == mixable()[len(ward.never_mix)]
    assert live_dose(site=ward).plan == plan_dose(order, ward)
    for panel in (live_dose(site=ward), when_it_acts(site=ward)):
        assert not panel.message
        panel.set(order=lesson_order(site=TEACHING))
        assert "Do not draw them up together: ask the prescriber" in panel.message
        assert all(picture.stale for picture in panel._pictures)
    assert draw_up(site=ward).trace.last.kinds


@pytest.mark.parametrize("show", [live_dose, when_it_acts], ids=lambda show: show.__name__)
def test_where_no_pair_is_allowed_nothing_is_drawn_and_every_order_is_refused(show):
    panel = show(site=NO_PAIR)
    assert panel._pictures == ()
    for pair in mixable():
        clear = read_order(lesson_order(site=replace(TEACHING, never_mix=mixable()[: mixable().index(pair)])))
        with panel.trying(order=str(clear)):
            assert "Do not draw them up together: ask the prescriber" in panel.message
    panel.set(clear=9)
    assert "9 units" in panel.order_text.value
    assert "Do not draw them up together: ask the prescriber" in panel.message
    with pytest.raises(MustNotMix):
        _ = panel.plan
