"""Archives in text form: tables, their description, one zip, and what is refused of them."""

from __future__ import annotations

import csv
import datetime as dt
import io
import os
import stat
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from corallum.errors import Fault, InputError
from corallum.exchange.archive.eml import Box, Dataset, write_eml
from corallum.exchange.archive.guard import guarded, unguarded
from corallum.exchange.archive.meta import Described, TableShape, read_meta, write_meta
from corallum.exchange.archive.pack import HASHES, Member, Work, pack
from corallum.exchange.archive.terms import EVENT, OCCURRENCE, TERMS, uri_of
from corallum.exchange.archive.text_table import COMMA, TAB, TableWriter, TextForm, read_rows
from corallum.exchange.archive.unpack import Limits, is_zip, open_zip

# Any text that a record may hold: no NUL, and no half of a pair.
TEXTS = st.text(st.characters(exclude_characters="\0", exclude_categories=("Cs",)), max_size=20)
ODD = ["", "a\tb", 'say "so"', "two\nlines", "\r", "\u73ca\u745a", "=1+1", "'=x", "-5", "+", "\t"]


def written(rows: list[list[str]], form: TextForm = TAB) -> bytes:
    """A table with a header, as bytes."""
    stream = io.BytesIO()
    writer = TableWriter(stream, form)
    writer.header(["x"] * len(rows[0]))
    for row in rows:
        writer.write(row)
    writer.close()
    return stream.getvalue()


@given(st.lists(st.lists(TEXTS, min_size=3, max_size=3), min_size=1, max_size=5))
def test_every_text_comes_back(rows: list[list[str]]) -> None:
    """Whatever text is written into a table is read out of it."""
    for form in (TAB, COMMA):
        faults: list[Fault] = []
        found = list(read_rows(io.BytesIO(written(rows, form)), "t", 3, form, faults))
        assert faults == []
        assert [row for _, row in found] == rows


@given(st.lists(st.lists(TEXTS, min_size=2, max_size=2), min_size=1, max_size=5))
def test_another_reader_finds_the_same_cells(rows: list[list[str]]) -> None:
    """Python's own reader of delimited text finds the cells, each guarded against formulas."""
    text = written(rows).decode()
    reader = csv.reader(io.StringIO(text, newline=""), delimiter="\t", strict=True)
    assert list(reader)[1:] == [[guarded(cell) for cell in row] for row in rows]


@given(TEXTS)
def test_a_guard_is_taken_off_again(text: str) -> None:
    """No text is changed by being guarded and unguarded."""
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("text", ["=1+1", "+x", "-x", "@x", "\tx", "\rx", "-5 m", "'=x", "--5"])
def test_what_a_spreadsheet_runs_is_guarded(text: str) -> None:
    """A text that begins as a formula does begins with an apostrophe in the table."""
    assert guarded(text) == f"'{text}"


@pytest.mark.parametrize("text", ["-5", "-0.5", "+3", "1e-3", "-1.5E+10", "x=1", "'quoted'", ""])
def test_numbers_and_plain_texts_stay(text: str) -> None:
    """A negative number stays a number, and a text that is no formula as it is."""
    assert guarded(text) == text


def test_a_number_is_written_as_short_as_it_comes_back() -> None:
    """Numbers keep all their digits, and none more."""
    text = written([[0.1, 18.0, 1 / 3, None, 7]])  # type: ignore[list-item]
    assert text.decode().splitlines()[1] == "0.1\t18\t0.3333333333333333\t\t7"


