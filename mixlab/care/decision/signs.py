"""What the signs and the alertness ask for. Signs outrank a reassuring number."""

from __future__ import annotations

from collections.abc import Iterator

from mixlab.facts.reading import the_facts
from mixlab.ward.observation import Observation
from mixlab.ward.site.record import Site
from mixlab.words import joined

from .answers import Reason, reason
from .readings import Reading
from .swallowing import feels, felt, sign_text, signs_of


def sign_reasons(observation: Observation, reading: Reading, site: Site) -> Iterator[Reason]:
    """Yield what the signs and the alertness ask for."""
    if observation.signs is None:
        yield reason("signs-not-looked-for", site)
    if observation.alertness is None:
        yield reason("alertness-not-looked-at", site)
    signs, helpless = felt(observation), signs_of("needs-help")
    grave = joined(sign_text(sign) for sign in signs if sign in helpless)
    others = joined(sign_text(sign) for sign in signs if sign not in helpless)
    high = "" if not reading.high_with_signs else "very high" if reading.high else "high"
    if grave and not reading.not_low:
        so = "" if reading.known else "no reading"
        yield reason("level-3", site, so=so, signs=grave, call=the_facts().notify["unresponsive-low"].do)
    elif grave:
        yield reason("emergency-not-low", site, so=high, signs=grave)
    if not others:
        return
    if not reading.known:
        yield reason("signs-without-reading", site, signs=others)
    elif reading.low:
        yield reason("signs-with-low", site, signs=others)
    elif high:
        yield reason("signs-with-high", site, so="very high" if reading.high else "", Signs=others.with_capitals())
    elif vague(observation, reading):
        yield reason("vague-sign", site, Signs=others.with_capitals(), reading=reading.shown)
    elif feels(observation, "urgent"):
        yield reason("urgent-signs-not-low", site, signs=others)
    else:
        yield reason("signs-outrank-number", site, signs=others)


def vague(observation: Observation, reading: Reading) -> bool:
    """Say whether there is one sign alone, one that has many causes, at a comfortable reading, and no low has been treated."""
    treated = observation.treated_as_low or observation.minutes_after_treatment is not None
    one_alone = len(felt(observation)) == 1 and feels(observation, "vague")
    return one_alone and reading.comfortable and not treated


def signs_and_no_low(observation: Observation, reading: Reading) -> bool:
    """Say whether there are signs that the number does not explain."""
    return reading.not_low and bool(felt(observation))
