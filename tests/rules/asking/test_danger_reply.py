"""The leave-now text for each danger, and when the table cannot be read."""

from __future__ import annotations

import shutil
import subprocess
import sys
from itertools import combinations
from pathlib import Path

import pytest

import rules
from rules.asking.danger_reply import LAST_RESORT, danger_reply
from rules.asking.wording import septets

RULES = Path(rules.__file__).parent
KINDS = ("gas", "co", "fire", "electrical", "water_electrics", "scald", "hypothermia")
LEAVE = ("gas", "co", "fire", "electrical", "water_electrics")


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("kind", LEAVE)
def test_leave_and_call_from_outside(kind: str, language: str) -> None:
    """Gas, CO, fire and electrics: out, 911 from outside, stay out (puc.pa.gov; westfargofire.org)."""
    text = danger_reply((kind,), language)
    out = ("Leave", "Get out", "Get everyone out") if language == "en" else ("Salgan",)
    assert any(word in text for word in out)
    assert "911" in text
    assert ("outside" if language == "en" else "fuera") in text
    assert ("Stay out" if language == "en" else "No entre") in text


# Sources: gas, puc.pa.gov; CO, westfargofire.org; burns and cold, first-aid advice from memory.
@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("gas", ("switches", "flame", "phone", "gas company")),
        ("co", ("fresh air", "everyone")),
        ("electrical", ("not touch", "switch")),
        ("water_electrics", ("not touch the water", "switches")),
        ("scald", ("cool running water", "911")),
        ("hypothermia", ("911", "dry", "Never use the oven")),
    ],
)
def test_each_danger_names_what_matters(kind: str, words: tuple[str, ...]) -> None:
    """Each danger has its own advice."""
    for word in words:
        assert word in danger_reply((kind,), "en")


@pytest.mark.parametrize("language", ["en", "es"])
def test_any_two_dangers_fit_in_two_segments_and_ask_nothing(language: str) -> None:
    """At most 306 septets, no question mark, the strictest leave text first."""
    for pair in combinations(KINDS, 2):
        text = danger_reply(pair, language)
        count = septets(text)
        assert count is not None
        assert count <= 306
        assert "?" not in text


def test_gas_advice_covers_the_other_leave_dangers() -> None:
    """With gas among them, the advice for gas is given."""
    assert danger_reply(("fire", "co", "gas"), "en") == danger_reply(("gas",), "en")


def test_leave_comes_before_first_aid() -> None:
    """Out first, then the burn."""
    text = danger_reply(("scald", "fire"), "en")
    assert text.index("Get out") < text.index("burn")


def test_unknown_or_no_danger_still_leaves() -> None:
    """A danger the table does not know gets the general advice."""
    for kinds in ((), ("meteor",)):
        assert danger_reply(kinds, "en").startswith("Leave now")


def test_a_broken_table_still_tells_them_to_leave(tmp_path: Path) -> None:
    """Whatever is wrong with the table, the literal goes out: here its file was cut off."""
    shutil.copytree(RULES, tmp_path / "rules", ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "rules" / "data" / "sayings.yaml").write_text('danger_gas: {en: "Leave', "utf-8")
    asks = """
from rules.asking.danger_reply import danger_reply
print(danger_reply(["gas"], "es"))
print(danger_reply(["gas"], "mixed"))
"""

    done = subprocess.run(
        [sys.executable, "-c", asks], cwd=tmp_path, capture_output=True, text=True, check=True
    )

    assert done.stdout.splitlines() == [LAST_RESORT["es"], LAST_RESORT["en"]]
