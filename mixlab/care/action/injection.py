"""What is really under the skin after one injection: as ordered, or as one slip would have it.

Every slip raises as :func:`as_ordered` does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact
from mixlab.quantities import NotAnAmount, number_text, units_text
from mixlab.ward.insulin import Insulin
from mixlab.ward.order.order import Dose, Order
from mixlab.words import Sentence, sentence

from .absorption import NoModel, absorption_of, half_time


@dataclass(frozen=True, kw_only=True)
class Portion:
    """So many units of one insulin under the skin.

    Attributes
    ----------
    depot_units : float
        The dose that its half-time follows: the same units, or those of the whole depot it is part of.
    """

    insulin: Insulin
    units: float
    depot_units: float


@dataclass(frozen=True, kw_only=True)
class Injection:
    """A clear and a cloudy portion, and in words what happened.

    Attributes
    ----------
    slipped : bool
        Whether it is something else than what was ordered.
    spoiled : bool
        Whether the slip is at the clear vial: cloudy insulin got into it.
    basis : tuple of Fact
        What the amounts rest on besides the order.
    """

    clear: Portion
    cloudy: Portion
    words: Sentence
    slipped: bool = True
    spoiled: bool = False
    basis: tuple[Fact, ...] = ()

    @property
    def extrapolated(self) -> bool:
        """Whether an amount lies beyond what the model was made for."""
        limit = the_facts().action["extrapolated_above_units"].value
        return max(self.clear.depot_units, self.cloudy.depot_units) > limit


def half_time_at(portion: Portion, body_site: str) -> float:
    """Return T50 in h of a portion at a place on the body.

    Raises
    ------
    NoModel
        For an insulin without figures, or a place on the body without any.
    """
    sites = the_facts().body_sites
    row = absorption_of(portion.insulin)
    if body_site not in sites:
        unknown = sentence("The model knows no injection site {body_site!r}. Choose one of {known}.")
        raise NoModel(unknown.filled(body_site=body_site, known=", ".join(sites)))
    return half_time(portion.depot_units, row) * sites[body_site].half_time[portion.insulin.key].value


def as_ordered(order: Order) -> Injection:
    """Return the injection that was ordered.

    Raises
    ------
    NotAnAmount
        For a dose that is not a number above 0.
    NoModel
        For an insulin without figures, or a dose larger than any syringe holds.
    NotOneClearOneCloudy
        For two insulins of one look.
    """
    doses = (order.clear, order.cloudy)
    for dose in doses:
        _check(dose)
    for dose in doses:
        absorption_of(dose.insulin)
    clear, cloudy = (_alone(dose.insulin, float(dose.units)) for dose in doses)
    return Injection(clear=clear, cloudy=cloudy, words=sentence("as ordered"), slipped=False)


def swapped(order: Order) -> Injection:
    """Return what is given when each insulin is drawn to the dose of the other."""
    right = as_ordered(order)
    return Injection(
        clear=_alone(right.clear.insulin, right.cloudy.units),
        cloudy=_alone(right.cloudy.insulin, right.clear.units),
        words=sentence(
            "the two doses swapped: {clear_amount} of {clear} and {cloudy_amount} of {cloudy}",
            clear_amount=units_text(right.cloudy.units),
            clear=right.clear.insulin.name,
            cloudy_amount=units_text(right.clear.units),
            cloudy=right.cloudy.insulin.name,
        ),
    )


def from_clear_layer(order: Order) -> Injection:
    """Return what is given from a cloudy vial not rolled, drawn from its clear layer (strength: Lucidi 2018; read)."""
    return _from_layer(order, the_facts().bench["clear_layer"], sentence("the clear layer"))


def from_sediment(order: Order) -> Injection:
    """Return what is given from a cloudy vial not rolled, drawn from its sediment (strength: Lucidi 2018; read)."""
    return _from_layer(order, the_facts().bench["cloudy_layer"], sentence("the sediment"))


def _from_layer(order: Order, strength: Fact, layer: Sentence) -> Injection:
    right = as_ordered(order)
    units = right.cloudy.units * strength.value
    return Injection(
        clear=right.clear,
        cloudy=_alone(right.cloudy.insulin, units),
        words=sentence(
            "the {insulin} vial was not rolled and {layer} was drawn: about {shown} of {insulin}",
            insulin=right.cloudy.insulin.name,
            layer=layer,
            shown=units_text(float(f"{units:.3g}")),
        ),
        basis=(strength,),
    )


def contaminated(order: Order, fraction: float) -> Injection:
    """Return the injection if so much of the clear insulin behaved as the cloudy one: an upper bound, not a measurement.

    Parameters
    ----------
    order : Order
        One clear and one cloudy insulin.
    fraction : float
        The part of the clear dose that behaves as cloudy, 0 to 1.

    Raises
    ------
    NotAnAmount
        For a fraction outside 0 to 1.
    """
    if isinstance(fraction, bool) or not 0 <= fraction <= 1:
        wrong = sentence("A fraction of {fraction} is not possible. Enter a number from 0 to 1.")
        raise NotAnAmount(wrong.filled(fraction=fraction))
    right = as_ordered(order)
    moved = fraction * right.clear.units
    return Injection(
        clear=Portion(insulin=right.clear.insulin, units=right.clear.units - moved, depot_units=right.clear.units),
        cloudy=_alone(right.cloudy.insulin, right.cloudy.units + moved),
        words=sentence(
            "if {percent} % of the {clear} behaved as {cloudy} (our upper bound, no study)",
            percent=number_text(round(100 * fraction, 1)),
            clear=right.clear.insulin.name,
            cloudy=right.cloudy.insulin.name,
        ),
        slipped=fraction > 0,
        spoiled=fraction > 0,
    )


def _alone(insulin: Insulin, units: float) -> Portion:
    return Portion(insulin=insulin, units=units, depot_units=units)


def _check(dose: Dose) -> None:
    units = dose.units
    if isinstance(units, bool) or not 0 < units < math.inf:
        wrong = sentence("No action can be computed for {amount} {units} of {insulin}. Enter a dose above 0.")
        raise NotAnAmount(wrong.filled(amount=units, insulin=dose.insulin.name))
    most = the_facts().action["refused_above_units"].value
    if units > most:
        wrong = sentence(
            "No curve is drawn for {amount} of {insulin}: no insulin syringe here holds more than {most}. Check the dose with the {prescriber}."
        )
        raise NoModel(wrong.filled(amount=units_text(units), insulin=dose.insulin.name, most=units_text(most)))
