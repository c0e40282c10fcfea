"""Colonies out of JSON, JSON lines and CSV: what is read, and what each fault says."""

from __future__ import annotations

import io
import json

import pytest

from corallum.exchange.colonies import (
    MOST_LINE_CHARACTERS,
    BadColony,
    parse_colony,
    read_csv,
    read_json,
    read_lines,
)
from corallum.records.colony import Colony, SizeReport, StateReport

WIDTH = "calice_diameter_mm"


def one(**item: object) -> Colony | BadColony:
    """One colony out of an object."""
    return parse_colony({"id": "c1", **item}, "f", "line 1")


def observed(**observations: object) -> Colony | BadColony:
    """One colony out of its observations."""
    return one(observations=observations)


def said(item: Colony | BadColony) -> list[str]:
    """Faults of a colony that can't be read, each as its line."""
    assert isinstance(item, BadColony)
    return [str(fault) for fault in item.faults]


def table(text: str) -> list[Colony | BadColony]:
    """Colonies of a table."""
    return list(read_csv(io.StringIO(text, newline=""), "f"))


SHAPES = (
    pytest.param("plocoid", StateReport(("plocoid",)), id="state"),
    pytest.param(["plocoid", "cerioid"], StateReport(("plocoid", "cerioid")), id="set"),
    pytest.param({"state": "plocoid"}, StateReport(("plocoid",)), id="object"),
    pytest.param(
        {"state": ["plocoid", "cerioid"], "sure": False},
        StateReport(("plocoid", "cerioid"), sure=False),
        id="unsure set",
    ),
    pytest.param("not_looked_at", StateReport(("not_looked_at",)), id="not looked at"),
    pytest.param(7.5, SizeReport(7.5, 1, "eye"), id="bare number"),
    pytest.param(7, SizeReport(7.0, 1, "eye"), id="bare whole number"),
    pytest.param({"value": 7.5}, SizeReport(7.5, 1, "eye"), id="value alone"),
    pytest.param(
        {"value": 7.5, "n": 5, "method": "ruler", "sure": False},
        SizeReport(7.5, 5, "ruler", sure=False),
        id="measurement",
    ),
    pytest.param({"value": 7.5, "unit": "mm"}, SizeReport(7.5), id="unit of the id"),
)


@pytest.mark.parametrize(("value", "report"), SHAPES)
def test_each_shape_of_a_report_is_read(value: object, report: StateReport | SizeReport) -> None:
    """A state, a set, a number and an object are read as promised; a bare number is n 1 by eye."""
    assert observed(**{WIDTH: value}) == Colony("c1", {WIDTH: report})


def test_null_is_not_looked_at() -> None:
    """Null costs nothing: the character is left out."""
    assert observed(columella=None, tissue="thin") == Colony(
        "c1", {"tissue": StateReport(("thin",))}
    )


def test_all_fields_are_read() -> None:
    """Region, observer and conditions are read, and null stands for none."""
    colony = one(region="red_sea", observer="o1", conditions=["shaded", "crowded"])
    assert colony == Colony("c1", {}, "red_sea", "o1", ("shaded", "crowded"))
    assert one(region=None, observer=None, conditions=None, observations={}) == Colony("c1")


def test_a_condition_alone_is_a_list_of_one() -> None:
    """A condition may stand without brackets."""
    assert one(conditions="shaded") == Colony("c1", conditions=("shaded",))


def test_a_number_is_an_id_and_no_id_is_the_place() -> None:
    """An id may be a number; without one the colony is called by its line."""
    assert parse_colony({"id": 7}, "f", "line 3").id == "7"
    assert parse_colony({}, "f", "line 3").id == "line 3"


FAULTS = (
    pytest.param({"id": 1.5}, "id: expected a text, found 1.5. Mend it.", id="fraction as id"),
    pytest.param({"id": True}, "id: expected a text, found True. Mend it.", id="boolean as id"),
    pytest.param({"id": ["a"]}, "id: expected a text, found ['a']. Mend it.", id="list as id"),
    pytest.param(
        {"id": "a\nb"},
        "id: expected a text on one line, without control characters, found 'a\\nb'. Mend it.",
        id="line break in id",
    ),
    pytest.param(
        {"colour": "red"},
        "'colour': expected the keys conditions, id, observations, observer, record, region,"
        " found another key. Mend it.",
        id="another key",
    ),
    pytest.param(
        {"region": 4}, "region: expected a text or null, found 4. Mend it.", id="number as region"
    ),
    pytest.param(
        {"conditions": 0}, "conditions: expected a list of texts, found 0. Mend it.",
        id="number as conditions",
    ),
    pytest.param(
        {"conditions": [1]}, "conditions: expected a list of texts, found [1]. Mend it.",
        id="number as condition",
    ),
    pytest.param(
        {"observations": []},
        "observations: expected an object of reports by character, found []. Mend it.",
        id="list as observations",
    ),
    pytest.param(
        {"observations": None},
        "observations: expected an object of reports by character, found None. Mend it.",
        id="null as observations",
    ),
)  # fmt: skip


