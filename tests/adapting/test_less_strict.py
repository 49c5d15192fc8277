"""Whether a key of a site file can make a ward less strict is said of every key, once."""

from itertools import pairwise

from mixlab.adapting.compare import keys
from mixlab.adapting.compare.keys import changed_keys
from mixlab.ward.site.keys import KEYS, THE_WARD, THE_WORDS
from mixlab.ward.site.record import teaching_site

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


def set_to(name, *values):
    """Return the teaching ward with a key set to each of some values."""
    (key,) = (key for key in KEYS if key.name == name)
    return [key.read(teaching_site(), value) for value in values]


def less_strict(before, after):
    return [change.key.name for change in changed_keys(before, after) if change.less_strict]


def test_a_higher_urgent_line_is_less_strict_and_none_at_all_the_least():
    def line(value, unit="mg/dL", comparison="above"):
        return {"value": value, "unit": unit, "comparison": comparison}

    wards = set_to("urgent_high_line", line(340), line(380, comparison="at or above"), line(380), "not asked for")
    for stricter, looser in pairwise(wards):
        assert less_strict(stricter, looser) == ["urgent_high_line"]
        assert less_strict(looser, stricter) == []
    here, there = set_to("urgent_high_line", line(340), line(20.0, "mmol/L"))  # 360 mg/dL
    assert less_strict(here, there) == ["urgent_high_line"]


def test_less_by_mouth_in_a_serious_low_is_less_strict():
    less, more = set_to("serious_carbohydrate", 16, 25)
    assert (less_strict(more, less), less_strict(less, more)) == (["serious_carbohydrate"], [])
