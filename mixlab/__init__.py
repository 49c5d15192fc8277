"""mixlab: two insulins in one syringe, computed and drawn for a class.

For teaching only: follow the prescriber's order, local policy and a licensed practitioner.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from .words import Voice, ask_before_the_first_sentence

if TYPE_CHECKING:
    from .adapting.cohort import cohort_copy
    from .adapting.comparing import compare_sites
    from .adapting.desk import adapt_site
    from .adapting.stamp import cohort_stamp
    from .care.action import action_curves
    from .care.concerns import order_concerns
    from .care.decision import decide
    from .care.dosing import plan_dose
    from .care.review import review
    from .care.timing import day_plan
    from .care.treating import walk
    from .care.variants import wrong_run
    from .quantities import Glucose
    from .ward.meal import Meal
    from .ward.meter import read_meter
    from .ward.observation import Earlier, Observation
    from .ward.reading import read_order
    from .ward.site import example_sites, load_site, site_in_force, site_text, teaching_site, use_site, write_site_file

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
    "Earlier": "ward.observation",
    "Glucose": "quantities",
    "Meal": "ward.meal",
    "Observation": "ward.observation",
    "action_curves": "care.action",
    "adapt_site": "adapting.desk",
    "cohort_copy": "adapting.cohort",
    "cohort_stamp": "adapting.stamp",
    "compare_sites": "adapting.comparing",
    "day_plan": "care.timing",
    "decide": "care.decision",
    "example_sites": "ward.site",
    "load_site": "ward.site",
    "order_concerns": "care.concerns",
    "plan_dose": "care.dosing",
    "read_meter": "ward.meter",
    "read_order": "ward.reading",
    "review": "care.review",
    "site_in_force": "ward.site",
    "site_text": "ward.site",
    "teaching_site": "ward.site",
    "use_site": "ward.site",
    "walk": "care.treating",
    "write_site_file": "ward.site",
    "wrong_run": "care.variants",
}
"""Where each name of the front desk lives. A home is loaded when its name is first asked for: a notebook pays only for what
it uses."""


def _voice_in_force() -> Voice:
    """Return how the site in force speaks; a faulty site file is told by what needs the site, and words stay plain."""
    from .ward.site import SiteError, site_in_force

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
