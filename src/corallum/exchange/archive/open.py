"""Open an archive from anybody, and read its tables row by row by the names of their terms."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from corallum.errors import Fault, InputError
from corallum.exchange.archive.meta import META, Described, TableShape, read_meta
from corallum.exchange.archive.terms import short_name, uri_of
from corallum.exchange.archive.text_table import read_rows
from corallum.exchange.archive.unpack import Limits, Unpacked, open_zip

__all__ = ["OTHER_VERSION", "Archive", "Needed", "open_archive"]

OTHER_VERSION = (
    "A newer corallum may have written it: update the one here, or export it again there with "
    "this version."
)
"""What to do about an archive whose mark has another number."""
_MOST_META = 1_000_000
_MOST_FAULTS = 100
Needed = Mapping[str, Sequence[str]]


@dataclass(slots=True)
class Archive:
    """An open archive; ``faults`` gets whatever is wrong with its rows.

    Parameters
    ----------
    file : str
        What to call it.
    described : Described
        What its ``meta.xml`` says.
    """

    file: str
    described: Described
    unpacked: Unpacked
    faults: list[Fault] = field(default_factory=list)

    def shape(self, row_type: str) -> TableShape | None:
        """Return the table of a type of rows, if the archive has one."""
        tables = (self.described.core, *self.described.extensions)
        return next((one for one in tables if one.row_type == row_type), None)

    def rows(self, row_type: str) -> Iterator[tuple[int, dict[str, str]]]:
        """Yield number and cells, by short names of terms, of each row that can be read.

        The id of the core's row stands under ``id`` too. Rows that can't be read go to the
        faults.
        """
        shape = self.shape(row_type)
        if shape is None:
            return
        names = [short_name(term) if term else "" for term in shape.terms]
        defaults = {short_name(term): value for term, value in shape.defaults.items()}
        with self.unpacked.open(shape.file) as stream:
            read = read_rows(
                stream, shape.file, len(shape.terms), shape.form, self.faults, shape.names
            )
            for number, cells in read:
                row = dict(defaults)
                row.update(zip(names, cells, strict=True))
                row["id"] = cells[shape.id_column]
                yield number, row

    def fault(self, file: str, place: str, expected: str, found: str, remedy: str) -> None:
        """Note one fault."""
        self.faults.append(Fault(file, place, expected, found, remedy))

    def check(self) -> None:
        """Refuse the archive if anything was wrong.

        Raises
        ------
        InputError
            With the first hundred faults, and how many more there are.
        """
        if not self.faults:
            return
        more = len(self.faults) - _MOST_FAULTS
        kept = self.faults[:_MOST_FAULTS]
        if more > 0:
            remedy = "Mend these first."
            kept.append(Fault(self.file, "", "no faults", f"{more} more", remedy))
        raise InputError(kept)


@contextmanager
def open_archive(
    path: Path, core: str, needed: Needed, limits: Limits | None = None
) -> Iterator[Archive]:
    """Open an archive for as long as it is needed.

    Parameters
    ----------
    path : Path
        The zip.
    core : str
        Type of the rows of its core.
    needed : mapping of str to sequence of str
        Short names of the terms that each type of rows must have; a type that is not among
        the tables is a fault.
    limits : Limits or None
        How much it may hold; None is the usual.

    Raises
    ------
    InputError
        With everything that is wrong with the zip, its description and its columns.
    """
    with open_zip(path, limits or Limits()) as unpacked:
        faults: list[Fault] = []
        if META not in unpacked.names:
            remedy = "Choose the zip as it was exported."
            faults.append(Fault(str(path), "", f"a file {META}", "none", remedy))
            raise InputError(faults)
        described = read_meta(unpacked.read(META, _MOST_META), faults)
        if described is None:
            raise InputError(faults)
        archive = Archive(str(path), described, unpacked, faults)
        if described.core.row_type != core:
            found = short_name(described.core.row_type)[:80] or "none"
            expected = f"a core of {core.rpartition('/')[2]}"
            archive.fault(META, "core", expected, found, "Choose another archive.")
        _check_tables(archive, needed)
        archive.check()
        yield archive
        archive.check()


def _check_tables(archive: Archive, needed: Needed) -> None:
    """Note tables that are missing, and terms that they lack."""
    for row_type, names in needed.items():
        shape = archive.shape(row_type)
        what = row_type.rpartition("/")[2]
        if shape is None:
            archive.fault(META, "", f"a table of {what}", "none", "Export it again with it.")
            continue
        if shape.file not in archive.unpacked.names:
            remedy = "Choose the zip as it was exported."
            archive.fault(archive.file, shape.file, f"the table of {what}", "no file", remedy)
        for name in names:
            if uri_of(name) not in shape.terms and uri_of(name) not in shape.defaults:
                remedy = "Add the column, or export it again."
                archive.fault(META, shape.file, f"the term {name}", "none", remedy)
