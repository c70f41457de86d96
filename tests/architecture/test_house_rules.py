"""Rules of the house that no linter knows: sizes, words, places, and documents that tell the truth."""

from __future__ import annotations

import re
import subprocess
import tomllib
from pathlib import Path

import pytest

from service.settings import Settings

ROOT = Path(__file__).resolve().parents[2]
TRACKED = [
    ROOT / name
    for name in subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    if (ROOT / name).is_file()
]
CODE = [p for p in TRACKED if p.suffix in {".py", ".html", ".js", ".css"}]


def lines_of(path: Path) -> int:
    """Number of lines of a file."""
    return len(path.read_text(encoding="utf-8").splitlines())


def named(path: Path) -> str:
    """How a file is called from the top of the project."""
    return str(path.relative_to(ROOT))


def of_rooms(*rooms: str) -> list[Path]:
    """The files of some top-level folders, or of that name."""
    return [p for p in TRACKED if p.relative_to(ROOT).parts[0] in rooms]


def lines_with(pattern: re.Pattern[str], paths: list[Path]) -> list[str]:
    """Every line that matches, as ``file:line``."""
    return [
        f"{named(p)}:{n}"
        for p in paths
        for n, line in enumerate(p.read_text(encoding="utf-8", errors="replace").splitlines(), 1)
        if pattern.search(line)
    ]


def test_files_stay_small():
    """Code up to 350 lines, tests 450, the style sheet 600: a crowded room is redesigned."""
    limits = {"tests": 450, ".css": 600}

    too_long = {
        named(p): lines_of(p)
        for p in CODE
        if "versions" not in p.parts  # a migration is written once and never grows
        and lines_of(p) > limits.get(p.suffix, limits.get(p.relative_to(ROOT).parts[0], 350))
    }

    assert too_long == {}


def test_nothing_names_a_path_of_a_machine_or_an_index():
    """The project stands alone: no absolute paths of ours, no package index."""
    pattern = re.compile(
        r"(^|[^A-Za-z0-9_.])/(work|farm|root)/|files\.pythonhosted|pypi\.org|registry\.npmjs"
    )
    here = Path(__file__)

    assert lines_with(pattern, [p for p in TRACKED if p != here and p.suffix != ".png"]) == []


def test_nothing_of_our_own_is_mocked():
    """What fails in a test fails as in life; only the environment may be patched."""
    patched = re.compile(r"\bunittest\.mock\b|\bmock\.patch\b|patch\.(set|del)attr\b")

    assert lines_with(patched, [p for p in of_rooms("tests") if p != Path(__file__)]) == []


def test_phone_numbers_are_fictional():
    """Every number in fixtures and tests lies in the range reserved for fiction: 555-01xx."""
    number = re.compile(r"\+1[ -]?\(?(\d{3})\)?[ -]?(\d{3})[ -]?(\d{4})\b")

    real = [
        f"{named(p)}: {m.group(0)}"
        for p in of_rooms("fixtures", "rules")
        for m in number.finditer(p.read_text(encoding="utf-8", errors="replace"))
        if m.group(2) != "555" or not m.group(3).startswith("01")
    ]

    assert real == []


def test_only_the_clock_module_reads_the_clock():
    """Time is passed in: ``datetime.now`` and ``time.time`` appear in ``service/clock.py`` alone."""
    asks = re.compile(r"datetime\.now\(|datetime\.utcnow\(|\btime\.time\(|date\.today\(")
    code = [p for p in of_rooms("rules", "service") if p.suffix == ".py"]

    assert lines_with(asks, [p for p in code if named(p) != "service/clock.py"]) == []


def test_no_rank_codes_or_boards():
    """Urgency is a time and a reason; rank codes and boards are not words of this house."""
    words = re.compile(r"\bP[0-4]\b|[Kk]anban|\bSLA\b|[Ss]wimlane|[Bb]acklog")

    assert lines_with(words, of_rooms("service", "rules", "fixtures", "README.md")) == []


@pytest.mark.parametrize("name", sorted(Settings.model_fields))
def test_every_setting_is_documented(name):
    """Each setting stands in DEVELOPERS.md under its environment name."""
    assert f"`ENDSWITCH_{name.upper()}`" in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_runtime_dependency_has_its_reason():
    """DEVELOPERS.md says of each direct dependency what would break without it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    names = [re.split(r"[\[>=<;~ ]", d, maxsplit=1)[0] for d in project["dependencies"]]
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

    assert [n for n in names if f"| {n} |" not in text] == []


@pytest.mark.parametrize("document", ["DEVELOPERS.md", "README.md"])
def test_what_the_documents_point_to_is_there(document):
    """Every file and folder that stands in one of them between backticks is in the tree."""
    text = (ROOT / document).read_text(encoding="utf-8")
    tree = {named(p) for at in TRACKED for p in (at, *at.parents) if ROOT in p.parents}
    files = re.findall(r"`([\w./-]+\.(?:py|yaml|txt|toml))`", text)
    folders = re.findall(r"`((?:rules|service|tests|deploy|fixtures)/[\w/-]*)`", text)

    gone = [f for f in files if not any(t == f or t.endswith(f"/{f}") for t in tree)]
    gone += [f for f in folders if f.rstrip("/") not in tree]
    assert gone == []


def test_pins_carry_hashes_and_no_index():
    """Requirements are exact, hashed, and say nothing about where they come from."""
    for name in ("requirements.txt", "requirements-test.txt"):
        text = (ROOT / "deploy" / name).read_text(encoding="utf-8")
        pins = re.findall(r"^[a-z0-9][^\s=]*==\S+ \\$", text, flags=re.MULTILINE)
        assert len(pins) > 30
        assert text.count("--hash=sha256:") >= len(pins)
        assert not re.search(r"index-url|find-links|https?://", text)
