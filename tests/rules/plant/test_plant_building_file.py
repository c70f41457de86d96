"""Building files: what is taken, and what is said about those that are not."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from rules.plant import Plant, Problem, read_building_document, read_building_yaml

Refused = Callable[[str], tuple[Problem, ...]]


def test_the_promised_example_is_taken(quarry: Plant) -> None:
    """The example that owners copy from reads without a single problem."""
    assert (quarry.id, quarry.heat_rule, quarry.built) == ("quarry-9", "us-ny-nyc", 1931)
    (home,) = quarry.apartments
    assert home.valve is not None
    assert (home.valve.kind, home.valve.va) == ("motor_4wire", 7.0)
    assert quarry.loops[0].circulator.installed == date(2019, 10, 1)


# Each row: what is replaced, by what; then line, pointer, and words of the detail and the remedy.
BAD = [
    ("schema: 1", "schema: 2", 1, "/schema", "not one that is understood | schema: 1"),
    ("schema: 1", "schema: true", 1, "/schema", "not one that is understood | schema: 1"),
    ("schema: 1\n", "", 1, "/schema", "'schema' is missing | schema: 1"),
    ("quarry-9 ", "Quarry_9 ", 2, "/building", "no valid id | small letters"),
    ("name: 9 Q", "nmae: 9 Q", 3, "/nmae", "'nmae' is not a known key | mean 'name'"),
    ("weather_station", "fog", 6, "/fog", "'fog' is not a known key | Known keys here"),
    ("name: 9 Quarry Street", "name:", 3, "/name", "'name' is missing | people call"),
    ("name: 9 Quarry Street", "name: ''", 3, "/name", "no usable text | one line"),
    ("name: 9 Quarry Street", "name: [a]", 3, "/name", "A list stands | one word or name"),
    ("New_York", "NewYork", 4, "/timezone", "does not exist | mean America/New_York"),
    ("America/New_York", "xxxx", 4, "/timezone", "does not exist | like America/New_York"),
    ("us-ny-nyc", "us-ny-nycc", 5, "/heat_rule", "no heat rule | mean us-ny-nyc?"),
    ("us-ny-nyc", "zz", 5, "/heat_rule", "no heat rule | There are ca-on-toronto"),
    ("kqry", "k/q", 6, "/weather_station", "no valid id | letters, digits"),
    ("1931", "931", 7, "/built", "cannot be right | 1600 to 2,100"),
    ("1931", "1931.5", 7, "/built", "not whole | whole"),
    ("-1\n    circ", "-1a\n    circ", 22, "/loops/0/source", "no heat source | mean boiler-1?"),
    ("xf-1, va: 7", "fx-1, va: 7", 32, "/apartments/0/valve/transformer", "no tr | mean xf-1?"),
    ("masonry ", "masonary ", 8, "/construction", "'masonary' is not known | mean masonry?"),
    (": 52", ": fast", 9, "/time_constant_hours", "not a number | hours, without"),
    (": 52", ": .nan", 9, "/time_constant_hours", "cannot be right | 1 to 1,000"),
    ("f: 13", "f: true", 10, "/design_outdoor_f", "true is not a number | without quotation"),
    ("hot_water_boiler", "12", 13, "/heat_sources/0/kind", "'12' is not known | hot_water_boil"),
    ("270000", "9" * 30, 14, "/heat_sources/0/output_btuh", "very large number | 100,000,000"),
    ("2012-08\ntr", "2012-13\ntr", 17, "/heat_sources/0/installed", "not a date | 2012-08-15"),
    ("2012-08\ntr", "true\ntr", 17, "/heat_sources/0/installed", "not a date | 2012-08-15"),
    ("2012-08\ntr", "1066\ntr", 17, "/heat_sources/0/installed", "not a date | 1850"),
    ("va: 40", "va: '40'", 19, "/transformers/0/va", "not a number | quotation marks"),
    ("    source: boiler-1\n", "", 21, "/loops/0/source",
     "loop-1 has no source, so no heat source reaches apartment 1A | boiler-1"),
    ("source: boiler-1", "source: boiler", 22, "/loops/0/source",
     "no heat source 'boiler', so no heat source reaches apartment 1A | mean boiler-1?"),
    ("source: boiler-1", "source: [1]", 22, "/loops/0/source", "A list stands | one word"),
    ("source: boiler-1", "source: xf-1", 22, "/loops/0/source",
     "'xf-1' is a transformer, not a heat source | boiler-1"),
    ("{id: pump-1, installed: 2019-10}", "pump", 23, "/loops/0/circulator",
     "group of keys | id, installed"),
    ("transformer: xf-1, i", "transformer: xf-9, i", 24, "/loops/0/relay/transformer",
     "no transformer 'xf-9' | mean xf-1?"),
    ("id: relay-1", "id: pump-1", 24, "/loops/0/relay/id",
     "already names the circulator on line 23 | id of its own"),
    ("pump-1", "quarry-9", 23, "/loops/0/circulator/id", "names the building on line 2 | own"),
    ('id: "1A"\n    ', "", 26, "/apartments/0/id", "'id' is missing | apartment an id of its own"),
    ("floor: 1", "floor: first", 27, "/apartments/0/floor", "not a number | floors"),
    ("    line: A ", "    # line: A ", 26, "/apartments/0/line", "'line' is missing | same letter"),
    ("loop: loop-1", "loop: loop-2", 30, "/apartments/0/loop",
     "no loop 'loop-2', so no heat source reaches apartment 1A | mean loop-1?"),
    ("loop: loop-1", "", 26, "/apartments/0/loop", "'loop' is missing | heat source reaches it"),
    ("zoning: zone_valve", "zoning: trv", 32, "/apartments/0/valve",
     "does not go with zoning trv | leave the valve out"),
    ("motor_4wire", "motor_5wire", 32, "/apartments/0/valve/kind", "not known | mean motor_4wire?"),
    ('"1A.thermostat"', '"1A.valve"', 33, "/apartments/0/thermostat/id",
     "names the valve on line 32 | own"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "pointer", "words"), BAD)
def test_each_mistake_is_told_at_its_line(
    problems_of: Refused, example: str, old: str, new: str, line: int, pointer: str, words: str
) -> None:
    """One mistake in a good file gives one problem: line, pointer, what is wrong, what is right."""
    assert old in example
    (problem,) = problems_of(example.replace(old, new, 1))
    assert (problem.line, problem.pointer) == (line, pointer)
    detail, remedy = words.split(" | ")
    assert detail in problem.detail
    assert remedy in problem.remedy
    assert problem.fatal


def test_all_mistakes_are_told_at_once(problems_of: Refused, example: str) -> None:
    """A file with many mistakes is put right in one go, from top to bottom."""
    bad = example
    for old, new in [
        ("New_York", "Newyork"),
        ("us-ny-nyc", "nowhere"),
        ("270000", "lots"),
        ("source: boiler-1", "source: stove"),
        ("emitter:", "emiter:"),
        ("motor_4wire", "motor"),
        ("2016-11", "last year"),
    ]:
        bad = bad.replace(old, new, 1)
    assert [problem.line for problem in problems_of(bad)] == [4, 5, 14, 22, 29, 32, 33]


@pytest.mark.parametrize("part", ["heat_sources", "loops", "apartments"])
def test_a_list_must_be_there_and_be_one(quarry: Plant, part: str) -> None:
    """Without sources, loops or apartments there is nothing to diagnose."""
    for wrong, words in (([], "empty"), (None, "missing"), ({}, "list is wanted"), ("x", "list")):
        plant, problems = read_building_document({**quarry.document(), part: wrong})
        assert plant is None
        assert any(
            problem.pointer == f"/{part}" and words in problem.detail for problem in problems
        )


def test_too_many_entries_are_refused(quarry: Plant) -> None:
    """No building has thousands of transformers."""
    many = [{"id": str(number)} for number in range(2_001)]
    plant, problems = read_building_document({**quarry.document(), "transformers": many})
    assert plant is None
    assert problems[0].detail == "The list has 2001 entries."


def test_a_json_document_has_pointers_and_no_lines(quarry: Plant) -> None:
    """The same problems as in YAML, found by JSON pointer; odd keys are escaped."""
    document = quarry.document()
    document["apartments"][0]["valve"]["a/b~c"] = 1
    document["apartments"].append(None)
    document["name"] = 9
    document["loops"][0]["circulator"]["id"] = "relay-1"
    plant, problems = read_building_document(document)
    assert plant is None
    assert {problem.pointer for problem in problems} == {
        "/apartments/0/valve/a~1b~0c",
        "/apartments/1",
        "/name",
        "/loops/0/relay/id",
    }
    assert all(problem.line is None for problem in problems)
    assert any("at /loops/0/circulator/id" in problem.detail for problem in problems)


@pytest.mark.parametrize("document", [None, [], "x", 3, {1: 2}, {"building": 10**5000}])
def test_any_json_is_answered(document: object) -> None:
    """Whatever is sent, the answer is a list of problems."""
    plant, problems = read_building_document(document)
    assert plant is None
    assert problems


def test_loops_that_feed_each_other_are_a_cycle(problems_of: Refused, example: str) -> None:
    """Two loops that name each other as their source bring no heat to anybody."""
    second = "  - {id: loop-2, source: loop-1, circulator: {}}\napartments:"
    text = example.replace("source: boiler-1", "source: loop-2").replace("apartments:", second)
    problems = [each for each in problems_of(text) if "cycle" in each.detail]
    assert [problem.line for problem in problems] == [22]
    assert "loop-1 is fed by loop-2 is fed by loop-1" in problems[0].detail
    assert "no heat source reaches apartment 1A" in problems[0].detail


def test_a_source_fed_by_its_own_loop_is_a_cycle(problems_of: Refused, example: str) -> None:
    """A station may take its heat from a loop, but not from one that it feeds."""
    text = example.replace("    output_btuh: 270000", "    fed_by: loop-1")
    (problem,) = problems_of(text)
    assert "loop-1 is fed by boiler-1 is fed by loop-1" in problem.detail
    assert problem.pointer == "/loops/0/source"


def test_a_long_cycle_is_cut_short(quarry: Plant) -> None:
    """The sentence about a cycle stays readable, and so does the list of homes without heat."""
    document = quarry.document()
    home = {**document["apartments"][0], "zoning": "trv"}
    del home["valve"]
    del home["thermostat"]
    document["loops"] = [{"id": f"l{n}", "source": f"l{(n + 1) % 12}"} for n in range(12)]
    document["apartments"] = [{**home, "id": f"a{n}", "loop": f"l{n}"} for n in range(12)]
    _, problems = read_building_document(document)
    (problem,) = [each for each in problems if "cycle" in each.detail]
    assert problem.detail.count("is fed by") == 9
    assert problem.detail.endswith("a7 and 4 more.")


def test_hanging_on_a_cycle_is_not_another_cycle(quarry: Plant) -> None:
    """A loop below a cycle is not told a second time."""
    document = quarry.document()
    document["loops"] = [
        {"id": "side", "source": "loop-1"},
        {"id": "loop-1", "source": "other"},
        {"id": "other", "source": "loop-1"},
    ]
    _, problems = read_building_document(document)
    assert len([each for each in problems if "cycle" in each.detail]) == 1


def test_ids_left_out_follow_from_the_owner(two_loops: Plant) -> None:
    """Parts without an id are called after their apartment or loop."""
    assert {"1A.valve", "1A.thermostat", "low.circulator", "low.relay"} <= set(two_loops.components)


def test_a_part_may_not_take_the_name_of_another_part(problems_of: Refused, example: str) -> None:
    """An id left out can collide with one that was written."""
    text = example.replace("id: xf-1", "id: 1A.valve").replace('id: "1A.valve", ', "")
    doubles = [each for each in problems_of(text) if "already names" in each.detail]
    assert [each.detail for each in doubles] == [
        "The id '1A.valve' of a valve already names the transformer on line 19."
    ]


def test_a_valve_and_a_thermostat_left_out_are_guessed(example: str) -> None:
    """A zone-valve home has both even if nobody described them; the guess is told as a warning."""
    text = example[: example.index("    valve: {")]
    plant, problems = read_building_yaml(text)
    assert plant is not None
    home = plant.apartments[0]
    assert home.valve is not None
    assert home.thermostat is not None
    assert (home.valve.id, home.valve.kind, home.valve.transformer) == (
        "1A.valve",
        "motor_4wire",
        "xf-1",
    )
    assert home.thermostat.id == "1A.thermostat"
    assert [(problem.line, problem.fatal) for problem in problems] == [(26, False)] * 2


def test_dates_may_be_as_rough_as_they_are_known(example: str) -> None:
    """A year or a month stands for its first day; the source need not be quoted."""
    for written, when in [
        ("2012", date(2012, 1, 1)),
        ("2012-08", date(2012, 8, 1)),
        ("2012-8", date(2012, 8, 1)),
        ("2012-08-15", date(2012, 8, 15)),
        ("'2012-08-15'", date(2012, 8, 15)),
    ]:
        plant, problems = read_building_yaml(
            example.replace("installed: 2012-08\ntr", f"installed: {written}\ntr")
        )
        assert plant is not None, problems
        assert plant.heat_sources[0].installed == when


@pytest.mark.parametrize(
    ("construction", "hours"), [("masonry", 52), ("light_frame", 27), ("insulated_masonry", 100)]
)
def test_a_construction_has_a_time_constant(example: str, construction: str, hours: float) -> None:
    """Uninsulated brick 51-66 h (test houses), old wood frame 20-35 h (common practice)."""
    text = example.replace("time_constant_hours: 52", "").replace(
        "n: masonry", f"n: {construction}"
    )
    plant, problems = read_building_yaml(text)
    assert plant is not None, problems
    assert plant.time_constant_hours == hours


def test_a_custom_construction_says_how_long(problems_of: Refused, example: str) -> None:
    """What is in no table has to be given."""
    custom = example.replace("n: masonry", "n: custom")
    plant, _ = read_building_yaml(custom)
    assert plant is not None
    (problem,) = problems_of(custom.replace("time_constant_hours: 52", ""))
    assert (problem.pointer, problem.line) == ("/time_constant_hours", 1)


def test_what_is_unknown_may_be_left_out(two_loops: Plant) -> None:
    """No heat law, station, year, dates or sizes: unknown, not wrong; 13 F outdoors by default."""
    assert two_loops.heat_rule is None
    assert two_loops.built is None
    assert two_loops.heat_sources[0].output_btuh is None
    assert two_loops.design_outdoor_f == 13


def test_a_thousand_problems_are_enough(quarry: Plant) -> None:
    """Beyond that they are counted in one last line, and the file stays refused."""
    keys = {f"k{number}": 1 for number in range(1_200)}
    plant, problems = read_building_document({**quarry.document(), **keys})
    assert plant is None
    assert len(problems) == 1_001
    assert problems[-1].detail == "There are 200 more problems."


def test_what_is_quoted_from_a_file_cannot_steer_a_terminal(quarry: Plant) -> None:
    """Control characters in names come back as question marks."""
    _, problems = read_building_document({**quarry.document(), "a\x1b[2J": 1})
    assert problems[0].pointer == "/a?[2J"
    assert "\x1b" not in problems[0].detail
