"""The exact posterior over what explains all evidence of a building.

A state is an onset together with a shared state. Given it, homes are independent.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from rules.diagnosis.chances import Chances
from rules.diagnosis.exact import Floats, summed_by
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.joint import add_homes, log_weights
from rules.diagnosis.listing import Listing
from rules.diagnosis.moment import Since, Timeline
from rules.diagnosis.quiet import quiet_together
from rules.diagnosis.silence import silence_of
from rules.diagnosis.space import Space
from rules.diagnosis.tanks import NOTHING_TOLD, Tank
from rules.model import ApartmentId, ComponentId

__all__ = ["Belief"]


@dataclass(frozen=True, eq=False)
class Belief:
    """The posterior of one building with all that it rests on."""

    space: Space
    times: Timeline
    homes: Mapping[ApartmentId, HomeBelief]
    shared_terms: Mapping[str, Floats]  # source -> (shared states,)
    speaking: frozenset[tuple[int, ...]]  # candidates that speak for each of those
    tanks: Mapping[ComponentId, Tank] = field(
        default_factory=dict
    )  # what was told of each boiler's
    # The home whose water others see that told of water only.
    runs_down: Mapping[ApartmentId, ApartmentId] = field(default_factory=dict)

    @cached_property
    def told(self) -> Mapping[ApartmentId, HomeBelief]:
        """The homes that said something, or at which something was found."""
        return {apartment: home for apartment, home in self.homes.items() if home.said}

    @cached_property
    def silent(self) -> Sequence[ApartmentId]:
        """The homes that could have written and did not."""
        return [apartment for apartment, home in self.homes.items() if home.silent]

    @cached_property
    def _distinct(self) -> Counter[HomeBelief]:
        """How many homes are equal in all; what said something is one alone."""
        return Counter(self.homes.values())

    @cached_property
    def listing(self) -> Listing:
        """The states that are listed one by one."""
        kinds = frozenset(home.kind for home in self._distinct)
        spoken = frozenset(home.kind for home in self._distinct if home.said)
        return self.space.listing(kinds, spoken, self.speaking)

    @cached_property
    def chances(self) -> Chances:
        """P(onset, shared state | evidence).

        Raises:
            ImpossibleEvidenceError: no state allows the evidence.
        """
        silent = [(home, n) for home, n in self._distinct.items() if home.silent]
        mute = [
            (home.kind, home.log_prior, n, home.tank_lasted)
            for home, n in silent
            if not home.said and home.tank_lasted is not None
        ]
        silence = silence_of(self.space, mute, self.times)
        # What was said in homes that did not complain is tabled with their silence.
        tabled = [(h.kind, h.log_total - h.unheard.log_total) for h, _ in silent if h.said]
        heard = add_homes(self._log_unheard.copy(), self.listing, [*silence.items(), *tabled])
        return Chances.of(self.listing, quiet_together(self.listing.quiet, silence), heard)

    @cached_property
    def chances_unheard(self) -> Chances:
        """P(onset, shared state | all evidence but silence)."""
        return Chances.of(self.listing, self.listing.unheard, self._log_unheard)

    @cached_property
    def _log_unheard(self) -> Floats:
        """Log weight of each onset and listed state with all evidence but silence."""
        weights = log_weights(self.listing, self.times, self.shared_terms.values())
        spoken = [home.unheard for home in self._distinct if home.said]
        said = [(home.kind, home.log_total) for home in spoken if home.said]
        return add_homes(weights, self.listing, said)

    def troubled(self, apartments: Iterable[ApartmentId]) -> tuple[ApartmentId, ...]:
        """The homes whose trouble is behind what some tell: that of a home above, or their own."""
        return tuple(dict.fromkeys(self.runs_down.get(a, a) for a in apartments))

    @property
    def states(self) -> Floats:
        """P(onset, shared state | evidence) of all states, shape (onsets x shared states,); large."""
        return self.chances.of_all.reshape(-1)

    @property
    def prior(self) -> Floats:
        """P(shared state) before any evidence; the onset is independent of it then."""
        return self.space.states.prior

    def since(self, apartment: ApartmentId) -> Since:
        """What now is, to a home, by each onset."""
        times = self.times
        tank = self.tanks.get(self.space.heads[apartment], NOTHING_TOLD)
        return Since(times.hours(times.now), tank.empty(times, times.now))

    @property
    def onsets(self) -> Floats:
        """P(onset | evidence)."""
        return self.chances.onsets

    def by_row(self, home: HomeBelief) -> Floats:
        """P(onset, look | evidence) of a home: (onsets, looks)."""
        return self.chances.by_look(home.kind)

    def by_key(self, apartment: ApartmentId) -> tuple[HomeBelief, Floats]:
        """A home, and P(onset, look key, own key | evidence) of it."""
        home = self.homes[apartment].opened
        weight = summed_by(home.keys.of_look, self.by_row(home), home.keys.shape[0])
        weight /= home.likely_of_key
        joint: Floats = home.total.likely * weight[:, :, None]
        joint *= home.prior_of_key
        return home, joint
