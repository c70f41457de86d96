"""Texts that are no usable YAML give one clear problem each, at a line."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.plant import Problem, read_building_yaml

Refused = Callable[[str], tuple[Problem, ...]]


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("", 1, "it is empty"),
        ("# nothing but a remark\n", 1, "it is empty"),
        ("~\n", 1, "it is empty"),
        ("- a\n- b\n", 1, "A list stands"),
        ("just words\n", 1, "stands where a group of keys is wanted"),
        ("schema: 1\nname: a: b\n", 2, "not YAML"),
        ("schema: 1\nloops:\n\t- id: x\n", 3, "A tab"),
        ("schema: 1\nloops: [1,\n2\n", 2, "not YAML"),
        ("schema: 1\nname: 'open\n\n\n", 2, "not YAML"),
        ("%", 1, "not YAML"),
        ("a: &x [1]\nb: [*x, *x]\n", 2, "by reference"),
        ("a: 1\n---\nb: 2\n", 2, "second document"),
        ("a: 1\nb: " + "[" * 40, 2, "nested more than 16"),
        ("[" * 50_000, 1, "ne"),
        ("a: 1\nb: \x00\n", 2, "U+0000"),
        ("a: 1\nb: \ud800\n", 2, "U+D800"),
        ("a: " + "x" * 2_000_000, 1, "larger than 2 MB"),
        ("# " + "é" * 1_000_001, 1, "larger than 2 MB"),
    ],
)
def test_one_problem_at_a_line(problems_of: Refused, text: str, line: int, words: str) -> None:
    """Syntax, tabs, empty files, lists, references, nesting, control characters and size."""
    (problem,) = problems_of(text)
    assert problem.line == line
    assert words in problem.detail
    assert problem.remedy
    assert problem.fatal


def test_a_key_given_twice_is_told_with_both_lines(problems_of: Refused, example: str) -> None:
    """The second of two equal keys would silently win in plain YAML."""
    (problem,) = problems_of(example + "    line: B\n")
    assert problem.line == 34
    assert problem.pointer == "/apartments/0/line"
    assert "first on line 28" in problem.detail


def test_a_key_that_is_a_list_is_told(problems_of: Refused, example: str) -> None:
    """Keys are words."""
    (problem,) = problems_of("? [a, b]\n: 1\n" + example)
    assert (problem.line, problem.detail) == (1, "A key has to be a single word.")


@pytest.mark.parametrize("tag", ["!!python/name:os.system", "!own", "!!binary", "!!set"])
def test_a_tag_is_told(problems_of: Refused, example: str, tag: str) -> None:
    """Tags could make objects; here they make a problem."""
    (problem,) = problems_of(example.replace("name: 9", f"name: {tag} 9"))
    assert problem.line == 3
    assert "is not understood" in problem.detail


@pytest.mark.parametrize("written", ["!!int x", "!!timestamp x", "!!bool maybe", "2012-13-45"])
def test_a_value_that_is_not_what_it_says_is_told(
    problems_of: Refused, example: str, written: str
) -> None:
    """A forced or impossible value reaches the check of its field as text."""
    (problem,) = problems_of(example.replace("2016-11", written))
    assert (problem.line, problem.pointer) == (33, "/apartments/0/thermostat/installed")
    assert "is not a date" in problem.detail


def test_a_very_long_value_is_only_text(problems_of: Refused, example: str) -> None:
    """Thousands of digits are not worked out to a number first."""
    (problem,) = problems_of(example.replace("270000", "9" * 100_000))
    assert problem.pointer == "/heat_sources/0/output_btuh"
    assert len(problem.detail) < 120


@pytest.mark.parametrize("name", ["12", "1:30", "0x1f", "2012-08-15", "1_0", "on", "1e3"])
def test_a_name_may_look_like_a_number(example: str, name: str) -> None:
    """An unquoted apartment number is taken as it is written, not as YAML works it out."""
    plant, problems = read_building_yaml(example.replace('id: "1A"\n', f"id: {name}\n"))
    assert plant is not None, problems
    assert plant.apartments[0].id == name


def test_a_byte_order_mark_does_no_harm(example: str) -> None:
    """Editors that put one in front of the file are common."""
    plant, problems = read_building_yaml("\ufeff" + example)
    assert plant is not None, problems


@settings(deadline=None)
@given(st.text(st.sampled_from("ab1:-[]{}&*!|>'\"#%@,? \n\t\x00~é"), max_size=60))
def test_no_text_raises(text: str) -> None:
    """Whatever is sent, the answer is a problem with a line."""
    plant, problems = read_building_yaml(text)
    assert plant is None
    assert all(problem.line is not None for problem in problems)
    assert any(problem.fatal for problem in problems)


@settings(deadline=None)
@given(st.data())
def test_no_damaged_file_raises(data: st.DataObject) -> None:
    """A good file with one piece cut out or doubled is taken or refused, never more."""
    text = "schema: 1\nbuilding: a\nloops:\n  - {id: l, source: b}\nheat_sources:\n  - {id: b}\n"
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, len(text)))
    damaged = text[:start] + text[end:] + data.draw(st.sampled_from(["", text[start:end], "- "]))
    _, problems = read_building_yaml(damaged)
    assert problems
