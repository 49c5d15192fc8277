"""What the desk says, as it is shown: well, not well, every fault, and how that looks."""

from __future__ import annotations

from html import escape

from mixlab.ward.site.faults import SiteError
from mixlab.words import plural


def checked(sentence: str) -> str:
    """Return what was checked and is well, as the desk shows it."""
    return f'<div class="mixlab-checked" role="status">{escape(sentence)}</div>'


def told(sentence: str) -> str:
    """Return what could not be done, as the desk shows it."""
    return f'<div class="mixlab-refusal" role="alert">{escape(sentence)}</div>'


def faults_html(wrong: SiteError) -> str:
    """Return every fault of a site file as a list."""
    count = len(wrong.faults)
    heading = plural(
        count,
        "<b>{count} thing to put right</b>, then save and check again:",
        "<b>{count} things to put right</b>, then save and check again:",
        count=count,
    )
    return f"{heading}<ol>{''.join(f'<li>{escape(str(fault))}</li>' for fault in wrong.faults)}</ol>"


STYLE = """<style>
.mixlab-desk-text textarea { font-family: monospace; font-size: 13px; line-height: 1.35; white-space: pre-wrap; overflow: auto; }
.mixlab-checked { padding: 2px 8px; border-left: 6px solid currentColor; font-size: 15px; line-height: 1.3; }
.mixlab-site-desk .mixlab-refusal ol { margin: 4px 0; padding-left: 1.6em; }
.mixlab-site-desk .mixlab-sites { font-size: 15px; line-height: 1.4; }
.mixlab-site-desk .mixlab-sites h3 { font-size: 17px; margin: 6px 0; }
.mixlab-site-desk .mixlab-sites h4 { font-size: 14px; margin: 6px 0 0; }
.mixlab-site-desk .mixlab-sites ul, .mixlab-site-desk .mixlab-sites ol { margin: 0; padding-left: 1.8em; }
.mixlab-sites .mixlab-signature { border-top: 1px solid currentColor; padding-top: 10px; }
</style>"""
