"""mixlab: two insulins in one syringe, computed and drawn for a class.

For teaching only: follow the prescriber's order, local policy and a licensed practitioner.
"""

from .care.action import action_curves
from .care.decision import decide
from .care.dosing import plan_dose
from .care.review import review
from .care.variants import wrong_run
from .quantities import Glucose
from .ward.observation import Observation
from .ward.order import read_order
from .ward.site import load_site, teaching_site

__all__ = [
    "Glucose",
    "Observation",
    "action_curves",
    "decide",
    "load_site",
    "plan_dose",
    "read_order",
    "review",
    "teaching_site",
    "wrong_run",
]