def test_a_byte_order_mark_is_no_part_of_a_table() -> None:
    """A table that another program saved with a mark is read alike."""
    data = b"\xef\xbb\xbf" + b"1\t2\n"
    rows = read_rows(io.BytesIO(data), "t", 2, TextForm(header_rows=0), [])
    assert list(rows) == [(1, ["1", "2"])]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"a\tb\n1\t\xfc\n", "t, row 2, column 2: expected UTF-8 text, found b'\\xfc'."),
        (b"a\tb\n1\n", "t, row 2: expected 2 cells, found 1."),
        (b"a\tb\n1\t2\t3\n", "t, row 2: expected 2 cells, found 3."),
        (b'a\tb\n1\t"2\n', "t, row 2: expected cells whose quotes are closed"),
        (b'a\tb\n"1"x\t2\n', "t, row 2: expected cells whose quotes are closed"),
        (b"a\tb\n1\t\x00\n", "t, row 2, column 2: expected text, found the character NUL."),
        ("a\tb\n".encode("utf-16"), "t: expected UTF-8 text, found UTF-16 text."),
    ],
)
def test_a_row_that_cant_be_read_is_named(data: bytes, said: str) -> None:
    """File, row and column of what is wrong are said; such a row is not among those read."""
    faults: list[Fault] = []
    assert list(read_rows(io.BytesIO(data), "t", 2, TAB, faults)) == []
    assert str(faults[0]).startswith(said)


def shapes() -> Described:
    """A core and an extension."""
    core = TableShape(EVENT, "event.txt", (uri_of("eventID"), uri_of("eventDate")))
    more = TableShape(OCCURRENCE, "o.csv", (uri_of("eventID"), uri_of("occurrenceID")), form=COMMA)
    return Described(core, (more,), "eml.xml")


def test_a_description_comes_back() -> None:
    """What is written into meta.xml is read out of it."""
    faults: list[Fault] = []
    assert read_meta(write_meta(shapes()), faults) == shapes()
    assert faults == []


def schema(name: str) -> etree.XMLSchema:
    """A schema of CORALLUM_SCHEMAS, without what it asks to fetch.

    ``tdwg_dwc_text.xsd`` stands in the repository dwc of Biodiversity Information Standards,
    folder docs/text; ``eml.xsd`` and the files beside it in the repository eml of the National
    Center for Ecological Analysis and Synthesis, folder xsd, version 2.2.0.
    """
    folder = os.environ.get("CORALLUM_SCHEMAS", "")
    path = Path(folder) / name
    if not folder or not path.is_file():
        pytest.skip(f"CORALLUM_SCHEMAS names no folder with {name}")
    tree = etree.parse(path, etree.XMLParser(no_network=True))
    for node in tree.getroot().findall("{http://www.w3.org/2001/XMLSchema}import"):
        if "://" in node.get("schemaLocation", ""):
            tree.getroot().remove(node)
    return etree.XMLSchema(tree)


def test_a_description_is_valid_by_its_schema() -> None:
    """The text schema of Darwin Core, by its authors, takes meta.xml."""
    wanted = schema("tdwg_dwc_text.xsd")
    wanted.assertValid(etree.fromstring(write_meta(shapes())))


def dataset() -> Dataset:
    """A data set that says everything."""
    day = dt.date(2026, 3, 14)
    return Dataset(
        "corallum:x", "Title <1>", "Abstract.", "Invented reserve", ("Ana Invented", "Solo"), day,
        "CC-BY-4.0", day, day + dt.timedelta(days=2), "A reef", Box(1, 2, 4, 3),
        (("genus", "Porites"), ("order", "Scleractinia")), ("Sampling.",), ("Note.",),
        invented=True,
    )  # fmt: skip


def test_a_data_set_is_valid_by_its_schema() -> None:
    """The schema of EML 2.2.0, by its authors, takes eml.xml."""
    wanted = schema("eml.xsd")
    wanted.assertValid(etree.fromstring(write_eml(dataset())))


def test_parts_of_a_description_stand_in_the_order_of_the_schema() -> None:
    """A sequence in EML has one order.

    Order from eml-resource.xsd (group ResourceGroup), eml-coverage.xsd and eml-dataset.xsd of
    EML 2.2.0; of coverage and dataset from memory.
    """
    orders = {
        "dataset": "title creator metadataProvider associatedParty pubDate language abstract "
        "additionalInfo intellectualRights licensed distribution coverage contact methods",
        "coverage": "geographicCoverage temporalCoverage taxonomicCoverage",
        "boundingCoordinates": "westBoundingCoordinate eastBoundingCoordinate "
        "northBoundingCoordinate southBoundingCoordinate",
        "licensed": "licenseName url identifier",
        "creator": "individualName organizationName",
    }
    root = etree.fromstring(write_eml(dataset()))
    for name, order in orders.items():
        for node in root.iter(name):
            places = [order.split().index(str(child.tag)) for child in node]
            assert places == sorted(places)


