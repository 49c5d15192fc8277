"""The words of a site: its terms, how it writes numbers and dates, and every sentence of the catalogue as it says it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from mixlab.adapting.catalogue import messages
from mixlab.quantities import units_text
from mixlab.ward.meter import ends_of_range
from mixlab.ward.site.glucose_lines import line_text
from mixlab.ward.site.keys import KEYS
from mixlab.ward.site.record import Site
from mixlab.words import TERMS, date_text, decimal_text, say, sentence, voice_now

from .outputs import each_once, kind_of_output, named

A_DAY = date(2026, 11, 26)


@kind_of_output("terms", title=sentence("Terms, numbers and dates").key)
def list_terms(site: Site) -> Mapping[str, str]:
    """Return what things are called here, and how amounts, readings, lines and dates are written."""
    low, high = (f"{decimal_text(end)} {site.glucose_unit}" for end in ends_of_range(site))
    lines = {name: getattr(site, name) for name in ("hold_line", "level_2_line", "report_line", "near_low_line")}
    says = {key.name: key.what for key in KEYS}
    return {
        **{named(sentence("the term '{term}'").key, term=TERMS[name]): voice_now().term(name) for name in TERMS},
        named(sentence("half a unit").key): str(units_text(0.5)),
        named(sentence("20 units").key): str(units_text(20)),
        named(sentence("a number with decimals").key): decimal_text(16.7),
        named(sentence("a date").key): date_text(A_DAY),
        named(sentence("a rule of the ward").key): say("policy of {site}", site=site.name),
        named(sentence("what the meter can show").key): f"{low} – {high}",
        **{named(says[name].key).rstrip("."): str(line_text(line)) for name, line in lines.items() if line is not None},
    }


@kind_of_output("sentences", title=sentence("Every sentence of the lessons").key, wordy=True)
def list_sentences(site: Site) -> Mapping[str, str]:
    """Return every sentence of the catalogue as the site says it, before its places are filled in."""
    voice = voice_now()
    sentences = ((one.sentence, () if one.many is None else (one.many,)) for one in messages())
    return each_once((one, "\n".join(voice.find(one, *others))) for one, others in sentences)