@pytest.mark.parametrize(("item", "message"), FAULTS)
def test_a_wrong_field_is_named(item: dict[str, object], message: str) -> None:
    """A field of the wrong kind is one line: file, line, key, expected, found and remedy."""
    assert said(parse_colony({"id": "c1", **item}, "f", "line 1")) == [f"f, line 1, {message}"]


REPORTS = (
    pytest.param(
        True, "x: expected a state, a list of states, or a number, found True.", id="true"
    ),
    pytest.param(
        [], "x: expected a state, a list of states, or a number, found [].", id="empty set"
    ),
    pytest.param(
        ["a", 1], "x: expected a state, a list of states, or a number, found ['a', 1].",
        id="number in a set",
    ),
    pytest.param(
        {}, "x: expected state and sure, or value, n, method and sure, found an empty object.",
        id="empty object",
    ),
    pytest.param(
        {"value": 5, "state": "a"},
        "x: expected state and sure, or value, n, method and sure, found value, state.",
        id="state and value",
    ),
    pytest.param(
        {"value": 5, "width": 5},
        "x: expected state and sure, or value, n, method and sure, found value, width.",
        id="another key",
    ),
    pytest.param({"value": "5"}, "x.value: expected a number, found '5'.", id="text as value"),
    pytest.param({"value": None}, "x.value: expected a number, found None.", id="null as value"),
    pytest.param({"value": True}, "x.value: expected a number, found True.", id="true as value"),
    pytest.param(
        {"value": 5, "n": 1.5}, "x.n: expected a whole number, found 1.5.", id="fraction as n"
    ),
    pytest.param(
        {"value": 5, "n": True}, "x.n: expected a whole number, found True.", id="true as n"
    ),
    pytest.param(
        {"value": 5, "n": "5"}, "x.n: expected a whole number, found '5'.", id="text as n"
    ),
    pytest.param(
        {"value": 5, "method": 1}, "x.method: expected a text, found 1.", id="number as method"
    ),
    pytest.param(
        {"state": "a", "sure": "no"}, "x.sure: expected true or false, found 'no'.",
        id="text as sure",
    ),
    pytest.param(
        {"state": 5}, "x.state: expected a state or a list of states, found 5.",
        id="number as state",
    ),
)  # fmt: skip


@pytest.mark.parametrize(("value", "message"), REPORTS)
def test_a_wrong_report_is_named(value: object, message: str) -> None:
    """A report of no known shape is named with its character and part."""
    assert said(observed(x=value)) == [f"f, line 1, {message} Mend it."]


def test_another_unit_is_never_converted_in_silence() -> None:
    """A size in another unit than the id says is refused with what to do."""
    assert said(observed(**{WIDTH: {"value": 0.75, "unit": "cm"}})) == [
        f"f, line 1, {WIDTH}.unit: expected the unit mm, found 'cm'. Convert the value."
    ]


def test_a_count_has_no_unit() -> None:
    """A count in a unit is refused."""
    assert said(observed(septa_count={"value": 24, "unit": "mm"})) == [
        "f, line 1, septa_count.unit: expected no unit, found 'mm'. Convert the value."
    ]


def test_all_faults_of_a_colony_come_at_once() -> None:
    """Three faults in one colony give three lines."""
    found = said(one(region=1, conditions=2, observations={"x": True}))
    assert [line.split(":")[0].split(", ")[-1] for line in found] == ["region", "conditions", "x"]


def test_what_was_found_is_shown_in_brief() -> None:
    """A long value is cut, so that the message stays one short line."""
    (line,) = said(observed(x=[0] * 10_000))
    assert len(line) < 150