def test_invented_data_say_so() -> None:
    """Title and abstract of invented data say that they are."""
    root = etree.fromstring(write_eml(dataset()))
    assert root.findtext("dataset/title") == "Title <1> (invented data)"
    assert "invented" in str(root.findtext("dataset/abstract/para"))


def test_nobody_is_named_unasked() -> None:
    """Without creators the organisation stands alone."""
    from dataclasses import replace  # noqa: PLC0415  beside its one use

    root = etree.fromstring(write_eml(replace(dataset(), creators=())))
    assert root.findall(".//individualName") == []
    assert root.findtext("dataset/creator/organizationName") == "Invented reserve"


@pytest.mark.parametrize(
    "name", ["scientificName", "parentEventID", "measurementTypeID", "license", "organismQuantity"]
)
def test_terms_have_the_addresses_of_their_standards(name: str) -> None:
    """Darwin Core, Dublin Core terms and the extended measurement each have their own.

    Addresses from the term lists of the standards.
    """
    spaces = {
        "license": "http://purl.org/dc/terms/",
        "measurementTypeID": "http://rs.iobis.org/obis/terms/",
    }
    assert TERMS[name] == spaces.get(name, "http://rs.tdwg.org/dwc/terms/") + name


@pytest.mark.parametrize(
    "text",
    [
        '<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]><archive>&x;</archive>',
        '<!DOCTYPE a [<!ENTITY x "y">]><archive>&x;</archive>',
        "<archive/>",
        "",
    ],
)
def test_a_description_of_ill_will_is_refused(text: str) -> None:
    """Entities are not expanded and nothing is fetched: it is a fault."""
    faults: list[Fault] = []
    assert read_meta(text.encode(), faults) is None
    assert len(faults) == 1
    assert "root:" not in str(faults[0])


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("event.txt", "../event.txt", "one file name, found ../event.txt"),
        ('index="1"', 'index="-1"', "the column of eventDate, found '-1'"),
        ('index="1"', 'index="0"', "each column and term once"),
        ('"UTF-8"', '"utf-7"', "a value that is known, found 'utf-7'"),
        ('fieldsTerminatedBy="\\t"', 'fieldsTerminatedBy="ab"', "found 'ab'"),
    ],
)
def test_a_description_that_cant_be_is_refused(old: str, new: str, said: str) -> None:
    """What can't be in a description is named with the file it is of."""
    text = write_meta(shapes()).decode()
    head, body = text.split("?>", 1)
    faults: list[Fault] = []
    assert read_meta(f"{head}?>{body.replace(old, new, 1)}".encode(), faults) is None
    assert any(said in str(one) for one in faults), faults


MEMBER = Member("t.txt", ("a", "b"))


def fill(work: Work, *rows: int) -> None:
    """One part for each row."""
    for row in rows:
        with work.step([MEMBER], lambda row=row: str(row)) as (table,):  # type: ignore[misc]
            table.write([row, row])


def test_parts_become_one_table(tmp_path: Path) -> None:
    """The zip holds the header once, the parts in order, and the hash of each file."""
    work = Work(tmp_path / "a.zip", "key")
    fill(work, 1, 2)
    pack(work, [MEMBER], {"meta.xml": b"m"})
    with zipfile.ZipFile(tmp_path / "a.zip") as found:
        assert found.read("t.txt") == b"a\tb\n1\t1\n2\t2\n"
        assert [line.split()[1] for line in found.read(HASHES).decode().splitlines()] == [
            "meta.xml", "t.txt",
        ]  # fmt: skip
    assert list(tmp_path.iterdir()) == [tmp_path / "a.zip"]


