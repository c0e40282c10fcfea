"""Plain tables as files of a new folder, or of one zip; whole, or not there at all."""

from __future__ import annotations

import os
import shutil
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from corallum.errors import Fault, InputError
from corallum.exchange.archive.text_table import COMMA, TableWriter

__all__ = ["TablesOut", "open_tables"]

# Zip keeps no earlier day; the same tables are the same bytes.
_DAY = (1980, 1, 1, 0, 0, 0)
Cells = list[str | int | float | None]


class TablesOut:
    """Writes files into the folder that is to become the target."""

    def __init__(self, folder: Path, target: Path) -> None:
        self.folder, self.target = folder, target

    def table(self, file: str, header: tuple[str, ...], rows: Iterator[Cells]) -> int:
        """Write a table; return how many rows it has."""
        path = self.folder / file
        # Said here: further out it would pass for a fault of the database that is read.
        with _writable(self.target):
            path.parent.mkdir(parents=True, exist_ok=True)
        with _writable(self.target), path.open("wb") as stream:
            writer = TableWriter(stream, COMMA)
            writer.header(header)
            for row in rows:
                writer.write(row)
            writer.close()
        return writer.rows

    def text(self, file: str, text: str) -> None:
        """Write a text."""
        with _writable(self.target):
            (self.folder / file).write_text(text, encoding="utf-8", newline="\n")


@contextmanager
def open_tables(target: Path) -> Iterator[TablesOut]:
    """Open a new folder, or a new zip where the name ends so; it is there once all is written.

    Raises
    ------
    InputError
        Where something is there already, or can't be written.
    """
    # Two at once each have their own.
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    whole = target.with_name(f".{target.name}.{os.getpid()}.whole")
    if target.exists():
        remedy = "Choose another name."
        raise InputError([Fault(str(target), "", "a new name", "one that is there", remedy)])
    with _writable(target):
        shutil.rmtree(part, ignore_errors=True)
        part.mkdir(parents=True)
        try:
            yield TablesOut(part, target)
            if target.suffix.casefold() == ".zip":
                _zip(part, whole)
                whole.replace(target)
            else:
                part.replace(target)
        finally:
            shutil.rmtree(part, ignore_errors=True)
            whole.unlink(missing_ok=True)


def _zip(folder: Path, target: Path) -> None:
    """Pack all files of a folder, by name."""
    files: Mapping[str, Path] = {
        path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()
    }
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files):
            info = zipfile.ZipInfo(name, _DAY)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            with files[name].open("rb") as source, archive.open(info, "w") as sink:
                shutil.copyfileobj(source, sink)
    with target.open("rb+") as stream:
        os.fsync(stream.fileno())


@contextmanager
def _writable(target: Path) -> Iterator[None]:
    """Turn a disk that refuses into one line."""
    try:
        yield
    except OSError as error:
        reason = error.strerror or str(error)
        remedy = "Check the folder and the room on the disk."
        fault = Fault(str(target), "", "a place that can be written", reason, remedy)
        raise InputError([fault]) from error
