"""Load building files and household lists from disk: all of them, or nothing and every problem."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.model import BuildingId
from rules.plant import HouseholdRow, Plant, Problem, read_building_yaml, read_households_csv
from service.store.tables import Building
from service.usecases.loading.left_open import left_open
from service.usecases.loading.load_building import store_plant
from service.usecases.loading.load_households import store_households
from service.usecases.loading.plants import plant_of

__all__ = ["FileProblem", "Loaded", "load_files"]

BUILDING_ENDINGS = frozenset({".yaml", ".yml"})
HOUSEHOLD_ENDINGS = frozenset({".csv"})


@dataclass(frozen=True, slots=True)
class FileProblem:
    """Something wrong in a file."""

    path: Path
    line: int | None
    detail: str
    fatal: bool

    def __str__(self) -> str:
        """As compilers print it, so that editors can jump there."""
        where = f"{self.path}:{self.line}" if self.line is not None else str(self.path)
        return f"{where}: {'' if self.fatal else 'warning: '}{self.detail}"


@dataclass(slots=True)
class Loaded:
    """What was found; nothing of it is stored when a problem is fatal."""

    problems: list[FileProblem] = field(default_factory=list)
    plants: dict[BuildingId, Plant] = field(default_factory=dict)
    read_from: dict[Path, Plant] = field(default_factory=dict)
    households: list[HouseholdRow] = field(default_factory=list)

    @property
    def refused(self) -> bool:
        """Whether nothing was stored."""
        return any(p.fatal for p in self.problems)


def load_files(session: Session, now: datetime, paths: Sequence[Path]) -> Loaded:
    """Read every file, then store all or nothing."""
    loaded = Loaded()
    files = list(_files(paths, loaded))
    for path in files:
        if path.suffix.lower() in BUILDING_ENDINGS:
            _read_building(path, loaded, now)
    known = _stored_plants(session) | loaded.plants
    for path in files:
        if path.suffix.lower() in HOUSEHOLD_ENDINGS:
            _read_households(path, known, loaded)
    if loaded.refused:
        return loaded
    for plant in loaded.plants.values():
        store_plant(session, now, plant)
    named = {str(row.building) for row in loaded.households}
    store_households(session, sorted(named), loaded.households)
    for path, plant in loaded.read_from.items():
        _note(path, left_open(session, plant), loaded)
    return loaded


def _files(paths: Sequence[Path], loaded: Loaded) -> Iterable[Path]:
    """The files named, and those in the folders named."""
    endings = BUILDING_ENDINGS | HOUSEHOLD_ENDINGS
    for path in paths:
        if path.is_dir():
            found = sorted(p for p in path.iterdir() if p.suffix.lower() in endings)
            if not found:
                loaded.problems.append(_fatal(path, "holds no .yaml and no .csv file"))
            yield from found
        elif not path.exists():
            loaded.problems.append(_fatal(path, "does not exist"))
        elif path.suffix.lower() not in endings:
            loaded.problems.append(_fatal(path, "is neither .yaml nor .csv"))
        else:
            yield path


def _read_building(path: Path, loaded: Loaded, now: datetime) -> None:
    text = _text(path, loaded)
    if text is None:
        return
    plant, problems = read_building_yaml(text, now)
    _note(path, problems, loaded)
    if plant is None:
        return
    if plant.id in loaded.plants:
        loaded.problems.append(_fatal(path, f"building {plant.id!r} stands in two files"))
    loaded.plants[plant.id] = loaded.read_from[path] = plant


def _read_households(path: Path, plants: dict[BuildingId, Plant], loaded: Loaded) -> None:
    text = _text(path, loaded)
    if text is None:
        return
    rows, problems = read_households_csv(text, plants)
    _note(path, problems, loaded)
    loaded.households.extend(rows)


def _text(path: Path, loaded: Loaded) -> str | None:
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        loaded.problems.append(_fatal(path, "is not UTF-8; save it as UTF-8"))
    except OSError as error:
        loaded.problems.append(_fatal(path, f"cannot be read: {error.strerror}"))
    return None


def _note(path: Path, problems: Iterable[Problem], loaded: Loaded) -> None:
    loaded.problems.extend(FileProblem(path, p.line, p.says, p.fatal) for p in problems)


def _fatal(path: Path, detail: str) -> FileProblem:
    return FileProblem(path, None, detail, fatal=True)


def _stored_plants(session: Session) -> dict[BuildingId, Plant]:
    found: dict[BuildingId, Plant] = {}
    for building_id in session.scalars(select(Building.id)):
        plant = plant_of(session, building_id)
        if plant is not None:
            found[plant.id] = plant
    return found
