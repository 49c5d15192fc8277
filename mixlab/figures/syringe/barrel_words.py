"""The syringe at its two moments, in words."""

from __future__ import annotations

from mixlab.care.dosing import Plan, gives_air
from mixlab.quantities import ml_text, units_text
from mixlab.words import say, sentence


def describe_barrel(plan: Plan) -> str:
    """Return the reading of the drawn syringes in words."""
    clear, cloudy = plan.clear.insulin, plan.cloudy.insulin
    return say(
        _WITH_AIR if gives_air(plan.site) else _WITHOUT_AIR,
        syringe=plan.syringe.name,
        air_into_cloudy=units_text(plan.air_into_cloudy),
        cloudy=cloudy,
        air_into_clear=units_text(plan.air_into_clear),
        clear=clear,
        clear_mark=units_text(plan.clear_mark),
        total_mark=units_text(plan.total_mark),
        total_volume=ml_text(plan.total_mark),
        cloudy_amount=units_text(plan.cloudy.units),
        clear_amount=units_text(plan.clear.units),
    )


_WITH_AIR = sentence(
    "{syringe}. First {air_into_cloudy} of air into the {cloudy} vial, then {air_into_clear} of air into the {clear} vial. After the clear draw the stopper's edge stands at {clear_mark}, all {clear}. After the cloudy draw it stands at {total_mark}, {total_volume}: {cloudy_amount} of {cloudy} next to the needle and {clear_amount} of {clear} behind it."
)

_WITHOUT_AIR = sentence(
    "{syringe}. No air goes into the vials on this ward. After the clear draw the stopper's edge stands at {clear_mark}, all {clear}. After the cloudy draw it stands at {total_mark}, {total_volume}: {cloudy_amount} of {cloudy} next to the needle and {clear_amount} of {clear} behind it."
)
