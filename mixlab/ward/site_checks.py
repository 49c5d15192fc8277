"""Whether the values of a site go together and are safe, or have a recorded reason; every fault is listed, none raised."""

from __future__ import annotations

from collections.abc import Iterator

from ..quantities import MINUTES_A_DAY, Glucose, read_clock
from ..words import mark, say
from .lines import line_text
from .site_faults import SiteFault, nearest
from .site_keys import KEYS
from .site_record import LINES, Site, teaching_site

SHORTEST_REASON = 3
"""Words of the shortest recorded reason."""


def check_site(
    site: Site, passing: frozenset[str] = frozenset(), written: frozenset[str] = frozenset()
) -> list[SiteFault]:
    """Return what is unsafe on a site, or contradicts itself.

    Parameters
    ----------
    site : Site
        The site.
    passing : frozenset of str, optional
        Keys that are at fault already; they are not checked.
    written : frozenset of str, optional
        Keys that stand in the file; of two values that do not go together, one of these is named.
    """
    faults = [*_reason_faults(site), *_unit_faults(site, passing)]
    seen = passing | {fault.key for fault in faults}
    for key in KEYS:
        check = getattr(key.kind, "faults", None)
        if check is None or key.name in seen:
            continue
        found = check(key.of(site), site.reasons.get(key.name, ""))
        if found:
            part, wrong, allowed = found
            faults.append(SiteFault(key=f"{key.name}.{part}" if part else key.name, wrong=wrong, allowed=allowed))
            seen |= {key.name}
    return [*faults, *(fault for fault in _order_faults(site, seen, written) if fault.key not in seen)]


def _reason_faults(site: Site) -> Iterator[SiteFault]:
    names = [key.name for key in KEYS]
    for key, reason in site.reasons.items():
        place = f"reasons.{key}"
        if key not in names:
            yield SiteFault(
                key=place,
                wrong=say("there is no key of this name to give a reason for"),
                allowed=say("take it out or correct its spelling"),
                nearest=nearest(key, names),
            )
        elif not isinstance(reason, str) or len(reason.split()) < SHORTEST_REASON or not reason.isprintable():
            yield SiteFault(
                key=place,
                wrong=say("this says too little for somebody who reads it next year"),
                allowed=say(
                    "write the reason as a sentence of at least {count} words on one line", count=SHORTEST_REASON
                ),
            )


def _unit_faults(site: Site, passing: frozenset[str]) -> Iterator[SiteFault]:
    """Refuse a line in the other unit; one left as on the teaching site may stay in its own."""
    if "glucose_unit" in passing:
        return
    for name in LINES:
        line, ours = getattr(site, name), getattr(teaching_site(), name)
        same = line and ours and (line.value, line.unit, line.comparison) == (ours.value, ours.unit, ours.comparison)
        if line and line.unit != site.glucose_unit and not same and name not in passing:
            yield SiteFault(
                key=name,
                wrong=say(
                    "this line is in {other}, and the glucose unit of the site is {own}",
                    other=line.unit,
                    own=site.glucose_unit,
                ),
                allowed=say("write every line of the site in its glucose unit"),
            )


_NAMED = {
    "hold_line": mark("the hold line ({line})"),
    "level_2_line": mark("the line of a serious low ({line})"),
    "report_line": mark("the report line ({line})"),
    "near_low_line": mark("the line near a low ({line})"),
}

_BELOW_ANOTHER = (
    ("level_2_line", "hold_line"),
    ("hold_line", "report_line"),
    ("hold_line", "near_low_line"),
    ("near_low_line", "report_line"),
)
"""Which line lies below which; only a serious low may begin where a low does."""


def _order_faults(site: Site, passing: frozenset[str], written: frozenset[str]) -> Iterator[SiteFault]:
    """Refuse lines that cross, a meter that ends before it begins or cannot see a line, and a day without hours.

    Of the two values that do not go together the one that the file sets is at fault.
    """
    for lower, upper in _BELOW_ANOTHER:
        low, high = getattr(site, lower), getattr(site, upper)
        if low is None or high is None or not passing.isdisjoint({lower, upper}):
            continue
        gap = Glucose(high.value, high.unit).to("mg/dL").value - Glucose(low.value, low.unit).to("mg/dL").value
        if gap > _SAME_LINE or (lower == "level_2_line" and gap >= -_SAME_LINE):
            continue
        if upper in written or lower not in written:
            other, wrong, allowed = (low, lower), mark("it does not lie above {other}"), mark("raise it")
        else:
            other, wrong, allowed = (high, upper), mark("it does not lie below {other}"), mark("lower it")
        named = say(_NAMED[other[1]], line=line_text(other[0]))
        key = lower if other[1] == upper else upper
        yield SiteFault(key=key, wrong=say(wrong, other=named), allowed=say(allowed))
    bed, waking = (read_clock(times.at[0]) for times in (site.bedtime, site.waking))
    if passing.isdisjoint({"bedtime", "waking"}) and not 0 < bed.until(bed.next(waking)) < MINUTES_A_DAY * 2 // 3:
        yield SiteFault(
            key="bedtime" if "bedtime" in written or "waking" not in written else "waking",
            wrong=say("from {bed} to {waking} leaves no day", bed=bed, waking=waking),
            allowed=say("correct bedtime or waking"),
        )
    ends = {name: getattr(site, name) for name in ("meter_low", "meter_high")}
    lowest, highest = (Glucose(end.value, end.unit).to("mg/dL").value for end in ends.values())
    serious = Glucose(site.level_2_line.value, site.level_2_line.unit).to("mg/dL").value
    if passing.isdisjoint({*ends, "level_2_line"}) and not lowest < serious < highest:
        yield SiteFault(
            key="meter_low" if "meter_low" in written or "level_2_line" not in written else "level_2_line",
            wrong=say("the meter cannot show a serious low ({line})", line=line_text(site.level_2_line)),
            allowed=say("set the meter's ends and the line so that it can"),
        )


_SAME_LINE = 0.5
"""Lines closer than this, in mg/dL, are one line: 54 mg/dL and 3.0 mmol/L differ by the rounding of a meter only."""
