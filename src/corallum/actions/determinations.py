"""Determine a file of colonies, one fault never losing the others."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from itertools import chain
from pathlib import Path
from typing import IO

from corallum.errors import Fault, InputError
from corallum.exchange.colonies import (
    MOST_LINE_CHARACTERS,
    BadColony,
    read_csv,
    read_json,
    read_lines,
)
from corallum.exchange.text_file import read_text
from corallum.model.answer import Determiner
from corallum.records.answer import Answer
from corallum.records.colony import Colony

__all__ = ["determine_colonies", "open_colonies"]

Outcome = Answer | BadColony


def determine_colonies(
    determiner: Determiner, colonies: Iterable[Colony | BadColony]
) -> Iterator[Outcome]:
    """Answer each colony in turn; a bad one is handed on with its faults."""
    for colony in colonies:
        if isinstance(colony, BadColony):
            yield colony
            continue
        try:
            yield determiner.determine(colony)
        except InputError as error:
            yield BadColony(colony.id, list(error.faults))


def open_colonies(path: str, stdin: IO[bytes], most_mb: int) -> Iterator[Colony | BadColony]:
    """Read colonies from a file, or from standard input where the path is ``-``.

    Parameters
    ----------
    path : str
        JSON, JSON lines or CSV, told by the name's ending or by the first character.
    stdin : binary stream
        Read where ``path`` is ``-``.
    most_mb : int
        Largest file to read, in megabytes.

    Raises
    ------
    InputError
        Where the file can't be opened, is empty, too large or not UTF-8.
    """
    text, name = read_text(path, stdin, most_mb)
    if not text.strip("\ufeff \t\r\n"):
        raise InputError(
            [Fault(name, "", "colonies", "an empty file", "Write one colony per line.")]
        )
    lines = io.StringIO(text, newline="")
    found = read_csv(lines, name) if _is_csv(path, text) else _read_json(text, lines, name)
    first = next(found, None)
    if first is None:
        raise InputError([Fault(name, "", "colonies", "none at all", "Write one colony per line.")])
    return chain([first], found)


def _is_csv(path: str, text: str) -> bool:
    """Tell a table from JSON by the file's ending, else by its first character."""
    ending = Path(path).suffix.lower()
    if ending in (".csv", ".json", ".jsonl", ".ndjson"):
        return ending == ".csv"
    return text.lstrip("\ufeff \t\r\n")[:1] not in ("{", "[")


def _read_json(text: str, lines: Iterable[str], name: str) -> Iterator[Colony | BadColony]:
    """Read one document where the text is one, else line by line."""
    stripped = text.lstrip("\ufeff \t\r\n")
    if stripped.startswith("["):
        return read_json(text, name)
    first = next(iter(stripped.splitlines()), "")
    if "\n" not in stripped.rstrip() or _is_whole(first):
        return read_lines(lines, name)
    whole = read_json(text, name)
    head = next(whole)
    # Neither one document nor a sound first line: the lines say best where it breaks.
    if isinstance(head, BadColony) and "as JSON" in str(head.faults[0]):
        return read_lines(lines, name)
    return chain([head], whole)


def _is_whole(line: str) -> bool:
    """Whether a line is JSON by itself."""
    if len(line) > MOST_LINE_CHARACTERS:
        return True
    head = next(read_lines([line], ""), None)
    return not (isinstance(head, BadColony) and "as JSON" in str(head.faults[0]))
