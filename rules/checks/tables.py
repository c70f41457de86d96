"""The posterior of one ticket taken apart into few numbers, without loss but of digits.

Theory of operation
-------------------
With w the log of P(onset, shared state), and a shared state one fault i or two, i and j,

    w(onset, i, j) = none(onset) + alone(onset, i) + alone(onset, j) + beside(onset, class i, class j)

where faults that fare alike form a class (``classes``). A home's own state k, given a look, is as
probable against "nothing of its own" as

    own(onset, k) + shift(onset, row of the look, column of k)

and the row depends on the classes of i and j alone. What was said by a home with nothing of its own is
exp(bare(onset, row)) times as likely as without a shared fault; from that follows how likely its own
fault alone would have made it. Logarithms keep as many digits as their share of the posterior deserves,
and rows, columns and pairs that differ by no more than that are one: a share times the error of its
logarithm is below ``NEGLIGIBLE``. A phone on a poor link loads what is left in seconds.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from rules.checks.classes import Classes, vectors_of
from rules.checks.exactness import DIGITS, flat, listed, merged, rounded
from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Floats
from rules.diagnosis.home import HomeBelief
from rules.model import ApartmentId

__all__ = ["home_table", "shared_table"]

JSON = Mapping[str, Any]
_LEAST = 1e-300


def shared_table(classes: Classes) -> JSON:
    """The shared states: by fault, and by pair of classes through a list of distinct vectors."""
    vectors = vectors_of(classes)
    return {
        "none": (classes.none - classes.none.max()).tolist(),
        "alone": rounded(classes.alone, classes.weight.sum(axis=1)[None, :]).tolist(),
        "class": classes.of_fault.tolist(),
        "beside_of": vectors.number.tolist(),
        "beside": rounded(vectors.of_number, vectors.weight).T.tolist(),
    }


def home_table(belief: Belief, classes: Classes, at: int, name: ApartmentId) -> JSON:
    """One home: its own states, and how much likelier each shared fault makes its complaint.

    Args:
        belief: of the building.
        classes: the shared faults.
        at: number of the home on the ticket.
        name: the home.
    """
    home, by_own_key = belief.by_key(name)
    share = home.by_own_state(by_own_key)
    logs = np.log(np.maximum(home.own_given_key, _LEAST))
    odds = logs - logs[:, :, :1]
    nothing = int(home.kind.look_of_state[0])
    healthy = int(home.keys.of_look[nothing])
    shift = np.round(odds - odds[:, healthy : healthy + 1], DIGITS) + 0.0
    bare = _bare(home, healthy)
    column, first = merged(flat(shift, 2), flat(share, 2))
    together = np.concatenate([shift[:, :, first], bare[:, :, None]], axis=2)
    at_columns = np.stack([share[:, :, column == n].sum(axis=2) for n in range(len(first))], axis=2)
    every = np.concatenate([at_columns, share.sum(axis=2, keepdims=True)], axis=2)
    rows, row_first = merged(flat(together, 1), flat(every, 1))
    weight = np.zeros((len(shift), len(row_first), len(first)))
    for onset, part in enumerate(share):
        np.add.at(weight[onset], (rows[:, None], column[None, :]), part)
    of_pair = classes.keys[at]
    said = home.log_nothing_own(np.arange(home.kind.shape[0]))
    singles = dict(zip(*(part.tolist() for part in home.kind.singles), strict=True))
    reaching = [(n, singles[c]) for n, c in enumerate(classes.kept.tolist()) if c in singles]
    return {
        "prior": listed(home.log_prior - home.log_prior[0]),
        "odds": rounded(odds[:, healthy], share.sum(axis=1)).tolist(),
        "column": column.tolist(),
        "row_none": int(rows[healthy]),
        "row_alone": [int(rows[of_pair[n, n]]) for n in classes.first],
        "row_both": [0 if p is None else int(rows[of_pair[p]]) for p in classes.pairs()],
        "shift": rounded(shift[:, row_first][:, :, first], weight).tolist(),
        "bare": rounded(bare[:, row_first], weight.sum(axis=2)).tolist(),
        "healthy": listed(said[:, nothing] - said.max()),
        "reaching": [n for n, _ in reaching],
        "explains": listed(said[:, [look for _, look in reaching]] - said[:, [nothing]]),
    }


def _bare(home: HomeBelief, healthy: int) -> Floats:
    """Log P(what goes by keys | look key, nothing of its own) against no shared fault.

    Shape (onsets, look keys); ``healthy`` is the key of no shared fault.
    """
    likely = home.total.likely[:, :, home.keys.of_own[0]]
    logs = np.log(np.maximum(likely, _LEAST)) + home.total.scale
    against: Floats = np.round(logs - logs[:, [healthy]], DIGITS) + 0.0
    return against
