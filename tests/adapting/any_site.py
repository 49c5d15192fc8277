"""Site files that mixlab accepts, drawn at random from the table of keys: what a ward may write, and may write together."""

from dataclasses import replace
from types import MappingProxyType

from hypothesis import strategies as st

from mixlab.facts.reading import the_facts
from mixlab.ward.site.faults import SiteError
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.keys import KEYS
from mixlab.ward.site.record import teaching_site
from mixlab.ward.site.safety import check_site
from mixlab.ward.site.values.amounts import limits_in
from mixlab.ward.site.values.choices import mixable
from mixlab.ward.syringe import syringes

REASON = "Ward policy 14 of March 2026, agreed with pharmacy"
CLOCK = st.integers(0, 24 * 60 - 1).map(lambda at: f"{at // 60:02}:{at % 60:02}")
NAMES = ("breakfast", "lunch", "supper", "tea", "brunch", "second breakfast", "a snack")


def _meals():
    meal = st.fixed_dictionaries({"at": CLOCK, "grams": st.integers(0, 150)})
    chosen = st.lists(st.sampled_from(NAMES), min_size=1, max_size=5, unique=True)
    return chosen.flatmap(
        lambda names: st.tuples(*(meal for _ in names)).map(
            lambda rows: [{"name": name, **row} for name, row in zip(names, rows, strict=True)]
        )
    )


def _some(known, least=0):
    return st.lists(st.sampled_from(tuple(known)), min_size=least, unique=True)


def _number(kind, site):
    measure = site.glucose_unit if kind.row.unit == "mg/dL" else kind.row.unit
    low, *_, high = limits_in(kind.row, measure)
    return st.integers(int(low), int(high))


def _line(kind, site):
    low, *_, high = limits_in(the_facts().limits[kind.limits], site.glucose_unit)
    parts = 1 if site.glucose_unit == "mg/dL" else 10
    value = st.integers(int(low * parts), int(high * parts)).map(lambda value: value / parts)
    written = st.fixed_dictionaries(
        {"value": value, "unit": st.just(site.glucose_unit), "comparison": st.sampled_from(kind.comparisons)}
    )
    return written | st.just("not asked for") if kind.optional else written


UNITS = (("unit", "units"), ("international unit", "international units"))


def values(key, site):
    """Return the strategy of what a file may say of a key, by the kind of its value."""
    kind = key.kind
    made = {
        "Number": lambda: _number(kind, site),
        "OpenedDays": lambda: _number(kind, site),
        "Line": lambda: _line(kind, site),
        "Clock": lambda: st.lists(CLOCK, min_size=1, max_size=6, unique=True) if kind.several else CLOCK,
        "Meals": _meals,
        "PolicyChoice": lambda: st.sampled_from(kind.row.choices),
        "Pairs": lambda: _some(mixable()),
        "Steps": lambda: _some(the_facts().steps).map(
            lambda some: [*the_facts().site_lists["always_critical"].value, *some]
        ),
        "Stock": lambda: _some(syringes(), 1),
        "UnitWord": lambda: st.sampled_from(UNITS),
        "Term": lambda: st.sampled_from(("doctor", "Ärztin vom Dienst", "drug sheet", "on-call doctor (night)")),
        "Words": lambda: st.sampled_from(
            ("ward 3", "Station Süd-Ost", "St John's, 2nd floor", "the long corridor " * 3)
        ),
    }
    return made.get(type(kind).__name__, lambda: st.sampled_from(kind.choices()))()


def accepted(site, key, written):
    """Return the site with what was written of a key, or None where mixlab refuses it."""
    tables = {"glucose_unit": site.glucose_unit, "language": site.language}
    try:
        if key.field == "terms" and key.part in ("unit", "units"):
            terms = MappingProxyType({**site.terms, "unit": written[0], "units": written[1]})
            changed = replace(site, terms=terms)
        else:
            changed = key.read(site, written, tables)
    except SiteError:
        return None
    reason = f"{REASON}; the label gives {written} days" if key.field == "opened_days" else REASON
    changed = replace(changed, reasons=MappingProxyType({**site.reasons, key.name: reason}))
    return None if check_site(changed) else changed


@st.composite
def sites(draw):
    """Draw a ward that mixlab accepts: a worked one with any of its keys written otherwise."""
    site = draw(st.sampled_from(example_sites()))
    for key in draw(st.lists(st.sampled_from(KEYS), min_size=1, max_size=len(KEYS), unique_by=lambda key: key.name)):
        if key.name != "glucose_unit":  # every line would have to be written anew with it
            site = accepted(site, key, draw(values(key, site))) or site
    return replace(site, name="ward 7") if site.name == teaching_site().name else site  # a file must name its ward
