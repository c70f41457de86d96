"""What a text cannot say is left out, by the names that stand in it."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from rules.reading.shortlist import Shortlist

_NAMES = st.sampled_from("abcdef")
_NEEDS = st.lists(st.frozensets(_NAMES, min_size=1, max_size=3), max_size=4)


@given(things=st.lists(_NEEDS, max_size=8), there=st.sets(_NAMES))
def test_what_is_listed_has_one_name_of_each_of_its_parts(
    things: list[list[frozenset[str]]], there: set[str]
) -> None:
    """As going through every thing and every part of it finds, in the order of the things."""
    listed = Shortlist(list(enumerate(things)))
    assert listed.of(there) == [
        order for order, needs in enumerate(things) if all(need & there for need in needs)
    ]
