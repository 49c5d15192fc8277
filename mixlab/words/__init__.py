"""The words a learner reads: a sentence is a value, and one catalogue says it in the language and the terms of a site.

`sentence` and `counted` make the value; `str` or `say` says it, in the voice of the site in force or of another one while
that one is `speaking`.
"""

from .sentences import Sentence, counted, joined, plural, say, sentence
from .translations import DEFAULT_LANGUAGE, ENGLISH, TERMS, Catalogue, languages, unsaid
from .voice import (
    Voice,
    ask_before_the_first_sentence,
    date_text,
    decimal_text,
    speak_by_default,
    speaking,
    voice_now,
)

__all__ = [
    "DEFAULT_LANGUAGE",
    "ENGLISH",
    "TERMS",
    "Catalogue",
    "Sentence",
    "Voice",
    "ask_before_the_first_sentence",
    "counted",
    "date_text",
    "decimal_text",
    "joined",
    "languages",
    "plural",
    "say",
    "sentence",
    "speak_by_default",
    "speaking",
    "unsaid",
    "voice_now",
]
