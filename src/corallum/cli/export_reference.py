"""``corallum export sdd`` and ``nexus``, ``reference import``: a reference in other forms."""

from __future__ import annotations

import json
import sys
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from corallum.cli.progress import progress_bar
from corallum.errors import Fault, InputError
from corallum.exchange.text_file import write_bytes

if TYPE_CHECKING:
    from corallum.actions.reference_exchange import Imported, Written

__all__ = ["import_", "nexus", "sdd"]

Folder = Annotated[
    Path | None,
    typer.Argument(help="Folder of a programme; the shipped reference if left out."),
]
Reference = Annotated[
    Path | None, typer.Option("--reference", help="Folder of a reference, in its place.")
]
Out = Annotated[str, typer.Option(help="New file to write; - for standard output.")]
AsJson = Annotated[bool, typer.Option("--json", help="Say what was done as one JSON object.")]


class LeastChoice(StrEnum):
    """The least frequent word that is scored."""

    USUALLY = "usually"
    OFTEN = "often"
    SOMETIMES = "sometimes"
    RARELY = "rarely"


class SizesChoice(StrEnum):
    """What becomes of sizes."""

    LEAVE_OUT = "leave-out"
    CLASSES = "classes"


def sdd(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    out: Out,
    folder: Folder = None,
    reference: Reference = None,
    title: Annotated[str, typer.Option(help="Title of the data; its name by default.")] = "",
    licence: Annotated[
        str, typer.Option(help="Terms under which others may use it, in words.")
    ] = "",
    drawings: Annotated[
        bool, typer.Option("--drawings", help="Put the drawing of each state into the file.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Write a reference as SDD 1.1, from which it can be read back whole.

    Example: corallum export sdd --reference my_reference --out my_reference.xml
    """
    from corallum.actions import reference_exchange as actions  # noqa: PLC0415  slow to start

    tables = actions.tables_to_export(folder, reference)
    wish = actions.SddWish(title, licence, drawings)
    _write(actions.export_sdd(tables, wish, datetime.now(UTC)), out, as_json)


def nexus(
    out: Out,
    folder: Folder = None,
    reference: Reference = None,
    least: Annotated[
        LeastChoice, typer.Option(help="Score states that are at least so frequent.")
    ] = LeastChoice.SOMETIMES,
    sizes: Annotated[
        SizesChoice,
        typer.Option(help="Leave sizes out, or cut them into classes that double in width."),
    ] = SizesChoice.LEAVE_OUT,
    as_json: AsJson = False,
) -> None:
    """Write the matrix of forms and states as NEXUS.

    Example: corallum export nexus --out genera.nex --least often
    """
    from corallum.actions import reference_exchange as actions  # noqa: PLC0415  slow to start

    tables = actions.tables_to_export(folder, reference)
    wish = actions.NexusWish(least.value, sizes.value)
    _write(actions.export_nexus(tables, wish, datetime.now(UTC)), out, as_json)


def import_(
    file: Annotated[Path, typer.Argument(help="SDD 1.1 or NEXUS file.")],
    folder: Annotated[Path, typer.Argument(help="New folder for the tables.")],
    most_mb: Annotated[int, typer.Option(min=1, help="Largest file to read, in MB.")] = 50,
    as_json: AsJson = False,
) -> None:
    """Read an SDD or NEXUS file into a new reference, checked; say what was not taken.

    Example: corallum reference import other.nex my_reference
    """
    from corallum.actions import reference_exchange as actions  # noqa: PLC0415  slow to start

    with progress_bar("reading") as progress:
        found = actions.import_reference(_read(file, most_mb), str(file), folder, progress)
    print(json.dumps(_imported(found)) if as_json else _told(found))


def _read(file: Path, most_mb: int) -> bytes:
    """Read a file, at most so large."""
    most = most_mb * 1_000_000
    try:
        with file.open("rb") as stream:
            data = stream.read(most + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        fault = Fault(str(file), "", "a file that can be read", reason, "Check the path.")
        raise InputError([fault]) from error
    if len(data) > most:
        fault = Fault(str(file), "", f"at most {most_mb} MB", "a larger file",
                      "Raise --most-mb if it is no mistake.")  # fmt: skip
        raise InputError([fault])
    return data


def _write(found: Written, out: str, as_json: bool) -> None:
    """Write a new file, or standard output, and say what is in it."""
    if out == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(found.data)
        sys.stdout.buffer.flush()
        return
    write_bytes(Path(out), found.data)
    if as_json:
        print(json.dumps({
            "file": out, "bytes": len(found.data), "genera": found.genera, "forms": found.forms,
            "characters": found.characters, "left_out": list(found.left_out),
        }))  # fmt: skip
        return
    print(f"{out}: {found.genera} genera in {found.forms} forms, {found.characters} characters.")
    if found.left_out:
        print(f"Left out: {', '.join(found.left_out)}.")


def _imported(found: Imported) -> dict[str, object]:
    """Say what was read, for machines."""
    return {
        "kind": found.kind, "folder": found.folder, "genera": found.genera, "forms": found.forms,
        "characters": found.characters, "values": found.values,
        "left_out": dict(found.left_out),
    }  # fmt: skip


def _told(found: Imported) -> str:
    """Say what was read, for people."""
    lines = [
        f"{found.folder}: {found.genera} genera in {found.forms} forms, {found.characters} "
        f"characters, {found.values} values, read from {found.kind}. The tables are sound."
    ]
    if found.left_out:
        lines.append("Not taken:")
        lines += [f"  {what}: {n}" for what, n in found.left_out]
    return "\n".join(lines)