def test_what_was_done_is_not_done_again(tmp_path: Path) -> None:
    """After a stop, parts of the same key are kept, and the zip is the same byte by byte."""
    whole = Work(tmp_path / "whole.zip", "key")
    fill(whole, 1, 2, 3)
    pack(whole, [MEMBER], {})
    first = Work(tmp_path / "a.zip", "key")
    fill(first, 1, 2)
    with pytest.raises(TypeError), first.step([MEMBER], lambda: "3") as (table,):
        table.write(9)  # type: ignore[arg-type]  # the work breaks off here
    again = Work(tmp_path / "a.zip", "key")
    assert again.done == ("1", "2")
    fill(again, 3)
    pack(again, [MEMBER], {})
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "whole.zip").read_bytes()


def test_parts_of_another_key_are_thrown_away(tmp_path: Path) -> None:
    """Once the history has gone on, nothing that was done before is used."""
    fill(Work(tmp_path / "a.zip", "key"), 1, 2)
    assert Work(tmp_path / "a.zip", "another").done == ()


def test_a_part_that_was_altered_is_done_again(tmp_path: Path) -> None:
    """A part whose hash is another, and all after it, count as not done."""
    work = Work(tmp_path / "a.zip", "key")
    fill(work, 1, 2, 3)
    work.parts("t.txt")[1].write_bytes(b"2\t9\n")
    assert Work(tmp_path / "a.zip", "key").done == ("1",)


def test_a_file_that_is_there_stays(tmp_path: Path) -> None:
    """Nothing is written over, unless it was asked for."""
    (tmp_path / "a.zip").write_bytes(b"mine")
    with pytest.raises(InputError, match="expected a new file, found one that is there"):
        Work(tmp_path / "a.zip", "key")
    pack(Work(tmp_path / "a.zip", "key", replace=True), [], {})
    assert is_zip(tmp_path / "a.zip")


def test_a_folder_that_is_not_there_is_one_line(tmp_path: Path) -> None:
    """A file where the folder should be is said, not raised as it comes."""
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(InputError, match="a file that can be written"):
        Work(tmp_path / "file" / "a.zip", "key")


def zipped(folder: Path, *infos: tuple[zipfile.ZipInfo, bytes]) -> Path:
    """A zip of some files."""
    path = folder / "z.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for info, data in infos:
            info.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(info, data)
    return path


@pytest.mark.parametrize("name", ["../x", "/etc/x", "a/../../x", "C:x", "a\\..\\..\\x"], ids=repr)
def test_a_name_that_leads_elsewhere_is_refused(tmp_path: Path, name: str) -> None:
    """No file of a zip may lie outside it."""
    path = zipped(tmp_path, (zipfile.ZipInfo(name), b"x"))
    with pytest.raises(InputError, match="stays within the archive"), open_zip(path):
        pass


def test_links_bombs_and_doubles_are_refused_together(tmp_path: Path) -> None:
    """All that is refused of a zip is said at once."""
    link = zipfile.ZipInfo("link")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    with pytest.warns(UserWarning, match="Duplicate name"):
        path = zipped(
            tmp_path, (link, b"target"), (zipfile.ZipInfo("bomb"), bytes(20_000_000)),
            (zipfile.ZipInfo("twice"), b"1"), (zipfile.ZipInfo("twice"), b"2"),
        )  # fmt: skip
    with pytest.raises(InputError) as error, open_zip(path):
        pass
    assert [one.found for one in error.value.faults] == [
        "a link", "one packed more", "the name again",
    ]  # fmt: skip


def test_limits_hold(tmp_path: Path) -> None:
    """Too many files, and too much once unpacked, are refused from the list alone."""
    path = zipped(tmp_path, *((zipfile.ZipInfo(str(i)), b"1234") for i in range(3)))
    for limits in (Limits(files=2), Limits(bytes_all=10), Limits(bytes_each=3)):
        with pytest.raises(InputError), open_zip(path, limits):
            pass
    with open_zip(path, Limits(files=3, bytes_all=12, bytes_each=4)) as found:
        assert found.read("1", 4) == b"1234"


def test_what_is_no_zip_is_refused(tmp_path: Path) -> None:
    """A text that is called a zip is one fault."""
    path = tmp_path / "z.zip"
    path.write_bytes(b"PK\x03\x04 no zip")
    with pytest.raises(InputError, match="expected a zip that can be read"), open_zip(path):
        pass
