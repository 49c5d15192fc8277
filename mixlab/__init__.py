"""mixlab: two insulins in one syringe, computed and drawn for a class.

For teaching only: follow the prescriber's order, local policy and a licensed practitioner.
"""

from .care.action import action_curves
from .care.concerns import order_concerns
from .care.decision import decide
from .care.dosing import plan_dose
from .care.review import review
from .care.treating import walk
from .care.variants import wrong_run
from .quantities import Glucose
from .ward.meter import read_meter
from .ward.observation import Earlier, Observation
from .ward.reading import read_order
from .ward.site import example_sites, load_site, teaching_site

__all__ = [
    "Earlier",
    "Glucose",
    "Observation",
    "action_curves",
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
