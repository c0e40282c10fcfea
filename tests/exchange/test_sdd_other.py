"""SDD of another make, and SDD that is broken: what is taken, what is named, what is refused."""

from __future__ import annotations

import csv
import io
from functools import cache
from pathlib import Path

import pytest

from corallum.errors import InputError
from corallum.exchange.reference_tables import Reading
from corallum.exchange.sdd.read import read_sdd
from corallum.model.compile import compile_reference
from corallum.reference.reference import parse_reference
from corallum.store.reference_folder import shipped_reference

# Invented, in the elements and order of the schema of SDD 1.1.
OTHER = (Path(__file__).parent / "pebbles.xml").read_text(encoding="utf-8")


@cache
def shipped() -> dict[str, str]:
    """The shipped tables."""
    return shipped_reference()


def read(text: str | bytes) -> tuple[dict[str, str], Reading]:
    """Read a document."""
    reading = Reading("folder/pebbles.xml")
    raw = text.encode() if isinstance(text, str) else text
    return read_sdd(raw, reading, shipped()), reading


def faults_of(text: str | bytes) -> list[str]:
    """Faults of a document, a line each."""
    with pytest.raises(InputError) as caught:
        read(text)
    return [str(fault) for fault in caught.value.faults]


def cells(tables: dict[str, str], table: str, *columns: str) -> list[tuple[str, ...]]:
    """Columns of a table."""
    rows = csv.DictReader(io.StringIO(tables[f"{table}.csv"], newline=""))
    return [tuple(row[column] for column in columns) for row in rows]


def shown(tables: dict[str, str]) -> dict[tuple[str, str], str]:
    """Values by genus and character."""
    rows = cells(tables, "values", "genus", "character", "value")
    return {(genus, character): value for genus, character, value in rows}


@pytest.fixture(scope="module")
def other() -> dict[str, str]:
    """The tables of the invented pebbles."""
    return read(OTHER)[0]


def test_another_make_becomes_a_sound_reference(other: dict[str, str]) -> None:
    """A matrix of another make is a reference that passes every check and can be compiled."""
    reference = parse_reference(other)
    assert tuple(reference.entries.genera) == ("Pebblus", "Stonia")
    assert len(compile_reference(reference).genera) == 2


def test_labels_become_ids_and_stay_labels(other: dict[str, str]) -> None:
    """Ids are made of labels, each once; the label stays what people read."""
    assert cells(other, "characters", "character", "question", "kind", "unit") == [
        ("outline_of_it", "Outline of it", "states", ""),
        ("edge", "Edge", "states", ""),
        ("width", "Width", "size", "mm"),
    ]
    assert cells(other, "states", "state", "label")[:3] == [
        ("round", "Round"),
        ("long", "Long"),
        ("long_2", "Long!"),
    ]


def test_frequencies_take_the_nearest_word(other: dict[str, str]) -> None:
    """The middle .75 of a range is ``usually`` (.75), .2 is ``sometimes`` (.15)."""
    found = shown(other)
    assert found["Pebblus", "outline_of_it"] == "usually round; sometimes long"


def test_states_without_a_frequency_share_alike(other: dict[str, str]) -> None:
    """Two states of which no more is known are ``often`` each, one alone is ``usually``."""
    found = shown(other)
    assert found["Stonia", "outline_of_it"] == "often long; often long_2"
    assert found["Stonia", "edge"] == "usually sharp"


def test_sizes_become_ranges_in_one_unit(other: dict[str, str]) -> None:
    """Least and greatest are taken as they are; 40 mm ± 1.96 times 10 mm is 20.4 to 59.6 mm."""
    found = shown(other)
    assert found["Pebblus", "width"] == "2-6.5"
    assert found["Stonia", "width"] == "20.4-59.6"


def test_a_rule_of_where_it_makes_no_sense_is_turned_round(other: dict[str, str]) -> None:
    """Not where round means: where long, or where long of the other kind."""
    rules = dict(cells(other, "characters", "character", "applies_when"))
    assert rules == {"outline_of_it": "", "edge": "outline_of_it = long|long_2", "width": ""}


