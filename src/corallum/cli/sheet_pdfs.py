"""Print the sheets of ``corallum sheet`` as PDF, and say what is on them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from corallum.actions.field_sheets import MadeFieldSheet, MakeFieldSheet, make_field_sheet
from corallum.actions.practice_sheets import MakePracticeSheets, make_practice_sheets
from corallum.actions.recording_sheets import MakeRecordingSheets, make_recording_sheets
from corallum.cli.progress import progress_bar
from corallum.errors import Fault, InputError

if TYPE_CHECKING:
    from corallum.store.programme import Programme

__all__ = [
    "GeneraWish", "Printed", "check_targets", "print_genera", "print_practice", "print_recording",
]  # fmt: skip

# How every PDF begins (ISO 32000).
_PDF = b"%PDF"


@dataclass(frozen=True, slots=True)
class Printed:
    """What every sheet is asked: region, paper, seed, and whether a machine reads of it."""

    region: str | None
    paper: str
    seed: int
    as_json: bool


@dataclass(frozen=True, slots=True)
class GeneraWish:
    """What a sheet of genera is asked besides."""

    pages: int
    keep: tuple[str, ...]
    colonies: int
    random: int


def print_genera(
    programme: Programme | None, target: Path, printed: Printed, wish: GeneraWish
) -> None:
    """Write a field sheet of genera."""
    command = MakeFieldSheet(
        printed.region, printed.paper, wish.pages, wish.keep,
        printed.seed, wish.colonies, wish.random,
    )  # fmt: skip
    with progress_bar("Choosing what the sheet carries") as step:
        made = make_field_sheet(programme, command, _now(), step)
    _write(target, made.pdf)
    if printed.as_json:
        print(json.dumps({"genera": str(target), "bytes": len(made.pdf), **_genera_object(made)}))
        return
    print(_genera_text(target, made))


def _genera_object(made: MadeFieldSheet) -> dict[str, Any]:
    """Return what is on a sheet and off it, and what that is worth."""
    choice, beside = made.choice, made.beside
    groups = {group.character: None for page in made.sheet.pages for group in page.groups}
    found: dict[str, Any] = {
        "paper": made.sheet.paper.name,
        "pages": len(made.sheet.pages),
        "region": made.region,
        "reference": made.reference,
        "rows": made.room.rows,
        "columns": made.room.columns,
        "carried": {"genera": list(made.sheet.genera), "characters": list(groups)},
        "left_out": {
            "genera": [
                {"genus": one.genus, "share": one.share, "gain": one.gain}
                for one in choice.left_genera
            ],
            "characters": [
                {"character": one.character, "gain": one.gain} for one in choice.left_characters
            ],
        },
        "accuracy": {"value": choice.accuracy.value, "se": choice.accuracy.se},
        "whole_reference": choice.unlimited.value,
        "all_genera": choice.all_genera.value,
        "all_characters": choice.all_characters.value,
        "random": None,
        "not_told_apart": [
            {"a": one.a, "b": one.b, "in_water": one.in_water} for one in made.pairs
        ],
    }
    if beside is not None:
        found["random"] = {
            "sheets": len(beside.random),
            "median": float(np.median(beside.random)),
            "best": float(beside.random[-1]),
            "alphabetical": beside.alphabetical,
        }
    return found


def _genera_text(target: Path, made: MadeFieldSheet) -> str:
    """Say what is on a sheet and what that is worth."""
    choice, beside = made.choice, made.beside
    left = choice.left_genera
    lines = [
        f"{target}: {_pages(len(made.sheet.pages))} of {made.sheet.paper.name}, "
        f"{len(choice.genera)} genera and {len(choice.characters)} characters for {made.region}.",
        f"Of 100 colonies {100 * choice.accuracy.value:.0f} are expected to be named right by it "
        f"alone, {100 * choice.unlimited.value:.0f} with the whole reference.",
    ]
    if beside is not None:
        lines.append(
            f"Random sheets of that size: {100 * float(np.median(beside.random)):.0f}, the best of "
            f"{len(beside.random)} {100 * float(beside.random[-1]):.0f}."
        )
    share = 100 * sum(one.share for one in left)
    lines.append(
        f"Left out: {_count(len(left), 'genus', 'genera')} ({share:.0f} of 100 colonies) and "
        f"{_count(len(choice.left_characters), 'character', 'characters')}; the sheet names them."
    )
    return "\n".join(lines)


def print_recording(
    programme: Programme | None, target: Path, printed: Printed, wish: tuple[str, str, bool]
) -> None:
    """Write sheets to record transects on."""
    method, survey, again = wish
    command = MakeRecordingSheets(method, survey, printed.paper, again)
    made = make_recording_sheets(programme, command, _now())
    _write(target, made.pdf)
    n = len(made.sheets.pages)
    if printed.as_json:
        found = {
            "recording": str(target), "bytes": len(made.pdf), "paper": made.sheets.paper.name,
            "pages": n, "method": made.sheets.method.value, "transects": made.transects,
            "lines": made.sheets.lines, "columns": list(made.sheets.columns),
        }  # fmt: skip
        print(json.dumps(found))
        return
    told = _count(made.transects, "transect", "transects")
    of = told if made.transects else "any transect, blank"
    print(
        f"{target}: {_pages(n)} of {made.sheets.paper.name} for {of}, "
        f"{made.sheets.lines} lines on each."
    )


def print_practice(
    programme: Programme | None, target: Path, printed: Printed, wish: tuple[int, bool]
) -> None:
    """Write drawn colonies to be named."""
    items, answers = wish
    command = MakePracticeSheets(
        printed.region, items, paper=printed.paper, seed=printed.seed, answers=answers
    )
    with progress_bar("Drawing colonies") as step:
        made = make_practice_sheets(programme, command, _now(), step)
    _write(target, made.pdf)
    if printed.as_json:
        found = {
            "practice": str(target), "bytes": len(made.pdf), "paper": made.sheets.paper.name,
            "region": made.region, "seed": printed.seed, "answers": answers,
            "items": [one.genus for one in made.sheets.colonies],
        }  # fmt: skip
        print(json.dumps(found))
        return
    said = "answers at the end" if answers else "no answers"
    print(f"{target}: {len(made.sheets.colonies)} colonies of {made.region} to name, {said}.")


def _now() -> datetime:
    """Return the time here."""
    return datetime.now().astimezone()


def _count(n: int, one: str, many: str) -> str:
    """Say a number of things."""
    return f"{n} {one if n == 1 else many}"


def _pages(n: int) -> str:
    """Say a number of pages."""
    return _count(n, "page", "pages")


def check_targets(targets: Sequence[Path]) -> None:
    """Refuse, before any long work, what can't be written or is no place for a PDF.

    Parameters
    ----------
    targets : sequence of Path
        Files to write; an older sheet may be written over, nothing else.

    Raises
    ------
    InputError
        With the first that can't be meant.
    """
    for k, target in enumerate(targets):
        _check_target(target)
        if target.absolute() in {one.absolute() for one in targets[:k]}:
            remedy = "Give each sheet a file of its own."
            raise InputError([Fault(str(target), "", "one sheet", "two", remedy)])


def _check_target(target: Path) -> None:
    """Refuse one file that can't be written, or that holds something else than a PDF."""
    if target.suffix.lower() != ".pdf":
        found = repr(target.suffix) if target.suffix else "none"
        raise InputError([Fault(str(target), "", "an ending .pdf", found, "Name the file so.")])
    if _holds_else(target):
        found = "a file that is no PDF"
        raise InputError([Fault(str(target), "", "a PDF or no file", found, "Choose another.")])
    if target.is_dir() or not target.absolute().parent.is_dir():
        found = "a folder" if target.is_dir() else "no folder for it"
        raise InputError([Fault(str(target), "", "a file to write", found, "Choose another.")])


def _holds_else(target: Path) -> bool:
    """Whether a file is there that is no PDF."""
    if not target.is_file():
        return False
    try:
        with target.open("rb") as stream:
            start = stream.read(len(_PDF))
    except OSError:
        return True
    return start not in {b"", _PDF}


def _write(target: Path, data: bytes) -> None:
    """Write a file."""
    try:
        target.write_bytes(data)
    except OSError as error:
        fault = Fault(str(target), "", "a file to write", str(error.strerror), "Choose another.")
        raise InputError([fault]) from error