TEXTS = (
    pytest.param(
        '{"id": "c1", "observations": {"tissue":',
        "Expecting value at line 1, column 40", id="cut off",
    ),
    pytest.param('{"id": NaN}', "NaN is no number", id="nan"),
    pytest.param('{"id": -Infinity}', "-Infinity is no number", id="infinite"),
    pytest.param("[" * 100_000, "brackets nested too deep", id="deep"),
    pytest.param('{"a":' * 100_000, "brackets nested too deep", id="deep objects"),
    pytest.param('{"id": "a", "id": "b"}', "the key 'id' twice or more", id="key twice"),
    pytest.param(
        '{"observations": {"tissue": "thin", "tissue": "fleshy"}}',
        "the key 'tissue' twice or more", id="character twice",
    ),
    pytest.param('{"id": "c1"} {"id": "c2"}', "Extra data at line 1, column 14", id="two a line"),
)  # fmt: skip


@pytest.mark.parametrize(("text", "found"), TEXTS)
def test_text_that_is_no_json_is_named(text: str, found: str) -> None:
    """A line that is not JSON says what is wrong where; nothing of it is taken."""
    (item,) = read_lines([text], "f")
    assert said(item) == [
        f"f, line 1: expected a colony as JSON, found {found}. Mend or remove it."
    ]


def test_a_number_too_large_for_a_float_is_refused() -> None:
    """1e999 and a whole number of 400 digits are no sizes."""
    for number in ("1e999", "9" * 400):
        (item,) = read_lines([f'{{"observations": {{"x": {number}}}}}'], "f")
        assert "expected a state, a list of states, or a number" in said(item)[0]


@pytest.mark.parametrize("depth", range(940, 1000, 2))
def test_depth_that_the_reader_takes_the_messages_take_too(depth: int) -> None:
    """At any depth of brackets the answer is a fault, also just below the limit of the reader."""
    for shape in ("%s", '{"id": %s}', '{"observations": {"x": %s}}', '{"region": %s}'):
        text = shape % ("[" * depth + "]" * depth)
        items = [*read_lines([text], "f"), *read_json(text, "f")]
        assert all(isinstance(item, BadColony) for item in items)


def test_a_line_over_the_limit_is_refused_and_the_next_is_read() -> None:
    """A line of over a million characters is named; the colony below it is read."""
    long = json.dumps({"id": "x" * MOST_LINE_CHARACTERS})
    bad, good = read_lines([long, '{"id": "c2"}'], "f")
    assert said(bad) == [
        f"f, line 1: expected a line of at most 1000000 characters, found {len(long)} characters."
        " Write one colony per line."
    ]
    assert good == Colony("c2")


def test_blank_lines_count_but_say_nothing() -> None:
    """Blank lines are passed over and line numbers stay those of the file."""
    first, second = read_lines(["\ufeff\n", "{}\n", "   \r\n", "x"], "f")
    assert (first.id, second.id) == ("line 2", "line 4")


@pytest.mark.parametrize("value", ["null", "1", '"a"', "true"])
def test_a_value_that_is_no_object_is_refused(value: str) -> None:
    """A number or a text in place of a colony is named."""
    (item,) = read_lines([value], "f")
    assert said(item)[0].startswith('f, line 1: expected an object such as {"id": ...}, found ')


def test_a_list_is_read_item_by_item() -> None:
    """A bad item in a list is named by its number and loses none of the others."""
    good, bad, last = read_json('[{"id": "a"}, 5, {"id": "c"}]', "f")
    assert (good, last) == (Colony("a"), Colony("c"))
    assert said(bad)[0].startswith("f, item 2: expected an object")


CELLS = (
    pytest.param("plocoid", StateReport(("plocoid",)), id="state"),
    pytest.param("plocoid|cerioid", StateReport(("plocoid", "cerioid")), id="set"),
    pytest.param(
        " plocoid | cerioid ? ", StateReport(("plocoid", "cerioid"), sure=False), id="blanks"
    ),
    pytest.param("plocoid?", StateReport(("plocoid",), sure=False), id="unsure"),
    pytest.param("7.5", SizeReport(7.5), id="number"),
    pytest.param("7.5?", SizeReport(7.5, sure=False), id="unsure number"),
    pytest.param("7", SizeReport(7.0), id="whole number"),
    pytest.param(".5", SizeReport(0.5), id="no nought"),
    pytest.param("-3", SizeReport(-3.0), id="negative, for the scheme to refuse"),
    pytest.param("nan", StateReport(("nan",)), id="word that is no number"),
    pytest.param("7,5", StateReport(("7,5",)), id="decimal comma, for the scheme to refuse"),
)  # fmt: skip


@pytest.mark.parametrize(("cell", "report"), CELLS)
def test_each_kind_of_cell_is_read(cell: str, report: StateReport | SizeReport) -> None:
    """A cell holds a state, a set, or a number, with ? for unsure."""
    assert table(f'id,x\nc1,"{cell}"\n') == [Colony("c1", {"x": report})]


