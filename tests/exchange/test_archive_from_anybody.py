"""Archives that somebody altered, by a spreadsheet or on purpose, are refused in a line or two."""

from __future__ import annotations

import io
import subprocess
import sys
import zipfile
from collections.abc import Mapping
from pathlib import Path

import pytest

from corallum.errors import Fault, InputError
from corallum.exchange.archive.meta import Described, TableShape, read_meta, write_meta
from corallum.exchange.archive.open import open_archive
from corallum.exchange.archive.pack import Member, Work, pack
from corallum.exchange.archive.terms import OCCURRENCE, uri_of
from corallum.exchange.archive.text_table import TAB, TextForm, read_rows
from corallum.exchange.text_file import write_text

NAMES = ("occurrenceID", "occurrenceStatus", "scientificName")
TABLE = b"occurrenceID\toccurrenceStatus\tscientificName\na\tpresent\tPorites\n"
META = write_meta(Described(TableShape(OCCURRENCE, "o.txt", tuple(map(uri_of, NAMES))), ()))


def zipped(folder: Path, files: Mapping[str, bytes]) -> Path:
    """An archive of these files."""
    path = folder / "a.zip"
    with zipfile.ZipFile(path, "w") as target:
        for name, data in files.items():
            target.writestr(name, data)
    return path


def faults_of(path: Path) -> list[str]:
    """What is said of an archive when it is read."""
    with pytest.raises(InputError) as caught, open_archive(path, OCCURRENCE, {}) as archive:
        list(archive.rows(OCCURRENCE))
    return [str(one) for one in caught.value.faults]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        pytest.param('index="2"', f'index="{"0" * 9}9999999999"', "the column of", id="column"),
        pytest.param('index="2"', f'index="{"9" * 5000}"', "the column of", id="large column"),
        pytest.param('Lines="1"', f'Lines="{"9" * 5000}"', "ignoreHeaderLines", id="header"),
        pytest.param('By="\\t"', 'By="&quot;"', "fieldsTerminatedBy", id="separator is quote"),
        pytest.param('By="&quot;"', 'By="&#10;"', "fieldsEnclosedBy", id="quote is line break"),
    ],
)
def test_numbers_and_marks_of_a_description_are_checked(old: str, new: str, said: str) -> None:
    """A column with ten digits is a fault: no memory is asked for it, and no error escapes."""
    text = META.decode()
    assert old in text
    faults: list[Fault] = []

    assert read_meta(text.replace(old, new).encode(), faults) is None
    assert [one for one in faults if said in f"{one.place} {one.expected}"]


@pytest.mark.parametrize(
    ("table", "said"),
    [
        pytest.param(TABLE.replace(b"\t", b","), "found commas", id="commas"),
        pytest.param(TABLE.replace(b"\t", b";"), "found semicolons", id="semicolons"),
        pytest.param(
            b"occurrenceID\tscientificName\toccurrenceStatus\na\tPorites\tpresent\n",
            "row 1, column 2: expected occurrenceStatus, found scientificName", id="moved",
        ),
        pytest.param(TABLE.decode().encode("utf-16"), "UTF-16", id="utf-16"),
        pytest.param(TABLE.replace(b"Por", b"P\xf6r"), "row 2, column 3: expected UTF-8",
                     id="latin-1"),
    ],
)  # fmt: skip
def test_what_a_spreadsheet_did_is_said_once(tmp_path: Path, table: bytes, said: str) -> None:
    """Other marks, columns that changed places and other encodings are one line, not one a row."""
    rows = table + b"".join(table.splitlines(keepends=True)[1:])
    found = faults_of(zipped(tmp_path, {"meta.xml": META, "o.txt": rows}))

    assert said in found[0]
    assert len(found) <= 2


@pytest.mark.parametrize("change", ["as it is", "crlf", "bom", "renamed"])
def test_what_changes_no_cell_is_read(tmp_path: Path, change: str) -> None:
    """Other line ends, a mark of byte order and a header of other words make no difference."""
    table = {
        "as it is": TABLE, "crlf": TABLE.replace(b"\n", b"\r\n"), "bom": b"\xef\xbb\xbf" + TABLE,
        "renamed": TABLE.replace(b"scientificName", b"name of the coral"),
    }[change]  # fmt: skip
    path = zipped(tmp_path, {"meta.xml": META, "o.txt": table})
    with open_archive(path, OCCURRENCE, {}) as archive:
        ((_, row),) = archive.rows(OCCURRENCE)
    assert (row["occurrenceID"], row["scientificName"]) == ("a", "Porites")


def test_a_long_cell_comes_back() -> None:
    """The history of a colony may be longer than Python's reader takes unasked: 131 072 signs."""
    text, faults = "x" * 300_000, list[Fault]()
    rows = read_rows(io.BytesIO(f"n\n{text}\n".encode()), "t", 1, TAB, faults)

    assert [row for _, row in rows] == [[text]]
    assert faults == []


def test_a_text_that_ends_within_a_sign_is_one_line() -> None:
    """UTF-16 of an odd number of bytes is a fault, not an error that escapes."""
    data, faults = "n\nPorites\n".encode("utf-16")[:-1], list[Fault]()
    form = TextForm(encoding="utf-16")

    list(read_rows(io.BytesIO(data), "t", 1, form, faults))
    assert [one.expected for one in faults] == ["UTF-16 text"]


MEMBER = Member("t.txt", ("a",))
HOLD = """
import sys
from pathlib import Path
from corallum.exchange.archive.pack import Work
work = Work(Path(sys.argv[1]), "key")
print("held", flush=True)
sys.stdin.read()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="nothing is locked there")
def test_two_do_not_write_the_same_archive_at_once(tmp_path: Path) -> None:
    """While one process writes a zip, another is told to wait, and takes nothing away."""
    target = tmp_path / "a.zip"
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(target)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == b"held\n"
        with pytest.raises(InputError, match=r"another one that is writing it now\. Wait"):
            Work(target, "another key", replace=True)
        other.communicate(b"")
    work = Work(target, "another key")
    with work.step([MEMBER], lambda: "1") as (table,):
        table.write(["1"])
    pack(work, [MEMBER], {})
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_is_no_zip_to_write_over(tmp_path: Path) -> None:
    """It is said before the work, not after."""
    with pytest.raises(InputError, match="expected the name of a file, found a folder"):
        Work(tmp_path, "key", replace=True)


def test_a_disk_that_is_full_leaves_no_half_of_a_file(tmp_path: Path) -> None:
    """What could not be written to its end is taken away again."""
    resource = pytest.importorskip("resource")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, before[1]))
    try:
        with pytest.raises(InputError, match="the room on the disk"):
            write_text(tmp_path / "a.json", "x" * 100_000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert list(tmp_path.iterdir()) == []
