"""What the meal asks for. Without one each insulin is its own question."""

from __future__ import annotations

from collections.abc import Iterator

from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site

from .answers import Reason, reason, says_give
from .readings import Reading
from .swallowing import mouth


def meal_reasons(order: Order, observation: Observation, reading: Reading, site: Site) -> Iterator[Reason]:
    """Yield what the meal, the swallowing, and the food that is due after a low ask for."""
    told = says_give(observation)
    if observation.eating is None:
        yield reason("meal-unknown", site)
    if observation.can_swallow is False:
        yield reason("cannot-swallow", site, told=told)
    if observation.vomiting:
        yield reason("vomits", site, told=told)
    if observation.fasting:
        yield reason("fasts", site, told=told)
    if observation.eating is False or observation.fasting:
        clear, cloudy = order.clear.insulin.name, order.cloudy.insulin.name
        yield reason("not-eating-clear", site, told=told, Clear=clear.with_capitals(), clear=clear)
        yield reason("not-eating-cloudy", site, told=told, cloudy=cloudy)
    if observation.meal_late:
        yield reason("meal-late", site, told=told)
    if observation.food_due and not reading.low:
        without = observation.fasting or mouth(observation) == "nothing"
        yield reason("food-due", site, so="no food by mouth" if without else "")
