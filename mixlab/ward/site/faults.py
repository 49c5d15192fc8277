"""What can be wrong with a site file or one of its values."""

from __future__ import annotations

import re

from mixlab.files.faults import Fault, FileError


class SiteError(FileError):
    """A site file, or the value of one key, that cannot be used. The message lists every fault, one a line."""


class WithoutReason(Fault):
    """What is wrong with a value that a recorded reason would allow."""


_MARKUP = re.compile(r"[{}<>\[\]`$\\|*_#\"]")


def is_plain_text(written: object, longest: int) -> bool:
    """Say whether a text can stand in any sentence, page or picture as it is."""
    return (
        isinstance(written, str)
        and 1 <= len(written) <= longest
        and written == written.strip()
        and written.isprintable()
        and not _MARKUP.search(written)
    )
