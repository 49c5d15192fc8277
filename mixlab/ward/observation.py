"""What the nurse finds at the bedside before a dose."""

from __future__ import annotations

from dataclasses import dataclass

from ..quantities import Glucose, NotAnAmount


@dataclass(frozen=True, kw_only=True)
class Observation:
    """Glucose, signs and meal, as found. `None` always means 'not known', which is never the same as 'no'.

    Attributes
    ----------
    glucose : Glucose or None
        The reading; None if there is none to be had.
    signs : tuple of str or None
        Signs of hypoglycaemia seen or told, by their keys in the facts; empty if looked for and absent, None if nobody
        has looked.
    eating : bool or None
        Whether the patient will eat the meal this dose belongs to.
    minutes_old : float or None
        Age of the reading in minutes; None if nobody noted the time.

    Raises
    ------
    NotAnAmount
        For a glucose without a unit, or signs that are not a list.
    """

    glucose: Glucose | None = None
    signs: tuple[str, ...] | None = None
    eating: bool | None = None
    minutes_old: float | None = 0.0

    def __post_init__(self) -> None:
        if self.glucose is not None and not isinstance(self.glucose, Glucose):
            raise NotAnAmount(f"{self.glucose!r} has no unit. Write Glucose({self.glucose!r}, 'mg/dL') or 'mmol/L'.")
        if isinstance(self.signs, str):
            raise NotAnAmount(f"Write the signs as a list, even for one: ({self.signs!r},).")
