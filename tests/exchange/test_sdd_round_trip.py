"""A reference as SDD and back: nothing of the tables is lost."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from lxml import etree

from corallum.errors import InputError
from corallum.exchange.reference_tables import Reading
from corallum.exchange.sdd.read import read_sdd
from corallum.exchange.sdd.write import SddAbout, sdd_document
from corallum.reference.reference import parse_reference
from corallum.store.reference_folder import shipped_reference
from matrix_tables import Tables, references, small_rows, tables_of

ABOUT = SddAbout("Invented", "Free to use.", "2026-01-31T12:00:00+00:00", "0")
NS = {"u": "http://rs.tdwg.org/UBIF/2006/", "c": "urn:corallum:reference:1"}


def document(tables: Tables, *, drawings: bool = False) -> bytes:
    """Write tables as SDD."""
    draw = (lambda of, state: f"<svg>{of} {state}</svg>") if drawings else None
    return sdd_document(tables, parse_reference(tables), ABOUT, draw)


@cache
def shipped() -> Mapping[str, str]:
    """The shipped tables."""
    return shipped_reference()


def back(raw: bytes) -> Tables:
    """Read SDD as tables; nothing of our own file is left out."""
    reading = Reading("file.xml")
    found = read_sdd(raw, reading, shipped())
    assert reading.left_out == {}
    return found


def rows_of(tables: Mapping[str, str], table: str, columns: list[str]) -> list[tuple[str, ...]]:
    """Rows of a table, in order of their cells, whatever files they stand in."""
    names = [n for n in tables if n == f"{table}.csv" or n.startswith(f"{table}/")]
    return sorted(
        tuple(row.get(column, "").strip() for column in columns)
        for name in names
        for row in csv.DictReader(io.StringIO(tables[name], newline=""))
    )


@pytest.fixture(scope="module")
def shipped_document() -> bytes:
    """The shipped reference as SDD, with drawings."""
    return document(dict(shipped()), drawings=True)


def test_the_shipped_tables_come_back_cell_by_cell(shipped_document: bytes) -> None:
    """Every row of every shipped table is there again after a way out and in."""
    found = back(shipped_document)
    for name in found:
        table = name.removesuffix(".csv")
        columns = found[name].splitlines()[0].split(",")
        assert rows_of(found, table, columns) == rows_of(shipped(), table, columns), table
    tables = {name.partition("/")[0].removesuffix(".csv") for name in shipped()}
    assert {name.removesuffix(".csv") for name in found} == tables


@settings(max_examples=30, deadline=None)
@given(references(texts=True))
def test_any_small_reference_comes_back(tables: Tables) -> None:
    """Out and in is identity on random references, whatever stands in their texts."""
    assert parse_reference(back(document(tables))) == parse_reference(tables)


def test_a_row_for_all_forms_stays_one_row() -> None:
    """What stands once for all forms of a genus is not written out for each."""
    found = back(document(tables_of(small_rows())))
    columns = ["genus", "form", "character", "value"]
    assert ("Alpha", "*", "colour", "always red; rarely blue") in rows_of(found, "values", columns)


def test_a_row_for_all_forms_that_serves_none_is_kept() -> None:
    """A row for all forms is kept even where each form has a row of its own."""
    rows = small_rows()
    rows["values"].append(
        {
            "genus": "Beta",
            "form": "*",
            "character": "colour",
            "value": "always red",
            "source": "memory",
        }
    )
    found = back(document(tables_of(rows)))
    columns = ["genus", "form", "character", "value"]
    assert ("Beta", "*", "colour", "always red") in rows_of(found, "values", columns)


def test_others_read_the_frequencies_and_sizes() -> None:
    """In SDD's own elements stand states with modifiers, and sizes as percentiles 2.5 and 97.5."""
    root = ET.fromstring(document(tables_of(small_rows())))  # noqa: S314  our own text
    described = {
        one.findtext("u:Representation/u:Label", "", NS): one
        for one in root.iterfind(".//u:CodedDescription", NS)
    }
    assert set(described) == {"Alpha, mound", "Alpha, plate", "Beta, typical"}
    by_id = {one.get("id"): one for one in root.iter() if one.get("id")}

    def label(ref: str | None) -> str:
        return by_id[ref].findtext("u:Representation/u:Label", "", NS)

    shown = {
        (name, label(state.get("ref"))): label(state.find("u:Modifier", NS).get("ref"))  # type: ignore[union-attr]  # each has one
        for name, one in described.items()
        for state in one.iterfind(".//u:Categorical/u:State", NS)
    }
    assert shown["Alpha, mound", "red"] == "always"
    assert shown["Beta, typical", "blue"] == "sometimes"
    measures = [m.attrib for m in described["Alpha, plate"].iterfind(".//u:PMeasure", NS)]
    assert measures == [
        {"type": "PercLower", "par": "2.5", "value": "2.50"},
        {"type": "PercUpper", "par": "97.5", "value": "10"},
    ]


