"""Tables are read from a folder, or every reason why not is given at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from corallum.errors import TableError
from corallum.reference.reference import parse_reference
from corallum.store.reference_folder import MOST_BYTES, read_reference_folder

Write = Callable[..., Path]


def faults_of(folder: Path) -> str:
    """Faults of a folder that can't be read, one a line."""
    with pytest.raises(TableError) as caught:
        read_reference_folder(folder)
    return str(caught.value)


def test_a_written_reference_is_read_back(
    write_tables: Write, shipped_tables: Mapping[str, str]
) -> None:
    """What was written is read back, text by text."""
    assert read_reference_folder(write_tables(shipped_tables)) == shipped_tables


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    """A wrong path gives one line with the path."""
    folder = tmp_path / "nowhere"
    assert faults_of(folder) == (
        f"{folder}: expected a folder of tables, found no such folder. Check the path."
    )


def test_a_file_is_not_a_folder(tmp_path: Path) -> None:
    """A file in place of the folder gives the same line."""
    file = tmp_path / "words.csv"
    file.touch()
    assert faults_of(file).endswith("found no such folder. Check the path.")


def test_another_encoding_is_named_by_line_and_byte(tmp_path: Path) -> None:
    """A table saved as Latin-1 says where the first foreign byte stands, and what to do."""
    (tmp_path / "words.csv").write_bytes("word,probability\nü,0.5\n".encode("latin-1"))
    assert faults_of(tmp_path) == (
        "words.csv, line 2: expected UTF-8 text, found the byte 0xfc. Save the table as CSV UTF-8."
    )


def test_a_table_over_the_limit_is_refused_unread(tmp_path: Path) -> None:
    """A table over 20 MB is refused with what to do."""
    with (tmp_path / "values.csv").open("wb") as stream:
        stream.truncate(MOST_BYTES + 1)
    assert faults_of(tmp_path) == (
        "values.csv: expected at most 20 MB, found a larger file."
        " Split it by family, or remove what isn't a table."
    )


def test_every_table_that_cannot_be_read_is_named_at_once(tmp_path: Path) -> None:
    """Two tables at fault in two ways give two lines."""
    (tmp_path / "a.csv").write_bytes(b"\xff")
    (tmp_path / "values").mkdir()
    with (tmp_path / "values" / "b.csv").open("wb") as stream:
        stream.truncate(MOST_BYTES + 1)
    lines = faults_of(tmp_path).splitlines()
    assert [line.partition(":")[0] for line in lines] == ["a.csv, line 1", "values/b.csv"]


def test_a_folder_that_may_not_be_read_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder closed to the reader gives one line, not a traceback."""

    def refuse(_: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "iterdir", refuse)
    assert faults_of(tmp_path) == (
        f"{tmp_path}: expected a readable folder, found Permission denied. Check the path."
    )


def test_a_table_that_may_not_be_read_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file closed to the reader gives one line, not a traceback."""
    (tmp_path / "words.csv").touch()

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert faults_of(tmp_path) == (
        "words.csv: expected a readable table, found Permission denied. Check the file."
    )


def test_only_tables_here_and_one_level_down_are_read(tmp_path: Path) -> None:
    """Notes, and tables two levels down such as a copy of last year, are left alone."""
    for name in ("a.csv", "values/b.csv", "old/values/c.csv", "notes.txt", "values/notes.md"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(name, encoding="utf-8")
    (tmp_path / "folder.csv").mkdir()
    assert read_reference_folder(tmp_path) == {"a.csv": "a.csv", "values/b.csv": "values/b.csv"}


def test_an_empty_folder_has_no_tables(tmp_path: Path) -> None:
    """An empty folder is read as it is; the loader names what is missing."""
    found = read_reference_folder(tmp_path)
    assert found == {}
    with pytest.raises(TableError, match=r"words\.csv: expected this table, found no such file"):
        parse_reference(found)


def test_a_link_out_of_the_folder_is_not_followed(tmp_path: Path) -> None:
    """A reference that somebody sent can't have a file read that stands elsewhere."""
    (tmp_path / "secret.csv").write_text("x", encoding="utf-8")
    (tmp_path / "reference").mkdir()
    (tmp_path / "reference" / "words.csv").symlink_to(tmp_path / "secret.csv")
    (tmp_path / "reference" / "values").symlink_to(tmp_path)
    remedy = "found a link out of it. Put a copy of the table here."
    assert faults_of(tmp_path / "reference").splitlines() == [
        f"values/secret.csv: expected a table of this folder, {remedy}",
        f"words.csv: expected a table of this folder, {remedy}",
    ]


def test_a_link_within_the_folder_is_followed(tmp_path: Path) -> None:
    """A folder that is reached by a link itself, and links within it, are read."""
    folder = tmp_path / "reference"
    folder.mkdir()
    (folder / "words.csv").write_text("x", encoding="utf-8")
    (folder / "names.csv").symlink_to(folder / "words.csv")
    (tmp_path / "link").symlink_to(folder)
    assert read_reference_folder(tmp_path / "link") == {"words.csv": "x", "names.csv": "x"}
