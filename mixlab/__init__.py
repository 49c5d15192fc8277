"""mixlab: two insulins in one syringe, computed and drawn for a class.

For teaching only: follow the prescriber's order, local policy and a licensed practitioner.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from .care.concerns import order_concerns
from .care.decision import decide
from .care.dosing import plan_dose
from .care.review import review
from .care.treating import walk
from .care.variants import wrong_run
from .quantities import Glucose
from .ward.meal import Meal
from .ward.meter import read_meter
from .ward.observation import Earlier, Observation
from .ward.reading import read_order
from .ward.site import example_sites, load_site, teaching_site

if TYPE_CHECKING:
    from .care.action import action_curves
    from .care.timing import day_plan

_WITH_NUMPY = {"action_curves": ".care.action", "day_plan": ".care.timing"}
"""Names that are fetched when first asked for: numpy takes as long to load as all the rest."""

__all__ = [
    "Earlier",
    "Glucose",
    "Meal",
    "Observation",
    "action_curves",
    "day_plan",
    "decide",
    "example_sites",
    "load_site",
    "order_concerns",
    "plan_dose",
    "read_meter",
    "read_order",
    "review",
    "teaching_site",
    "walk",
    "wrong_run",
]


def __getattr__(name: str) -> Any:
    if name not in _WITH_NUMPY:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_WITH_NUMPY[name], __name__), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
