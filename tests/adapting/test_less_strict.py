"""Whether a key of a site file can make a ward less strict is said of every key, once."""

from mixlab.adapting.compare import keys
from mixlab.ward.site.keys import KEYS, THE_WARD, THE_WORDS

TABLES = {
    "choices": keys.CHOICES_BY_CARE,
    "lists": keys.LISTS,
    "more is less strict": keys.MORE_IS_LESS_STRICT,
    "less is less strict": keys.LESS_IS_LESS_STRICT,
    "lower line is less strict": keys.LOWER_LINE_IS_LESS_STRICT,
    "higher line is less strict": keys.HIGHER_LINE_IS_LESS_STRICT,
    "neither": keys.NEITHER,
}


def test_every_key_of_a_site_that_is_no_word_stands_in_one_table_of_strictness():
    doing = {key.field for key in KEYS if key.heading not in (THE_WARD, THE_WORDS)}
    listed = [field for table in TABLES.values() for field in table]
    assert sorted(listed) == sorted(doing)
