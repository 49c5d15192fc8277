"""What is wrong with a vial's label for an order on a ward."""

from __future__ import annotations

from mixlab.care.bench.checking import is_expired
from mixlab.care.bench.vessels import Vial
from mixlab.quantities import UNITS_PER_ML

from .run_record import Watched

DATES = {"expired", "opened too long"}
"""What can be wrong with the dates of a label."""


def label_faults(vial: Vial, run: Watched) -> set[str]:
    """Return all that a label shows against using a vial, as keys of `LABEL_FINDS`; empty where it may be used."""
    kept = run.site.opened_days[vial.insulin].value if vial.insulin in run.site.opened_days else None
    seen = {
        "another insulin": vial.insulin not in run.doses,
        "another strength": vial.strength != UNITS_PER_ML,
        "expired": is_expired(vial),
        "opened too long": kept is not None and vial.opened_days > kept,
    }
    return {key for key, is_so in seen.items() if is_so}
