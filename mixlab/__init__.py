"""mixlab: two insulins in one syringe, computed and drawn for a class.

For teaching only: follow the prescriber's order, local policy and a licensed practitioner.
"""

import lazy_loader

from .words import Voice, ask_before_the_first_sentence

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)


def _voice_in_force() -> Voice:
    """Return how the site in force speaks; a faulty site file is told by what needs the site, and words stay plain."""
    from .ward.site.faults import SiteError
    from .ward.site.in_force import site_in_force

    try:
        return site_in_force().voice
    except SiteError:
        return Voice()


ask_before_the_first_sentence(_voice_in_force)
