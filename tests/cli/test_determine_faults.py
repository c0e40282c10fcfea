"""``corallum determine`` on bad input: status 2, one line that says what, where and what to do."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from corallum.reference.genera import REGIONS
from runs import Run, Runner

METHODS = "eye, ruler, photo, published"
CONDITIONS = (
    "shaded, crowded, wave_beaten, juvenile, overgrowing, regenerating, night, bleached, "
    "partly_dead"
)
WIDTH = "calice_diameter_mm"
WIDE = "colony c1, calice_diameter_mm: expected a size from 0.05 to 500 mm, found"

OBSERVATIONS = (
    pytest.param(
        {"growth_from": "massive"},
        "observations: expected a character of the scheme, found 'growth_from'."
        " Did you mean growth_form?",
        id="misspelt id",
    ),
    pytest.param(
        {"zzzz": "massive"},
        "observations: expected a character of the scheme, found 'zzzz'."
        " See corallum reference show.",
        id="unknown id",
    ),
    pytest.param(
        {"tissue": "flesh"},
        "tissue: expected one of thin, moderate, fleshy, found 'flesh'. Did you mean fleshy?",
        id="misspelt state",
    ),
    pytest.param(
        {"tissue": ["thin", "zzz"]},
        "tissue: expected one of thin, moderate, fleshy, found 'zzz'. Use one of these words.",
        id="unknown state in a set",
    ),
    pytest.param(
        {"shared_wall": "maybe"},
        "shared_wall: expected one of yes, no, found 'maybe'. Use one of these words.",
        id="unknown state of a view",
    ),
    pytest.param(
        {"tissue": "not_applicable"},
        "tissue: expected one of thin, moderate, fleshy, found 'not_applicable'."
        " Use one of these words.",
        id="not applicable where it always applies",
    ),
    pytest.param(
        {"tissue": 5}, "tissue: expected one of thin, moderate, fleshy, found 5. Mend it.",
        id="number for a state",
    ),
    pytest.param(
        {WIDTH: "wide"}, f"{WIDTH}: expected a number (mm), found 'wide'. Mend it.",
        id="word for a number",
    ),
    pytest.param(
        {WIDTH: ["wide", "narrow"]},
        f"{WIDTH}: expected a number (mm), found 'wide|narrow'. Mend it.", id="set for a number",
    ),
    pytest.param(
        {WIDTH: {"value": 5, "method": "guess"}},
        f"{WIDTH}: expected a method out of {METHODS}, found 'guess'. Mend it.",
        id="unknown method",
    ),
    pytest.param(
        {WIDTH: {"value": 5, "n": 0}}, f"{WIDTH}: expected n from 1 to 10000, found 0. Mend it.",
        id="n of nought",
    ),
    pytest.param(
        {WIDTH: {"value": 5, "n": -3}}, f"{WIDTH}: expected n from 1 to 10000, found -3. Mend it.",
        id="negative n",
    ),
    pytest.param(
        {WIDTH: {"value": 5, "n": 10**9}},
        f"{WIDTH}: expected n from 1 to 10000, found 1000000000. Mend it.", id="absurd n",
    ),
    pytest.param(
        {WIDTH: -7.5},
        f"{WIDTH}: expected a size from 0.05 to 500 mm, found -7.5. Check the unit.",
        id="negative size",
    ),
    pytest.param(
        {WIDTH: 0}, f"{WIDTH}: expected a size from 0.05 to 500 mm, found 0. Check the unit.",
        id="size of nought",
    ),
    pytest.param(
        {WIDTH: 1e12},
        f"{WIDTH}: expected a size from 0.05 to 500 mm, found 1e+12. Check the unit.",
        id="absurd size",
    ),
)  # fmt: skip


@pytest.mark.parametrize(("observations", "message"), OBSERVATIONS)
def test_a_report_that_the_scheme_does_not_know_is_named(
    run: Runner, observations: dict[str, object], message: str
) -> None:
    """The whole line names the colony, the character, what was expected, found and what to do."""
    text = json.dumps({"id": "c1", "observations": observations})
    found = run("determine", "-", "--json", stdin=text.encode())
    assert found.status == 2
    assert found.faults == [f"colony c1, {message}"]
    assert found.objects == [{"id": "c1", "error": f"colony c1, {message}"}]


FIELDS = (
    pytest.param(
        '"region": "mars"',
        f"colony c1, region: expected one of {', '.join(REGIONS)}, found 'mars'. Mend it.",
        id="region",
    ),
    pytest.param(
        '"conditions": ["shady"]',
        f"colony c1, conditions: expected some of {CONDITIONS}, found 'shady'. Mend it.",
        id="condition",
    ),
    pytest.param(
        '"observations": {"calice_diameter_mm": {"value": 0.7, "unit": "cm"}}',
        "standard input, line 1, calice_diameter_mm.unit: expected the unit mm, found 'cm'."
        " Convert the value.",
        id="unit",
    ),
    pytest.param(
        '"observations": {"calice_diameter_mm": true}',
        "standard input, line 1, calice_diameter_mm: expected a state, a list of states,"
        " or a number, found True. Mend it.",
        id="boolean for a number",
    ),
    pytest.param(
        '"observations": {"calice_diameter_mm": 1e999}',
        "standard input, line 1, calice_diameter_mm: expected a state, a list of states,"
        " or a number, found inf. Mend it.",
        id="infinite number",
    ),
)


@pytest.mark.parametrize(("field", "message"), FIELDS)
def test_a_field_that_cannot_be_is_named(run: Runner, field: str, message: str) -> None:
    """The whole line says what is wrong with a field of a colony."""
    found = run("determine", "-", "--json", stdin=f'{{"id": "c1", {field}}}'.encode())
    assert found.status == 2
    assert found.faults == [message]
    assert found.objects == [{"id": "c1", "error": message}]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
def test_a_number_that_is_none_is_no_json(run: Runner, number: str) -> None:
    """NaN and the infinities are refused as what they are."""
    text = f'{{"id": "c1", "observations": {{"depth_m": {number}}}}}'
    found = run("determine", "-", stdin=text.encode())
    assert found.status == 2
    assert found.faults == [
        f"standard input, line 1: expected a colony as JSON, found {number} is no number."
        " Mend or remove it."
    ]


@pytest.mark.parametrize("cell", ["nan", "inf", "-inf", "7,5", "7.5 mm", "1e3x", "0x10", "½"])
def test_a_cell_that_is_no_number_is_refused(run: Runner, cell: str) -> None:
    """In a table too a size must be a plain number."""
    found = run("determine", "-", stdin=f'id,{WIDTH}\nc1,"{cell}"\n'.encode())
    assert found.status == 2
    assert found.faults == [f"colony c1, {WIDTH}: expected a number (mm), found {cell!r}. Mend it."]


def test_all_faults_of_a_colony_come_at_once(run: Runner) -> None:
    """Four faults in one colony give four lines, and one error in JSON."""
    text = (
        '{"id": "c1", "region": "mars", "conditions": ["shady"],'
        ' "observations": {"tissue": "flesh", "depth_m": -1}}'
    )
    found = run("determine", "-", "--json", stdin=text.encode())
    assert (found.status, len(found.faults)) == (2, 4)
    assert found.objects[0]["error"] == " ".join(found.faults)


@pytest.mark.parametrize(
    "column", ["calice_diameter_mm.N", "calice_diameter.n", "growth_form.n", "depth_m.methods"]
)
def test_a_misspelt_column_is_refused(run: Runner, column: str) -> None:
    """A column that belongs to nothing is never dropped in silence."""
    text = f"id,growth_form,{WIDTH},{column}\nc1,massive,5,3\n"
    found = run("determine", "-", stdin=text.encode())
    assert found.status == 2
    assert f"found {column!r}" in found.err


def assert_one_line(found: Run, line: str) -> None:
    """A run that could not be answered at all, with one line."""
    assert (found.status, found.out) == (2, "")
    assert found.faults == [line]


FILES = (
    pytest.param(
        "c.json", b"", "expected colonies, found an empty file. Write one colony per line.",
        id="empty",
    ),
    pytest.param(
        "c.csv", b" \r\n\n", "expected colonies, found an empty file. Write one colony per line.",
        id="blank",
    ),
    pytest.param(
        "c.json", b"\xef\xbb\xbf",
        "expected colonies, found an empty file. Write one colony per line.", id="mark alone",
    ),
    pytest.param(
        "c.json", b"[]", "expected colonies, found none at all. Write one colony per line.",
        id="empty list",
    ),
    pytest.param(
        "c.csv", b"id,growth_form\n",
        "expected colonies, found none at all. Write one colony per line.", id="header alone",
    ),
)  # fmt: skip


@pytest.mark.parametrize(("name", "raw", "message"), FILES)
def test_a_file_without_colonies_is_refused(
    run: Runner, tmp_path: Path, name: str, raw: bytes, message: str
) -> None:
    """A file that holds no colony is one line, whatever else it holds."""
    file = tmp_path / name
    file.write_bytes(raw)
    assert_one_line(run("determine", file, "--json"), f"{file}: {message}")


@pytest.mark.parametrize(
    ("raw", "line", "byte"),
    [
        pytest.param("id,x\nc1,é\n".encode("latin-1"), 2, "0xe9", id="latin-1"),
        pytest.param('{"id": "c1"}'.encode("utf-16"), 1, "0xff", id="utf-16"),
        pytest.param(b"\x1f\x8b\x08\x00", 1, "0x8b", id="packed"),
        pytest.param(b'{"id": "\xed\xa0\x80"}', 1, "0xed", id="half a pair"),
    ],
)
def test_another_encoding_is_named(
    run: Runner, tmp_path: Path, raw: bytes, line: int, byte: str
) -> None:
    """A file in another encoding is named by the line and byte that break it."""
    file = tmp_path / "c.csv"
    file.write_bytes(raw)
    assert_one_line(
        run("determine", file),
        f"{file}, line {line}: expected UTF-8 text, found the byte {byte}. Save the file as UTF-8.",
    )


def test_a_file_that_is_not_there_is_named(run: Runner, tmp_path: Path) -> None:
    """A wrong path gives the path and the reason."""
    file = tmp_path / "nowhere.json"
    line = f"{file}: expected a file that can be read, found No such file or directory."
    assert_one_line(run("determine", file), f"{line} Check the path.")


def test_a_folder_is_no_file(run: Runner, tmp_path: Path) -> None:
    """A folder in place of a file gives the path and the reason."""
    line = f"{tmp_path}: expected a file that can be read, found Is a directory. Check the path."
    assert_one_line(run("determine", tmp_path), line)


@pytest.mark.parametrize("path", ["a\0b", "x" * 5000, ""])
def test_a_path_that_cannot_be_is_refused(run: Runner, path: str) -> None:
    """A path with a nought byte, one too long and an empty one are refused."""
    found = run("determine", path)
    assert (found.status, found.out, len(found.faults)) == (2, "", 1)


def test_a_huge_file_is_refused_unread(run: Runner, tmp_path: Path) -> None:
    """A file of 100 MB is refused by its size, with what to do."""
    file = tmp_path / "huge.json"
    with file.open("wb") as stream:
        stream.truncate(100_000_000)
    line = f"{file}: expected at most 64 MB, found a larger file. Split it, or raise --most-mb."
    assert_one_line(run("determine", file, "--json"), line)


def test_a_limit_may_be_set_as_high_as_one_likes(run: Runner, tmp_path: Path) -> None:
    """A limit beyond all memory asks for none of it."""
    file = tmp_path / "c.csv"
    file.write_bytes(b"id,growth_form\n")
    found = run("determine", file, "--most-mb", 10**12)
    assert_one_line(
        found, f"{file}: expected colonies, found none at all. Write one colony per line."
    )


def test_a_lower_limit_is_kept(run: Runner) -> None:
    """A lower limit holds for standard input too."""
    line = "standard input: expected at most 1 MB, found a larger file."
    found = run("determine", "-", "--most-mb", 1, stdin=b" " * 1_000_001)
    assert_one_line(found, f"{line} Split it, or raise --most-mb.")


def test_a_line_over_a_million_characters_loses_only_itself(run: Runner) -> None:
    """A line too long is named, and the one below it is answered."""
    long = json.dumps({"id": "a", "observer": "x" * 1_100_000})
    text = f'{long}\n{{"id": "b"}}\n'
    found = run("determine", "-", "--json", stdin=text.encode())
    assert found.status == 1
    assert found.faults == [
        f"standard input, line 1: expected a line of at most 1000000 characters,"
        f" found {len(long)} characters. Write one colony per line."
    ]
    assert [item["id"] for item in found.objects] == ["line 1", "b"]


@pytest.mark.parametrize("opening", ["[", '{"observations":', '{"id":[', '[{"conditions":'])
def test_brackets_nested_deep_are_refused(run: Runner, opening: str) -> None:
    """A hundred thousand open brackets are a fault, not a crash."""
    found = run("determine", "-", stdin=(opening * 50_000).encode())
    assert (found.status, found.out, len(found.faults)) == (2, "", 1)
    assert "found brackets nested too deep" in found.err


def test_a_column_that_stands_twice_is_refused(run: Runner) -> None:
    """Nobody knows which of two columns counts."""
    found = run("determine", "-", stdin=b"id,depth_m,depth_m\nc1,5,6\n")
    assert_one_line(
        found, "standard input, row 1: expected each column once, found depth_m. Keep one."
    )


def test_a_key_that_stands_twice_is_refused(run: Runner) -> None:
    """Nobody knows which of two reports on one character counts."""
    found = run(
        "determine", "-", stdin=b'{"id": "c1", "observations": {"depth_m": 5, "depth_m": 50}}'
    )
    assert_one_line(
        found,
        "standard input, line 1: expected a colony as JSON, found the key 'depth_m' twice or more."
        " Mend or remove it.",
    )


@pytest.mark.parametrize("id_", ["\ud800", "a\nb", "\x1b[2J", "\u202e"])
def test_an_id_that_cannot_be_printed_is_refused(run: Runner, id_: str) -> None:
    """An id that breaks a line, or commands a terminal, is shown and never printed raw."""
    for options in ((), ("--json",)):
        found = run("determine", "-", *options, stdin=json.dumps({"id": id_}).encode())
        assert (found.status, len(found.faults)) == (2, 1)
        assert id_ not in found.err


USES = (
    pytest.param(
        ("determine",), "corallum determine: Missing argument", "corallum determine --help.",
        id="no file",
    ),
    pytest.param(
        ("determine", "x", "--colour"), "corallum determine: No such option: --colour.",
        "Try corallum determine --help.", id="unknown option",
    ),
    pytest.param(
        ("determine", "x", "--most-mb", "0"), "corallum determine: Invalid value for '--most-mb'",
        "Try corallum determine --help.", id="limit of nought",
    ),
    pytest.param(
        ("determine", "x", "--observer-errors", "some"),
        "corallum determine: Invalid value for '--observer-errors'",
        "Try corallum determine --help.", id="unknown observer",
    ),
    pytest.param(
        ("determin", "x"), "corallum: No such command 'determin'.", "Try corallum --help.",
        id="unknown command",
    ),
    pytest.param(
        ("reference", "shows"), "corallum reference: No such command 'shows'",
        "Try corallum reference --help.", id="unknown command of the reference",
    ),
    pytest.param(
        ("reference", "limits", "--below", "2"), "corallum reference limits: Invalid value",
        "Try corallum reference limits --help.", id="chance above one",
    ),
)  # fmt: skip


@pytest.mark.parametrize(("arguments", "start", "end"), USES)
def test_bad_use_is_one_line(run: Runner, arguments: tuple[str, ...], start: str, end: str) -> None:
    """A misspelt command or option is one line that says where to look."""
    found = run(*arguments)
    assert (found.status, found.out, len(found.faults)) == (2, "", 1)
    assert found.err.startswith(start)
    assert found.err.rstrip().endswith(end)


def test_a_reference_that_is_unsound_stops_everything(
    run: Runner, write_tables: Callable[[Mapping[str, str]], Path], tables: dict[str, str]
) -> None:
    """With an unsound reference nothing is answered: its faults are listed."""
    tables["words.csv"] = tables["words.csv"].replace("always,0.96", "always,2")
    found = run("determine", "-", "--reference", write_tables(tables), stdin=b'{"id": "c1"}')
    assert (found.status, found.out) == (2, "")
    assert (
        "words.csv, row 2, column probability: expected a number from 1e-06 to 1, found '2'."
        " Write it with a point." in found.faults
    )