def test_groups_families_and_older_names_are_taken(other: dict[str, str]) -> None:
    """A node of the tree is a group, a name above is the family, a synonym an older name."""
    groups = dict(cells(other, "characters", "character", "group"))
    assert groups == {"outline_of_it": "outside", "edge": "outside", "width": "width"}
    assert cells(other, "genera", "genus", "family", "description") == [
        ("Pebblus", "Lapidae", "not given"),
        ("Stonia", "not given", "Flat."),
    ]
    assert cells(other, "names", "older_name", "genus") == [("Oldia", "Pebblus")]


def test_what_is_not_taken_is_named() -> None:
    """Texts, doubts and people are counted, not passed over in silence."""
    assert read(OTHER)[1].left_out == {
        "people and organisations": 1,
        "modifiers that say no frequency": 1,
        "characters of text or of sequences": 1,
        "free text and sequences in descriptions": 1,
    }


def test_every_declared_encoding_is_read() -> None:
    """The encoding that a document declares is the one it is read in."""
    text = OTHER.replace("Pebblus", "Kiésel").replace('"UTF-8"', '"ISO-8859-1"')
    assert cells(read(text.encode("latin-1"))[0], "genera", "genus")[0] == ("Kiésel",)
    text = text.replace('"ISO-8859-1"', '"UTF-16"')
    assert cells(read(text.encode("utf-16"))[0], "genera", "genus")[0] == ("Kiésel",)


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        pytest.param(
            '<State ref="s4"/>',
            '<State ref="s9"/>',
            "element State: expected a state of the character edge, found the reference 's9'.",
            id="a state that is not there",
        ),
        pytest.param(
            '<State ref="s4"/>',
            '<State ref="s1"/>',
            "element State: expected a state of the character edge, found the reference 's1'.",
            id="a state of another character",
        ),
        pytest.param(
            '<Quantitative ref="c3"><Measure type="Min"',
            '<Quantitative ref="c1"><Measure type="Min"',
            "element Quantitative: expected a reference to a QuantitativeCharacter of "
            "this file, found the reference 'c1'.",
            id="a size of a character with states",
        ),
        pytest.param(
            '<Modifier ref="m1"/>',
            '<Modifier ref="c1"/>',
            "element Modifier: expected a reference to a Modifier of this file, found "
            "the reference 'c1'.",
            id="a modifier that is none",
        ),
        pytest.param(
            'value="6.5"',
            'value="wide"',
            "element Measure: expected a number in value, found 'wide'.",
            id="a size that is no number",
        ),
        pytest.param(
            'value="6.5"',
            'value="INF"',
            "element Measure: expected a number in value, found 'INF'.",
            id="a size without end",
        ),
        pytest.param(
            '<Scope><TaxonName ref="t2"/></Scope>',
            '<Scope><TaxonName ref="c1"/></Scope>',
            "element TaxonName: expected a reference to a TaxonName of this file, found "
            "the reference 'c1'.",
            id="a name that is none",
        ),
        pytest.param(
            'id="s2"',
            'id="s1"',
            "element StateDefinition: expected the id s1 once (first in line {before}), found "
            "it again.",
            id="an id that stands twice",
        ),
        pytest.param(
            "<Label>Outline of it</Label>",
            "<Label> </Label>",
            "element CategoricalCharacter: expected a label, found none.",
            id="a character without a label",
        ),
        pytest.param(
            '<Character ref="c2"/>',
            '<Character ref="c7"/>',
            "element CharNode: expected a Character of this file, found the reference 'c7'.",
            id="a leaf of the tree that is no character",
        ),
    ],
)
def test_a_broken_document_is_refused_by_line(old: str, new: str, fault: str) -> None:
    """What refers to nothing, or is no number, is named by line and element."""
    at = OTHER[: OTHER.index(old)].count("\n") + 1
    # The rule stands on the line between a leaf and what it points to.
    line = at - 2 if "CharNode" in fault else at
    expected = f"folder/pebbles.xml, line {line}, {fault.format(before=at - 1)}"
    found = faults_of(OTHER.replace(old, new, 1))
    assert [one for one in found if one.startswith(expected)], found


def test_all_faults_come_at_once() -> None:
    """Three faults in three places are three lines."""
    text = OTHER.replace('value="6.5"', 'value="x"').replace(
        '<State ref="s4"/>', '<State ref="q"/>'
    )
    assert len(faults_of(text.replace('value="0.04"', 'value=""'))) == 3


BOMB = "".join(f'<!ENTITY b{n} "{f"&b{n - 1};" * 10}">' for n in range(1, 12))


