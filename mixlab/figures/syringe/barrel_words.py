"""What the drawn syringes show, in words."""

from __future__ import annotations

from mixlab.care.dosing import Plan, gives_air
from mixlab.facts.reading import the_facts
from mixlab.quantities import ml_text, units_text
from mixlab.ward.syringe import Syringe
from mixlab.words import say, sentence

APART = sentence("Drawn apart to show the shares; in a real barrel they run together.")


def scale_words(syringe: Syringe, before: Syringe | None = None) -> tuple[str, str]:
    """Return which syringe it is, and that it is another one than before, and what one line of it means."""
    volume = ml_text(syringe.capacity_units)
    name = say("Another syringe: {volume}.", volume=volume) if before else say("{volume} syringe.", volume=volume)
    if syringe.graduation_units == 0.5:
        return name, say("One line is half a {unit}.")
    return name, say("One line is {step}.", step=units_text(syringe.graduation_units))


def describe_barrel(plan: Plan, *, held: bool = False, before: Syringe | None = None) -> str:
    """Return the reading of the drawn syringes in words, and first that nothing is drawn up now where that is so."""
    clear, cloudy = plan.clear.insulin, plan.cloudy.insulin
    words = the_facts().phrases["no-drawing-up"].text.with_capitals()
    return (say("{words}. If the order stands later, it is drawn up like this: ", words=words) if held else "") + say(
        _WITH_AIR if gives_air(plan.site) else _WITHOUT_AIR,
        syringe=sentence("{syringe}, another one than before", syringe=plan.syringe.name)
        if before
        else plan.syringe.name,
        air_into_cloudy=units_text(plan.air_into_cloudy),
        cloudy=cloudy,
        air_into_clear=units_text(plan.air_into_clear),
        clear=clear,
        clear_mark=units_text(plan.clear_mark),
        total_mark=units_text(plan.total_mark),
        total_volume=ml_text(plan.total_mark),
        cloudy_amount=units_text(plan.cloudy.units),
        clear_amount=units_text(plan.clear.units),
        apart=APART,
    )


_WITH_AIR = sentence(
    "{syringe}. First {air_into_cloudy} of air into the {cloudy} vial, then {air_into_clear} of air into the {clear} vial. After the clear draw the stopper's edge stands at {clear_mark}, all {clear}. After the cloudy draw it stands at {total_mark}, {total_volume}: {cloudy_amount} of {cloudy} next to the needle and {clear_amount} of {clear} behind it. {apart}"
)

_WITHOUT_AIR = sentence(
    "{syringe}. No air goes into the vials on this ward. After the clear draw the stopper's edge stands at {clear_mark}, all {clear}. After the cloudy draw it stands at {total_mark}, {total_volume}: {cloudy_amount} of {cloudy} next to the needle and {clear_amount} of {clear} behind it. {apart}"
)
