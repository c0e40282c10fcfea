"""Read the tables of a reference from a folder, or the ones that are shipped."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from corallum.errors import Fault, TableError

__all__ = ["MOST_BYTES", "read_reference_folder", "shipped_reference"]

# A table that a person edits stays far below this.
MOST_BYTES = 20_000_000


def shipped_reference() -> dict[str, str]:
    """Return the text of the shipped tables, by path within the folder."""
    return _read(resources.files("corallum") / "data" / "reference")


def read_reference_folder(folder: Path) -> dict[str, str]:
    """Return the text of every ``.csv`` of a reference folder, by path within it.

    Raises
    ------
    TableError
        Where the folder or a table can't be read, with every fault at once.
    """
    if not folder.is_dir():
        fault = Fault(str(folder), "", "a folder of tables", "no such folder", "Check the path.")
        raise TableError([fault])
    try:
        return _read(folder, folder.resolve())
    except OSError as error:
        fault = Fault(str(folder), "", "a readable folder", str(error.strerror), "Check the path.")
        raise TableError([fault]) from error


def _read(folder: Traversable, root: Path | None = None) -> dict[str, str]:
    """Read ``*.csv`` here and one level down; a link that leads out of ``root`` is a fault."""
    found: dict[str, str] = {}
    faults: list[Fault] = []
    for name, table in _tables(folder):
        if root and isinstance(table, Path) and not table.resolve().is_relative_to(root):
            remedy = "Put a copy of the table here."
            faults.append(Fault(name, "", "a table of this folder", "a link out of it", remedy))
        elif table.is_file():
            text = _text(name, table, faults)
            if text is not None:
                found[name] = text
    if faults:
        raise TableError(faults)
    return found


def _tables(folder: Traversable) -> Iterator[tuple[str, Traversable]]:
    """Yield what is named ``*.csv`` here and one level down, in order."""
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        tables = [(entry.name, entry)]
        if entry.is_dir():
            inner = sorted(entry.iterdir(), key=lambda inner: inner.name)
            tables = [(f"{entry.name}/{table.name}", table) for table in inner]
        yield from (pair for pair in tables if pair[0].endswith(".csv"))


def _text(name: str, table: Traversable, faults: list[Fault]) -> str | None:
    """Read one table as UTF-8; keep the fault where it isn't."""
    try:
        with table.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        faults.append(Fault(name, "", "a readable table", str(error.strerror), "Check the file."))
        return None
    if len(raw) > MOST_BYTES:
        remedy = "Split it by family, or remove what isn't a table."
        limit = f"at most {MOST_BYTES // 1_000_000} MB"
        faults.append(Fault(name, "", limit, "a larger file", remedy))
        return None
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        remedy = "Save the table as CSV UTF-8."
        faults.append(
            Fault(name, f"line {line}", "UTF-8 text", f"the byte {raw[error.start]:#04x}", remedy)
        )
        return None