@pytest.mark.parametrize(
    "raw",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(OTHER.encode()[:2000], id="cut off"),
        pytest.param(
            OTHER.replace("UTF-8", "UTF-16").encode(), id="another encoding than declared"
        ),
        pytest.param(b"\xff\xfe\x00", id="half a sign"),
        pytest.param(OTHER.encode().replace(b"Pebblus", b"P\xe9bblus"), id="not UTF-8"),
        pytest.param(OTHER.encode().replace(b"Pebblus", b"P\x00bblus"), id="a zero byte"),
        pytest.param(b"<a>" * 100_000, id="very deep"),
        pytest.param(
            OTHER.replace("<Datasets", f'<!DOCTYPE x [<!ENTITY b0 "ha">{BOMB}]><Datasets', 1)
            .replace("Pebblus", "&b11;")
            .encode(),
            id="entities that grow",
        ),
        pytest.param(
            OTHER.replace("<Datasets", f'<!DOCTYPE x [<!ENTITY b0 "ha">{BOMB}]><Datasets', 1)
            .replace('value="6.5"', 'value="&b11;"')
            .encode(),
            id="entities that grow in an attribute",
        ),
        pytest.param(
            OTHER.replace(
                "<Datasets", '<!DOCTYPE x [<!ENTITY f SYSTEM "file:///etc/hostname">]><Datasets', 1
            )
            .replace("Pebblus", "&f;")
            .encode(),
            id="a file of this machine",
        ),
        pytest.param(
            OTHER.replace(
                "<Datasets", '<!DOCTYPE x SYSTEM "http://localhost:9/x.dtd"><Datasets', 1
            ).encode(),
            id="a type from elsewhere",
        ),
    ],
)
def test_hostile_and_damaged_documents_are_one_line(raw: bytes) -> None:
    """Nothing is fetched or expanded; what can't be read is one fault, never a traceback."""
    (fault,) = faults_of(raw)
    assert fault.startswith("folder/pebbles.xml")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        pytest.param(
            "<html/>", "expected the element Datasets of the namespace", id="another format"
        ),
        pytest.param(
            OTHER.replace("UBIF/2006/", "UBIF/2005/"),
            "expected the element Datasets of the namespace",
            id="another version",
        ),
        pytest.param(
            OTHER.replace("CodedDescription", "OtherDescription"),
            "expected a Dataset with CodedDescriptions, found none.",
            id="no descriptions",
        ),
        pytest.param(
            OTHER.replace("<Characters>", "<Others>").replace("</Characters>", "</Others>"),
            "expected Characters, found none.",
            id="no characters",
        ),
    ],
)
def test_what_is_missing_is_said(text: str, expected: str) -> None:
    """A document without what is needed says what is missing."""
    assert any(expected in line for line in faults_of(text))


def test_two_descriptions_of_one_name_are_forms_of_equal_weight() -> None:
    """Where a name is described twice, each description is a form of half its colonies."""
    tables, _ = read(
        OTHER.replace('<TaxonName ref="t2"/></Scope>', '<TaxonName ref="t1"/></Scope>')
    )
    assert cells(tables, "forms", "genus", "form", "weight") == [
        ("Pebblus", "a_pebble", "0.5"),
        ("Pebblus", "a_stone", "0.5"),
    ]


@pytest.mark.parametrize(
    ("low", "high", "value"),
    [
        pytest.param("2.5", "97.5", "3-8", id="95 % in percent"),
        pytest.param("0.025", "0.975", "3-8", id="95 % as shares"),
        pytest.param("25", "75", "2-6.5", id="half of them says nothing of 95 %"),
        pytest.param("25", "97.5", "2-6.5", id="a quartile below"),
        pytest.param("2.5", "75", "2-6.5", id="a quartile above"),
    ],
)
def test_percentiles_count_where_they_hold_nearly_all(low: str, high: str, value: str) -> None:
    """Percentiles 2.5 and 97.5 are the range itself; quartiles leave least and greatest."""
    percentiles = (
        f'<PMeasure type="PercLower" par="{low}" value="3"/>'
        f'<PMeasure type="PercUpper" par="{high}" value="8"/><Measure type="Min"'
    )
    tables, _ = read(OTHER.replace('<Measure type="Min"', percentiles))
    assert shown(tables)["Pebblus", "width"] == value
