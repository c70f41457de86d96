"""Settings for all tests."""

from __future__ import annotations

from hypothesis import settings

# No deadline: a busy machine is no bug. Derandomised: the same examples for everybody, so that a red
# run can be repeated; `--hypothesis-seed=N` looks elsewhere.
settings.register_profile("endswitch", deadline=None, derandomize=True)
settings.load_profile("endswitch")
