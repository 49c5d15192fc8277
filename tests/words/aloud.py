"""What care returns, as it is read: every sentence of it said."""

from contextlib import nullcontext
from dataclasses import fields, replace
from types import SimpleNamespace

from mixlab.care.decision.answers import Reason
from mixlab.care.decision.deciding import Decision
from mixlab.care.decision.steps import Step
from mixlab.care.decision.telling import Condition, Tell
from mixlab.care.low.feedback import Remark
from mixlab.care.low.next_due import Due
from mixlab.care.low.treatment import Moment
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, speaking


def said(held: object, site: Site | None = None) -> object:
    """Return a decision, or the moments of a walk, with their sentences said in the words of a site or of the one in force."""
    with nullcontext() if site is None else speaking(site.voice):
        return _said(held)


def _said(held: object) -> object:
    if isinstance(held, Sentence | Step | Tell | Condition | Due | Remark):
        return str(held)
    if isinstance(held, tuple):
        return tuple(map(_said, held))
    if isinstance(held, Reason):
        return replace(held, text=str(held.text), rule=str(held.rule))
    if isinstance(held, Decision | Moment):
        more = {"next_steps": held.next_steps} if isinstance(held, Decision) else {"remark": held.remark}
        parts = {part.name: getattr(held, part.name) for part in fields(held)} | more
        return SimpleNamespace(**{name: _said(part) for name, part in parts.items()})
    return held
