"""A reference out as SDD or NEXUS, and a file of either kind in as a new reference."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import corallum
from corallum.actions.programmes import open_programme
from corallum.draw.states import draw_state
from corallum.errors import Fault, InputError, TableError
from corallum.exchange.nexus.read import read_matrix
from corallum.exchange.nexus.tables import tables_of_matrix
from corallum.exchange.nexus.write import matrix_of, nexus_text
from corallum.exchange.reference_tables import Reading
from corallum.exchange.sdd.read import read_sdd
from corallum.exchange.sdd.write import SddAbout, sdd_document
from corallum.model.compile import compile_reference
from corallum.reference.reference import Reference, parse_reference
from corallum.store.new_reference import check_new_folder, write_new_reference
from corallum.store.reference_folder import read_reference_folder, shipped_reference

__all__ = [
    "Imported",
    "NexusWish",
    "SddWish",
    "Tables",
    "Written",
    "export_nexus",
    "export_sdd",
    "import_reference",
    "tables_to_export",
]

_SHIPPED_LICENCE = "MIT License. Copyright (c) 2026 Corallum developers."


@dataclass(frozen=True, slots=True)
class Tables:
    """The tables to be exported, checked; ``name`` is what to call them."""

    name: str
    files: Mapping[str, str]
    reference: Reference
    is_shipped: bool


@dataclass(frozen=True, slots=True)
class SddWish:
    """A document: its title and licence (blank: of its own), and whether drawings go in."""

    title: str = ""
    licence: str = ""
    drawings: bool = False


@dataclass(frozen=True, slots=True)
class NexusWish:
    """A matrix: the least frequent word that is scored, and what becomes of sizes."""

    least: str = "sometimes"
    sizes: str = "leave-out"


@dataclass(frozen=True, slots=True)
class Written:
    """A file, and what is in it; ``left_out`` are ids of characters."""

    data: bytes
    genera: int
    forms: int
    characters: int
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Imported:
    """What was read; ``left_out`` says what of the file was not taken, and how often."""

    kind: str
    folder: str
    genera: int
    forms: int
    characters: int
    values: int
    left_out: tuple[tuple[str, int], ...]


def tables_to_export(programme: Path | None, folder: Path | None) -> Tables:
    """Return the reference of a programme, of a folder, or the shipped one where neither is.

    Raises
    ------
    InputError
        Where both are given.
    TableError
        Where the tables have faults.
    """
    if programme is not None and folder is not None:
        fault = Fault("--reference", "", "a programme or a reference", "both", "Leave one out.")
        raise InputError([fault])
    if programme is not None:
        opened = open_programme(programme)
        try:
            files = read_reference_folder(opened.reference_folder)
            name = opened.settings.name
        finally:
            opened.close()
        return Tables(name, files, parse_reference(files), is_shipped=False)
    files = shipped_reference() if folder is None else read_reference_folder(folder)
    name = "the shipped reference" if folder is None else folder.name
    return Tables(name, files, parse_reference(files), is_shipped=folder is None)


def export_sdd(tables: Tables, wish: SddWish, now: datetime) -> Written:
    """Write a reference as an SDD 1.1 document.

    Raises
    ------
    InputError
        Where a cell holds a sign that no such document may hold.
    """
    reference = tables.reference
    licence = wish.licence or (_SHIPPED_LICENCE if tables.is_shipped else "")
    title = wish.title or f"Genera of stony corals: {tables.name}"
    about = SddAbout(title, licence, now.isoformat(timespec="seconds"), corallum.__version__)

    def draw(character: str, state: str) -> str:
        """Return the drawing of a state."""
        return draw_state(reference.scheme, character, state).svg

    data = sdd_document(tables.files, reference, about, draw if wish.drawings else None)
    entries = reference.entries
    n = len(reference.scheme.characters)
    return Written(data, len(entries.genera), len(entries.forms), n)


def export_nexus(tables: Tables, wish: NexusWish, now: datetime) -> Written:
    """Write the matrix of a reference as NEXUS.

    Raises
    ------
    InputError
        Where there is no character with states.
    """
    matrix, left_out = matrix_of(tables.reference, wish.least, wish.sizes)
    if not matrix.characters:
        fault = Fault(tables.name, "characters.csv", "characters with states", "none",
                      "Export sizes as classes, or export SDD.")  # fmt: skip
        raise InputError([fault])
    remarks = [
        f"Genera of stony corals: {tables.name}.",
        f"Written by Corallum {corallum.__version__} on {now.date().isoformat()}.",
        f"A row is a form of a genus. Scored are the states that are at least {wish.least} seen,",
        "or else the most frequent; ? is not known, - makes no sense there.",
        "Frequencies, weights of forms, sources and regions are not in this file.",
    ]
    if left_out:
        remarks.append(f"Left out: {', '.join(left_out)}.")
    data = nexus_text(matrix, remarks).encode("utf-8")
    genera = len(tables.reference.entries.genera)
    return Written(data, genera, len(matrix.taxa), len(matrix.characters), left_out)


def import_reference(
    data: bytes, name: str, folder: Path, progress: Callable[[float], None]
) -> Imported:
    """Read an SDD or NEXUS file into a new folder of tables.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        What to call it.
    folder : Path
        Must not be there, or be empty.
    progress : callable
        Is told the share done.

    Returns
    -------
    Imported
        What was read and what was left out.

    Raises
    ------
    InputError
        With every fault of the file; then nothing is written.
    """
    check_new_folder(folder)
    reading = Reading(name)
    kind = _kind_of(data, name)
    shipped = shipped_reference()
    if kind == "SDD":
        tables = read_sdd(data, reading, shipped)
    else:
        tables = tables_of_matrix(read_matrix(_decoded(data, name), reading), reading, shipped)
    progress(0.6)
    try:
        reference = parse_reference(tables)
    except TableError as error:
        raise InputError([_of_file(fault, name) for fault in error.faults]) from error
    progress(0.8)
    compile_reference(reference)
    write_new_reference(folder, tables)
    progress(1.0)
    entries = reference.entries
    return Imported(
        kind, str(folder), len(entries.genera), len(entries.forms),
        len(reference.scheme.characters), len(entries.values), tuple(reading.left_out.items()),
    )  # fmt: skip


def _kind_of(data: bytes, name: str) -> str:
    """Say what kind of file it is, by how it begins."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        # XML may be written in two bytes a sign; NEXUS is refused where it is decoded.
        wide = data[:2000].decode("utf-16", "replace").lstrip()
        return "NEXUS" if wide[:6].upper() == "#NEXUS" else "SDD"
    head = data[:1000].removeprefix(b"\xef\xbb\xbf").lstrip()
    if head.startswith(b"<"):
        return "SDD"
    if head[:6].upper() == b"#NEXUS":
        return "NEXUS"
    found = repr(head[:20].decode("utf-8", "replace")) if head else "an empty file"
    remedy = "Save the data as SDD 1.1 or as NEXUS."
    fault = Fault(name, "line 1", "an SDD document (<) or a NEXUS file (#NEXUS)", found, remedy)
    raise InputError([fault])


def _decoded(data: bytes, name: str) -> str:
    """Decode UTF-8, saying where it isn't."""
    try:
        return data.decode("utf-8").removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"the byte {data[error.start]:#04x}"
        fault = Fault(name, f"line {line}", "UTF-8 text", found, "Save the file as UTF-8.")
        raise InputError([fault]) from error


def _of_file(fault: Fault, name: str) -> Fault:
    """Say of a fault of the tables that it is one of the file they were read from."""
    place = f"as table {fault.where}" + (f", {fault.place}" if fault.place else "")
    return Fault(name, place, fault.expected, fault.found, "Mend it in the file.")
