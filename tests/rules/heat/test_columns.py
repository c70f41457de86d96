"""Chains as rows of numbers."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from rules.heat.columns import COLUMN, HEALTHY, PHYSICAL, merge, merge_each, row

CHAINS = st.lists(
    st.dictionaries(st.sampled_from([*COLUMN]), st.floats(0, 1)).map(row), min_size=1, max_size=4
).map(np.stack)


@given(CHAINS, CHAINS)
def test_each_with_each_is_both_at_once_in_all_that_is_physical(first, second):
    """What is only noticed is left out, because no room gets warmer by it."""
    made = merge_each(first, second)
    both = merge(first[:, None], second[None])
    noticed = [at for at in COLUMN.values() if at not in PHYSICAL]

    assert np.array_equal(made[..., PHYSICAL], both[..., PHYSICAL])
    assert np.array_equal(made[..., noticed], np.broadcast_to(HEALTHY, made.shape)[..., noticed])
