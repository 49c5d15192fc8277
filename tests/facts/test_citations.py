"""The sources of a lesson, by their keys."""

import pytest

from mixlab import sources
from mixlab.facts.citations import UnknownSource
from mixlab.facts.reading import the_facts


def test_they_print_one_citation_a_line_in_the_order_asked_for():
    two = sources("common-practice", "rnao")
    assert str(two).splitlines() == [str(the_facts().sources[key]) for key in ("common-practice", "rnao")]
    assert repr(two) == str(two)


def test_without_a_key_all_are_given():
    assert sources() == tuple(the_facts().sources.values())


def test_a_key_that_no_source_has_is_refused_with_the_nearest_one():
    with pytest.raises(UnknownSource, match=r"no source 'rna' .* nearest is 'rnao'"):
        sources("rna")
