"""The words a learner reads: one catalogue, in the language and with the terms of the site that speaks.

`say` and `plural` look a sentence up by its English text, put in the site's terms and fill in its places. Whose words they
are is a `Voice`: that of the site in force, or of another one while it is `speaking`.
"""

from .catalogue import DEFAULT_LANGUAGE, TERMS, Catalogue, languages, unsaid
from .voice import (
    Voice,
    ask_before_the_first_sentence,
    date_text,
    decimal_text,
    mark,
    plural,
    remembered,
    say,
    speak_by_default,
    speaking,
    voice_now,
)

__all__ = [
    "DEFAULT_LANGUAGE",
    "TERMS",
    "Catalogue",
    "Voice",
    "ask_before_the_first_sentence",
    "date_text",
    "decimal_text",
    "languages",
    "mark",
    "plural",
    "remembered",
    "say",
    "speak_by_default",
    "speaking",
    "unsaid",
    "voice_now",
]
