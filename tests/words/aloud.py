"""What care returns, as it is read: every sentence of it said."""

from contextlib import nullcontext
from dataclasses import fields, replace

from mixlab.care.decision.answers import Reason
from mixlab.care.decision.deciding import Decision
from mixlab.care.low.treatment import Moment
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, speaking


def said(held: object, site: Site | None = None) -> object:
    """Return a decision, or the moments of a walk, with their sentences said in the words of a site or of the one in force."""
    with nullcontext() if site is None else speaking(site.voice):
        return _said(held)


def _said(held: object) -> object:
    if isinstance(held, Sentence):
        return str(held)
    if isinstance(held, tuple):
        return tuple(map(_said, held))
    if isinstance(held, Decision | Reason | Moment):
        return replace(held, **{part.name: _said(getattr(held, part.name)) for part in fields(held)})
    return held
