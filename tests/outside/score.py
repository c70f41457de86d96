"""What an outsider counts: found, first three, one ticket, part carried, honest chances, minutes."""

from __future__ import annotations

from dataclasses import dataclass, field

from .breaks import Break
from .episode import Episode
from .plants import Json
from .technician import Visit
from .tenants import felt

__all__ = ["CauseScore", "Totals", "count"]

_NEAREST = {"home": 0, "loop": 1, "transformer": 2, "source": 3}


@dataclass
class CauseScore:
    """How one true cause that somebody wrote about was met; ``tickets`` hold its complaints."""

    cause: Break
    ticket: Json
    tickets: int
    homes: int
    visit: Visit | None = None

    @property
    def components(self) -> list[str]:
        """Suspected components in the order listed."""
        return list(dict.fromkeys(s["component"] for s in self.ticket["suspects"]))

    @property
    def faults(self) -> list[str]:
        """Suspected faults in the order listed."""
        return [s["fault"] for s in self.ticket["suspects"]]

    def right_within(self, places: int) -> bool:
        """Whether the true component is among so many first ones."""
        return any(c in self.cause.components for c in self.components[:places])

    def fault_within(self, places: int) -> bool:
        """Whether the true fault is among so many first ones."""
        return self.cause.fault in self.faults[:places]

    @property
    def part(self) -> bool | None:
        """Whether the needed part is on the load list; None if none is needed."""
        if self.cause.part is None:
            return None
        return self.cause.part in {p["part"] for p in self.ticket["load"]}

    @property
    def verdict(self) -> tuple[bool, bool] | None:
        """Whether component and fault of the verdict are right; None without one."""
        if self.visit is None or self.visit.verdict is None:
            return None
        fault, component = self.visit.verdict
        right = component in self.cause.components
        return right, right and fault == self.cause.fault


@dataclass
class Totals:
    """Everything counted over a run."""

    causes: list[CauseScore] = field(default_factory=list)
    mixed: int = 0
    tickets: int = 0
    chances: list[tuple[float, bool]] = field(default_factory=list)
    questions: list[int] = field(default_factory=list)


def count(episode: Episode, totals: Totals) -> list[CauseScore]:
    """Score the open tickets of an episode."""
    causes = _causes_of(episode)
    totals.tickets += len(episode.tickets)
    totals.questions += [
        episode.questions.get(episode.plant.homes[home], 0)
        for home in episode.complaint_home.values()
    ]
    for ticket in episode.tickets:
        here = [b for c in ticket["complaints"] if (b := causes.get(c)) is not None]
        totals.mixed += len({id(b) for b in here}) > 1
        chances: dict[str, float] = {}
        for suspect in ticket["suspects"]:
            name = suspect["component"]
            chances[name] = chances.get(name, 0.0) + suspect["probability"]
        true = {component for b in here for component in b.components}
        totals.chances += [(p, component in true) for component, p in chances.items()]
    rows: list[CauseScore] = []
    for cause in episode.breaks:
        ids = {c for c, b in causes.items() if b is cause}
        held = [t for t in episode.tickets if ids & set(t["complaints"])]
        if held:
            main = max(held, key=lambda t: len(ids & set(t["complaints"])))
            rows.append(CauseScore(cause, main, len(held), len(ids)))
    totals.causes += rows
    return rows


def _causes_of(episode: Episode) -> dict[str, Break | None]:
    """The true cause of each complaint: the nearest break that reaches the home, or a neighbor's."""
    world = episode.world
    found: dict[str, Break | None] = {}
    for complaint, home in episode.complaint_home.items():
        about = episode.complaint_about.get(episode.plant.homes[home], "")
        reach = [b for b in episode.breaks if home in b.homes]
        fitting = [b for b in reach if _fits(b, about)] or reach
        cause = min(fitting, key=lambda b: _NEAREST[b.place], default=None)
        if cause is None and abs(felt(world, home) - world.set[home]) > 2.5:
            beside = set(world.neighbors[home])
            cause = next((b for b in episode.breaks if beside & set(b.homes)), None)
        found[complaint] = cause
    return found


def _fits(b: Break, about: str) -> bool:
    if "only" in b.does:
        return bool(b.does["only"] == about)
    return about in ("cold", "hot") or (about == "no_hot_water" and "fire" in b.does)
