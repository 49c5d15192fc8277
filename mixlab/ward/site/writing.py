"""A site as a commented file: every key with what it is, what is allowed, the teaching default and its source."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import Any

from mixlab.files.toml import bare, comment, quoted
from mixlab.files.whole import CannotWrite, write_new
from mixlab.quantities import Glucose
from mixlab.ward.site.values.choices import Handbook
from mixlab.words import sentence, speaking, voice_now

from .faults import SiteError
from .keys import FORMAT, KEYS, SiteKey
from .record import Site, teaching_site

_REASONS = sentence("Reasons")


def site_text(site: Site | None = None) -> str:
    """Return a site file with every key.

    Parameters
    ----------
    site : Site, optional
        Whose values stand in the file, and in whose words it explains them. If none is given, the values are those of the
        teaching site, in the words of who speaks.

    Examples
    --------
    >>> [line for line in site_text().splitlines() if line.startswith("waiting =")]
    ['waiting = 15']
    """
    with speaking(site.voice if site else voice_now()):
        return "\n".join(_lines(site or teaching_site())) + "\n"


def _lines(site: Site) -> list[str]:
    lines = comment(
        sentence(
            "A site file: how one ward works. Change a value and leave the rest; a key that is taken out is as on the teaching ward; only name must stand."
        ),
        sentence("What stands under [reasons] is shown in every comparison of this ward with another."),
        sentence(
            "For teaching only: the {prescriber}'s order, the ward's own policy and licensed practice come first."
        ),
        sentence("Invented or real, name no drug, device or school by its brand here."),
    )
    lines += ["", *comment(sentence("Leave this as it is.")), f"format = {FORMAT}"]
    for heading, keys in groupby(
        (key for key in KEYS if not key.part and key.name != "meals"), lambda key: key.heading
    ):
        lines += ["", f"# ── {heading} ──"]
        for key in keys:
            lines += ["", *_about(key, site), f"{key.name} = {_toml(key.plain(site))}"]
    (meals,) = (key for key in KEYS if key.name == "meals")
    lines += ["", f"# ── {meals.heading} ──", "", *_about(meals, site)]
    for meal in meals.plain(site):
        lines += ["", "[[meals]]", *(f"{part} = {_toml(value)}" for part, value in meal.items())]
    for table, keys in groupby((key for key in KEYS if key.part), lambda key: key.field):
        first, *rest = keys
        lines += ["", f"# ── {first.heading} ──", "", f"[{table}]"]
        for key in (first, *rest):
            lines += ["", *_about(key, site), f"{bare(key.part)} = {_toml(key.plain(site))}"]
    lines += ["", f"# ── {_REASONS} ──", ""]
    lines += comment(
        sentence(
            "Why a value departs from what is usual, which policy or who says so, and when, by its key, as in {example}.",
            example='waiting = "Ward policy 14 of March 2026, agreed with pharmacy"',
        ),
    )
    return [*lines, "", "[reasons]", *(f"{bare(key)} = {_toml(why)}" for key, why in site.reasons.items())]


def write_site_file(path: str | Path, site: Site | None = None) -> Path:
    """Write a site file with every key, never over a file that is there.

    Raises
    ------
    SiteError
        If there is a file of this name, or it cannot be written there.

    Examples
    --------
    >>> from tempfile import mkdtemp
    >>> write_site_file(Path(mkdtemp()) / "site.toml").name
    'site.toml'
    """
    path = Path(path)
    try:
        write_new(path, site_text(site))
    except CannotWrite as wrong:
        raise SiteError(wrong.faults) from None
    return path


def _about(key: SiteKey, site: Site) -> list[str]:
    default, source = _shown(key, teaching_site()), key.source
    if isinstance(key.kind, Handbook):
        lines = comment(key.what, sentence("Allowed, one or several in square brackets:")) + [
            f"#   {handbook}" for handbook in key.kind.each()
        ]
    else:
        lines = comment(key.what, sentence("Allowed: {allowed}.", allowed=key.allowed(site)))
    if source:
        lines += comment(sentence("Teaching default: {default}. Source: {source}.", default=default, source=source))
    else:
        lines += comment(sentence("Teaching default: {default}.", default=default))
    return lines + (comment(sentence("Note: {note}", note=key.note)) if key.note else [])


def _shown(key: SiteKey, site: Site) -> str:
    """Print a value for a comment: the meals by their names, the rest as it stands in a file."""
    if key.name == "meals":
        return ", ".join(f"{meal.name} {meal.at}" for meal in site.meals)
    value = _toml(key.plain(site))
    return f"{value} {site.meter_low.unit}" if key.name.startswith("meter_") else value


def _toml(value: Any) -> str:
    """Write a value as TOML, numbers without a trailing zero and with a point whoever speaks."""
    if isinstance(value, dict):
        glucose = {"value": str(Glucose(value["value"], value["unit"]).shown())}
        return "{" + ", ".join(f"{part} = {glucose.get(part) or _toml(each)}" for part, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    return quoted(value) if isinstance(value, str) else str(value).lower()
