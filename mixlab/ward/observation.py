"""What the nurse finds at the bedside before a dose."""

from __future__ import annotations

from dataclasses import dataclass

from ..quantities import Glucose


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
    """

    glucose: Glucose | None = None
    signs: tuple[str, ...] | None = None
    eating: bool | None = None
    minutes_old: float | None = 0.0
