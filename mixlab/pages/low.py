"""The log of a low: what was done at each moment, what followed, what was not right, and what is due now."""

from __future__ import annotations

from collections.abc import Sequence

from mixlab.care.decision.answers import answer_text
from mixlab.care.decision.swallowing import felt, sign_text
from mixlab.care.low.events import (
    CallForHelp,
    Carbohydrate,
    Eat,
    EmergencyTreatment,
    Measure,
    TellNurse,
    TellPrescriber,
    Wait,
)
from mixlab.care.low.treatment import Moment
from mixlab.ward.observation import Observation
from mixlab.words import Sentence, counted, joined, sentence

from .engine import render

_NO_SIGNS, _NOT_LOOKED = sentence("no signs"), sentence("nobody looked for signs")
_FASTING, _VOMITING = sentence("fasting"), sentence("vomiting")


def log_html(moments: Sequence[Moment]) -> str:
    """Return every moment, a line each, and what is due after the last."""
    return render(
        "low_log", lines=[_line(moment) for moment in moments], due=sentence("<b>Now:</b> {due}", due=moments[-1].due)
    )


def event_words(moment: Moment) -> Sentence:
    """Return what was done, in words."""
    reading = moment.decision.reading
    match moment.event:
        case None:
            return sentence("found with {reading}, {signs}", reading=reading, signs=_seen(moment.observation))
        case Carbohydrate(grams):
            return sentence("{grams} g of fast carbohydrate by mouth", grams=grams)
        case EmergencyTreatment():
            return sentence("treated not by mouth, by the emergency protocol")
        case Wait(minutes):
            return counted(minutes, "waited {count} minute", "waited {count} minutes", count=minutes)
        case Measure():
            return sentence("measured {reading}, {seen}", reading=reading, seen=_seen(moment.observation))
        case Eat():
            return sentence("food eaten")
        case TellNurse():
            return sentence("nurse in charge told")
        case TellPrescriber(says_give):
            if says_give:
                return sentence("{prescriber} told, who says to give this dose")
            return sentence("{prescriber} told, who says to wait")
        case CallForHelp():
            return sentence("called for help")


def _line(moment: Moment) -> tuple[Sentence, Sentence]:
    """Return what happened and what was not right about it, both marked up; the second is empty if all was right."""
    line = sentence(
        "minute {minute}: {event} → <b>{answer}</b>.",
        minute=moment.minute,
        event=event_words(moment),
        answer=answer_text(moment.decision.choice),
    )
    remark = moment.remark
    return line, sentence("<b>Not right:</b> {remark}", remark=remark) if remark else Sentence("")


def _seen(observation: Observation) -> Sentence:
    """Return the signs, how awake the patient is among them, and what keeps food away; who was not looked at is not without signs."""
    signs = [sign_text(sign) for sign in felt(observation)]
    if observation.signs is None:
        signs.append(_NOT_LOOKED)
    elif not signs:
        signs.append(_NO_SIGNS)
    also = (_FASTING,) * observation.fasting + (_VOMITING,) * observation.vomiting
    return joined((*signs, *also))
