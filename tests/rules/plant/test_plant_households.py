"""Household rows: who is taken, and what is said about the rest."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.model import Care
from rules.plant import Plant, Problem, read_household_rows, read_households_csv

HEADER = "building,apartment,name,mobile,email,language,care\n"
Plants = dict[str, Plant]


@pytest.fixture
def plants(quarry: Plant, two_loops: Plant) -> Plants:
    """Two buildings that rows may name."""
    return {quarry.id: quarry, two_loops.id: two_loops}


def refused(text: str, plants: Plants) -> tuple[Problem, ...]:
    rows, problems = read_households_csv(text, plants)
    assert rows == ()
    assert problems
    return problems


def test_rows_are_taken(plants: Plants) -> None:
    """A number for two apartments, two people in one, mail alone, care words, default language."""
    text = HEADER + (
        "quarry-9,1A,Ada Onyx,(212) 555-0101,,ES,infant;over65\n"
        "two-loops,1B,Ada Onyx,+1 212 555 0101,,,\n"
        "two-loops,1B,Bo Flint,212.555.0102,bo@two-loops.example,en,\n"
        "\n"
        "two-loops,2a,Cy Slate,,cy@mail.two-loops.example,en,Medical\n"
    )
    rows, problems = read_households_csv(text, plants)
    assert problems == ()
    assert [(row.apartment, row.mobile, row.language) for row in rows] == [
        ("1A", "+12125550101", "es"),
        ("1B", "+12125550101", "en"),
        ("1B", "+12125550102", "en"),
        ("2A", None, "en"),
    ]
    assert rows[0].care == {Care.INFANT, Care.OVER65}
    assert rows[3].care == {Care.MEDICAL}
    assert rows[3].email == "cy@mail.two-loops.example"


@pytest.mark.parametrize(
    "change",
    [
        lambda text: "\ufeff" + text,
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace(";", "|").replace(",", ";"),
        lambda text: text.replace("infant;child", '"infant;child"').replace(",", ";"),
        lambda text: text.replace(",", "\t"),
        lambda text: text.replace("building", "Building ").replace("mobile", " MOBILE"),
        lambda text: "\n" + text + ",,,,,,\n",
    ],
)
def test_what_spreadsheets_do_is_no_problem(plants: Plants, change) -> None:
    """Byte-order mark, CRLF, semicolons, tabs, capital headers and empty rows."""
    text = HEADER + "quarry-9,1A,Ada Onyx,2125550101,,es,infant;child\n"
    rows, problems = read_households_csv(change(text), plants)
    assert problems == ()
    assert [(row.name, row.care) for row in rows] == [("Ada Onyx", {Care.INFANT, Care.CHILD})]


BAD = [
    (
        ",1A,Ada Onyx,2125550101,,en,",
        "/0/building",
        "building is missing",
        "id of its building file",
    ),
    ("quary-9,1A,Ada Onyx,2125550101,,en,", "/0/building", "no building 'quary-9'", "quarry-9?"),
    ("zzz,1A,Ada Onyx,2125550101,,en,", "/0/building", "no building 'zzz'", "Load its building"),
    ("quarry-9,,Ada Onyx,2125550101,,en,", "/0/apartment", "apartment is missing", "its id"),
    ("quarry-9,1AA,Ada Onyx,2125550101,,en,", "/0/apartment", "no apartment '1AA'", "mean 1A?"),
    ("quarry-9,9Z,Ada Onyx,2125550101,,en,", "/0/apartment", "no apartment '9Z'", "are 1A"),
    ("quarry-9,1A,,2125550101,,en,", "/0/name", "name is missing", "one line"),
    ("quarry-9,1A,Ada Onyx,,,en,", "/0", "Nobody can be reached", "email"),
    ("quarry-9,1A,Ada Onyx,5550101,,en,", "/0/mobile", "does not exist", "area code"),
    ("quarry-9,1A,Ada Onyx,+999 212 5550101,,en,", "/0/mobile", "cannot be read", "area code"),
    ("quarry-9,1A,Ada Onyx,212-555-HEAT,,en,", "/0/mobile", "not part of a number", "ten digits"),
    ("quarry-9,1A,Ada Onyx,2125550101 x5,,en,", "/0/mobile", "not part of a number", "ten"),
    ("quarry-9,1A,Ada Onyx,2.12556E+09,,en,", "/0/mobile", "spreadsheet has rounded", "as text"),
    ("quarry-9,1A,Ada Onyx,,ada at home,en,", "/0/email", "cannot be right", "name@"),
    ("quarry-9,1A,Ada Onyx,2125550101,,fr,", "/0/language", "'fr' is not spoken", "en or es"),
    ("quarry-9,1A,Ada Onyx,2125550101,,en,infnat", "/0/care", "'infnat' is not", "mean infant?"),
    ("quarry-9,1A,Ada Onyx,2125550101,,en,cat", "/0/care", "'cat' is not known", "over65"),
    ("quarry-9,1A,Ada Onyx,2125550101,,en,,,x", "", "9 cells", "quotation marks"),
    ('quarry-9,1A,"Ada Onyx,2125550101,,en,', "", "cannot be read as CSV", "closed"),
    ('quarry-9,1A,Ada "x" y,212,"a"b,en,', "", "cannot be read as CSV", "quotation"),
]


@pytest.mark.parametrize(("row", "pointer", "says", "remedy"), BAD)
def test_each_mistake_is_told_at_its_line(
    plants: Plants, row: str, pointer: str, says: str, remedy: str
) -> None:
    """One bad row gives one problem, which names no person, number or address."""
    (problem,) = refused(HEADER + row + "\n", plants)
    assert (problem.line, problem.pointer) == (2, pointer)
    assert says in problem.detail
    assert remedy in problem.remedy
    assert not {"Ada", "555", "@home"} & set(problem.detail.replace("-", " ").split())


def test_all_mistakes_are_told_at_once_with_lines(plants: Plants) -> None:
    """A name over two lines does not shift the lines of the rows below; good rows are not taken."""
    text = HEADER + (
        "quarry-9,1A,Ada Onyx,2125550101,,en,\n"
        'quarry-9,1A,"Ada\nOnyx",2125550101,,en,\n'
        "quarry-9,7A,Bo Flint,12,,xx,dog\n"
    )
    problems = refused(text, plants)
    assert [(problem.line, problem.pointer) for problem in problems] == [
        (3, "/1/name"),
        (5, "/2/apartment"),
        (5, "/2/mobile"),
        (5, "/2/language"),
        (5, "/2/care"),
    ]


@pytest.mark.parametrize(
    ("header", "says"),
    [
        ("building,apartment,name,mobil", "'mobil' is not a known column"),
        ("building,apartment,name,zip", "'zip' is not a known column"),
        ("building,apartment,name,name,mobile", "'name' is there twice"),
        ("apartment,name,mobile", "column 'building' is missing"),
        ("building,apartment,name", "no column mobile or email"),
        ("", "no rows"),
        ("\n , ,\n", "no rows"),
    ],
)
def test_a_header_that_cannot_be_used_is_told(plants: Plants, header: str, says: str) -> None:
    """Without the columns nothing below can be understood."""
    problems = refused(header, plants)
    assert says in problems[0].detail
    assert problems[0].line == 1


def test_a_row_given_twice_counts_once(plants: Plants) -> None:
    """It is told, but nothing is refused for it."""
    row = "quarry-9,1A,Ada Onyx,2125550101,,en,\n"
    rows, (problem,) = read_households_csv(HEADER + row + row, plants)
    assert len(rows) == 1
    assert (problem.line, problem.fatal) == (3, False)


def test_a_huge_file_is_refused(plants: Plants) -> None:
    """Nobody has two million bytes of tenants."""
    assert "2 MB" in refused(HEADER + "x" * 2_000_000, plants)[0].detail


def test_json_rows_are_taken(two_loops: Plant) -> None:
    """The building may be left out, care may be a list or words, empty may be null."""
    rows, problems = read_household_rows(
        [
            {"apartment": "1A", "name": "Ada Onyx", "mobile": "+12125550101", "care": ["child"]},
            {"building": "two-loops", "apartment": "1B", "name": "Bo", "email": "b@x.example"}
            | {"mobile": None, "care": "over65;medical", "language": "es"},
        ],
        two_loops,
    )
    assert problems == ()
    assert [row.building for row in rows] == ["two-loops", "two-loops"]
    assert [len(row.care) for row in rows] == [1, 2]


@pytest.mark.parametrize(
    ("rows", "pointer", "says"),
    [
        (None, "", "list of household rows"),
        ({"a": 1}, "", "list of household rows"),
        ([3], "/0", "no group of keys"),
        ([{"apartment": "1A", "name": "A", "mobile": 2125550101}], "/0/mobile", "not a text"),
        ([{"apartment": "1A", "name": "A", "mobile": "2125550101", "cares": []}], "/0/cares",
         "not a known key"),
        ([{"apartment": "1A", "name": "A", "mobile": "2125550101", "x/y": 1}], "/0/x~1y",
         "not a known key"),
        ([{"building": "quarry-9", "apartment": "1A", "name": "A", "mobile": "2125550101"}],
         "/0/building", "no building 'quarry-9'"),
    ],
)  # fmt: skip
def test_bad_json_rows_are_told_by_pointer(
    two_loops: Plant, rows: object, pointer: str, says: str
) -> None:
    """Pointers lead to the row and key; there are no lines."""
    taken, problems = read_household_rows(rows, two_loops)
    assert taken == ()
    assert (problems[0].pointer, problems[0].line) == (pointer, None)
    assert says in problems[0].detail


@settings(deadline=None)
@given(st.text(st.sampled_from(HEADER + '";\t\x00é1A'), max_size=80))
def test_no_text_raises(text: str) -> None:
    """Whatever is sent as CSV is answered."""
    read_households_csv(text, {})
    _, problems = read_households_csv(HEADER + "x" + text, {})
    assert problems