def test_the_words_stand_for_shares_that_meet_halfway() -> None:
    """``always`` reaches from halfway to ``usually``, (.96 + .75) / 2 = .855, up to 1."""
    root = ET.fromstring(document(tables_of(small_rows())))  # noqa: S314  our own text
    ranges = {
        one.findtext("u:Representation/u:Label", "", NS): one.find("u:ProportionRange", NS).attrib  # type: ignore[union-attr]  # each has one
        for one in root.iterfind(".//u:Modifiers/u:Modifier", NS)
    }
    assert ranges["always"] == {"lowerestimate": "0.855", "upperestimate": "1"}
    assert ranges["never"] == {"lowerestimate": "0", "upperestimate": "0.0155"}


def test_where_a_character_applies_is_a_rule_of_the_tree() -> None:
    """The tip applies only where the colour is red: SDD says so at the node of the tip."""
    root = ET.fromstring(document(tables_of(small_rows())))  # noqa: S314  our own text
    by_id = {one.get("id"): one for one in root.iter() if one.get("id")}
    rules = {}
    for node in root.iterfind(".//u:CharNode", NS):
        of = by_id[node.find("u:Character", NS).get("ref")]  # type: ignore[union-attr]  # each has one
        states = node.findall("u:DependencyRules/u:OnlyApplicableIf/u:State", NS)
        token = of.findtext("u:Representation/u:Label[@role='Token']", "", NS)
        rules[token] = [
            by_id[one.get("ref")].findtext("u:Representation/u:Label[@role='Token']", "", NS)
            for one in states
        ]
    assert rules == {"colour": [], "tip": ["red"], "width_mm": []}


def test_genera_stand_under_families_with_their_older_names() -> None:
    """The hierarchy goes order, family, genus; an older name is a synonym at each genus."""
    root = ET.fromstring(document(tables_of(small_rows())))  # noqa: S314  our own text
    by_id = {one.get("id"): one for one in root.iter() if one.get("id")}
    nodes = root.findall(".//u:TaxonHierarchy/u:Nodes/u:Node", NS)

    def name(element: ET.Element | None) -> str:
        assert element is not None
        return by_id[element.get("ref")].findtext("u:Representation/u:Label", "", NS)

    names = [name(node.find("u:TaxonName", NS)) for node in nodes]
    older = [[name(one) for one in node.iterfind("u:Synonyms/u:TaxonName", NS)] for node in nodes]
    assert names == ["Scleractinia", "Invented", "Alpha", "Beta"]
    assert older == [[], [], ["Gamma"], ["Gamma"]]


def test_a_control_sign_in_a_cell_is_refused() -> None:
    """A sign that XML 1.0 can't hold is named by file, row and column; nothing is written."""
    rows = small_rows()
    rows["genera"][1]["description"] = "Invented\x0b."
    with pytest.raises(InputError) as caught:
        document(tables_of(rows))
    (fault,) = caught.value.faults
    assert (fault.where, fault.place) == ("genera.csv", "row 3, column description")
    assert fault.found == "the sign U+000B"


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    """The published schema: TDWG's repository sdd, folder 2006/Schema/1.1, all its files."""
    folder = os.environ.get("CORALLUM_SCHEMAS", "")
    path = Path(folder) / "sdd" / "SDD.xsd"
    if not folder or not path.is_file():
        pytest.skip(
            "no schema: put TDWG's repository sdd, folder 2006/Schema/1.1, as folder sdd into "
            "the folder that CORALLUM_SCHEMAS names"
        )
    return etree.XMLSchema(etree.parse(path))


def test_the_document_is_valid_by_the_schema(
    schema: etree.XMLSchema, shipped_document: bytes
) -> None:
    """The shipped reference with its drawings is valid SDD 1.1."""
    schema.assertValid(etree.fromstring(shipped_document))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        pytest.param(b'<State ref="s1"', b'<State ref="nowhere"', id="a state that is not there"),
        pytest.param(b'<Rank code="gen"/>', b'<Rank code="genus"/>', id="a rank of another list"),
        pytest.param(b"<Scope>", b"<Scope><Colour/>", id="an element of no meaning"),
        pytest.param(b' created="', b' made="', id="no moment"),
    ],
)
def test_the_schema_refuses_a_spoiled_document(
    schema: etree.XMLSchema, old: bytes, new: bytes
) -> None:
    """The check can fail: a document spoiled in one place is not valid."""
    raw = document(tables_of(small_rows()))
    assert schema.validate(etree.fromstring(raw))
    assert old in raw
    assert not schema.validate(etree.fromstring(raw.replace(old, new)))