def test_n_and_method_of_a_size_have_columns_of_their_own() -> None:
    """x.n and x.method say how x was measured, before or after it."""
    (colony,) = table("id,d.method,d,d.n\nc1,ruler,7.5?,5\n")
    assert colony == Colony("c1", {"d": SizeReport(7.5, 5, "ruler", sure=False)})


def test_a_method_without_a_size_says_nothing() -> None:
    """A column of methods filled down to the end does not make a size where none is."""
    assert table("id,d,d.n,d.method\nc1,,,ruler\n") == [Colony("c1")]


def test_a_misspelt_column_of_n_is_not_dropped() -> None:
    """N of a column that is not there is handed on, for the scheme to refuse."""
    (colony,) = table("id,d,dd.n\nc1,5,3\n")
    assert isinstance(colony, Colony)
    assert "dd.n" in colony.observations


@pytest.mark.parametrize("n", ["2.5", "x", "-1x", "9" * 5000, "²"])
def test_n_must_be_a_whole_number(n: str) -> None:
    """A cell of n that is no whole number of a sane length is refused."""
    (item,) = table(f"id,d,d.n\nc1,5,{n}\n")
    assert "d.n: expected a whole number" in said(item)[0]


def test_all_columns_of_a_table_are_read() -> None:
    """Id, region, observer and conditions are columns; empty cells were not looked at."""
    (colony,) = table("id,region,observer,conditions,a,b\nc1,red_sea,o1,shaded|crowded,x,\n")
    reports = {"a": StateReport(("x",))}
    assert colony == Colony("c1", reports, "red_sea", "o1", ("shaded", "crowded"))


def test_a_spreadsheet_file_is_read() -> None:
    """A byte order mark, Windows line ends, blank rows and empty last columns mean nothing."""
    assert table("\ufeffid,x,,\r\n\r\nc1,a,,\r\n,,,\r\n") == [
        Colony("c1", {"x": StateReport(("a",))})
    ]


TABLES = (
    pytest.param(
        "", "f, row 1: expected column names, found an empty file. Add a header row.", id="empty"
    ),
    pytest.param(
        "id,x,x,id\nc1,a,b,c\n",
        "f, row 1: expected each column once, found id, x. Keep one.", id="column twice",
    ),
    pytest.param(
        "id,x\nc1,a,b\n", "f, row 2: expected 2 cells, found 3. Quote a cell with a comma.",
        id="cell too many",
    ),
    pytest.param(
        "id,x\nc1\n", "f, row 2: expected 2 cells, found 1. Quote a cell with a comma.",
        id="cell too few",
    ),
    pytest.param(
        'id,x\nc1,"a"b\n',
        "f, row 2: expected comma-separated values, found ',' expected after '\"'."
        " Close each quote on its own line.", id="text after a quote",
    ),
    pytest.param(
        "id,x\nc1,|\n",
        "f, row 2, x: expected a state, a list of states, or a number, found []. Mend it.",
        id="empty set",
    ),
)  # fmt: skip


@pytest.mark.parametrize(("text", "message"), TABLES)
def test_a_fault_in_a_table_is_named_by_row(text: str, message: str) -> None:
    """What is wrong in a table is one line with its row."""
    (item,) = table(text)
    assert said(item) == [message]


@pytest.mark.parametrize(
    "row", ['b,"left open', 'b,"a"b', "b", "b,x,y", 'b,"' + "x" * 200_000 + '"', "b,|"]
)
def test_a_bad_row_never_loses_the_others(row: str) -> None:
    """Rows above and below a bad one are read, whatever is wrong with it."""
    first, bad, last = table(f"id,x\na,1\n{row}\nc,1\n")
    assert isinstance(bad, BadColony)
    assert (first.id, last.id) == ("a", "c")


def test_a_table_says_the_same_as_json() -> None:
    """A colony with every kind of cell means the same in CSV and in JSON."""
    (of_table,) = table(
        "id,region,conditions,growth_form,columella,d,d.n,d.method,septa_count\n"
        "c1,red_sea,shaded,massive|encrusting,spongy?,7.5,5,ruler,24?\n"
    )
    (of_json,) = read_json(
        """{"id": "c1", "region": "red_sea", "conditions": ["shaded"], "observations": {
        "growth_form": ["massive", "encrusting"], "columella": {"state": "spongy", "sure": false},
        "d": {"value": 7.5, "n": 5, "method": "ruler"},
        "septa_count": {"value": 24, "sure": false}}}""",
        "f",
    )
    assert of_table == of_json
