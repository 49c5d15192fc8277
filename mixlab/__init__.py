"""mixlab: two insulins in one syringe, computed and drawn for a class.

For teaching only: follow the prescriber's order, local policy and a licensed practitioner.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from .words import Voice, ask_before_the_first_sentence

if TYPE_CHECKING:
    from mixlab.adapting.cohort.copies import cohort_copy
    from mixlab.adapting.cohort.stamp import cohort_stamp
    from mixlab.adapting.compare.comparison import compare_sites
    from mixlab.adapting.desk import adapt_site
    from mixlab.care.action.curves import action_curves
    from mixlab.care.bench.variants import wrong_run
    from mixlab.care.day.planning import day_plan
    from mixlab.care.decision.deciding import decide
    from mixlab.care.dosing import plan_dose
    from mixlab.care.low.treatment import walk
    from mixlab.care.order.checking import order_concerns
    from mixlab.care.review.findings import review
    from mixlab.ward.meal import Meal
    from mixlab.ward.meter import read_meter
    from mixlab.ward.observation import Earlier, Observation
    from mixlab.ward.order.reading import read_order
    from mixlab.ward.site.in_force import example_sites, load_site, site_in_force, site_text, use_site, write_site_file
    from mixlab.ward.site.record import teaching_site

    from .quantities import Glucose

__all__ = [
    "Earlier",
    "Glucose",
    "Meal",
    "Observation",
    "action_curves",
    "adapt_site",
    "cohort_copy",
    "cohort_stamp",
    "compare_sites",
    "day_plan",
    "decide",
    "example_sites",
    "load_site",
    "order_concerns",
    "plan_dose",
    "read_meter",
    "read_order",
    "review",
    "site_in_force",
    "site_text",
    "teaching_site",
    "use_site",
    "walk",
    "write_site_file",
    "wrong_run",
]

_HOME = {
    "Glucose": "quantities",
    "Earlier": "ward.observation",
    "Meal": "ward.meal",
    "Observation": "ward.observation",
    "action_curves": "care.action.curves",
    "adapt_site": "adapting.desk",
    "cohort_copy": "adapting.cohort.copies",
    "cohort_stamp": "adapting.cohort.stamp",
    "compare_sites": "adapting.compare.comparison",
    "day_plan": "care.day.planning",
    "decide": "care.decision.deciding",
    "example_sites": "ward.site.in_force",
    "load_site": "ward.site.in_force",
    "order_concerns": "care.order.checking",
    "plan_dose": "care.dosing",
    "read_meter": "ward.meter",
    "read_order": "ward.order.reading",
    "review": "care.review.findings",
    "site_in_force": "ward.site.in_force",
    "site_text": "ward.site.in_force",
    "teaching_site": "ward.site.record",
    "use_site": "ward.site.in_force",
    "walk": "care.low.treatment",
    "write_site_file": "ward.site.in_force",
    "wrong_run": "care.bench.variants",
}
"""Where each name of the front desk lives. A home is loaded when its name is first asked for: a notebook pays only for what
it uses."""


def _voice_in_force() -> Voice:
    """Return how the site in force speaks; a faulty site file is told by what needs the site, and words stay plain."""
    from mixlab.ward.site.faults import SiteError
    from mixlab.ward.site.in_force import site_in_force

    try:
        return site_in_force().voice
    except SiteError:
        return Voice()


ask_before_the_first_sentence(_voice_in_force)


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOME[name]}", __name__), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
