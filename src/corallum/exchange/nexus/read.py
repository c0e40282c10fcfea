"""A matrix of states out of a NEXUS file.

Read are the blocks TAXA, CHARACTERS or DATA, and the rules of our own block. Data of any
other type than STANDARD, and matrices on their side (TRANSPOSE), are refused; other blocks
are named and left alone.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from corallum.errors import InputError
from corallum.exchange.nexus.commands import Block, Command, Word, blocks_of, words_of
from corallum.exchange.nexus.matrix import Matrix, MatrixCharacter
from corallum.exchange.nexus.rows import Format, read_rows
from corallum.exchange.reference_tables import Reading

__all__ = ["read_matrix"]

_PAIR = re.compile(r"(\w+)\s*(?:=\s*(\"[^\"]*\"|\([^)]*\)|'[^']*'|[^\s=]+))?")
_CHARACTERS = ("CHARACTERS", "DATA")


@dataclass(slots=True)
class _Said:
    """What the commands before the matrix say."""

    taxa: list[str] = field(default_factory=list)
    n_taxa: int = 0
    n_characters: int = 0
    format: Format = field(default_factory=Format)
    names: dict[int, str] = field(default_factory=dict)
    states: dict[int, list[str]] = field(default_factory=dict)
    matrix: Command | None = None


def read_matrix(text: str, reading: Reading) -> Matrix:
    """Read a NEXUS file as a matrix.

    Parameters
    ----------
    text : str
        The whole file.
    reading : Reading
        Knows its name; takes what is left out.

    Returns
    -------
    Matrix
        Scores of the first block of characters.

    Raises
    ------
    InputError
        With every fault at once, by line.
    """
    blocks = blocks_of(text, reading)
    said = _Said()
    chosen: Block | None = None
    rules: dict[str, tuple[str, tuple[str, ...]]] = {}
    for block in blocks:
        if block.name == "TAXA":
            _read_block(block, said, reading)
        elif block.name in _CHARACTERS and chosen is None:
            chosen = block
            _read_block(block, said, reading)
        elif block.name == "CORALLUM":
            rules |= _read_rules(block, reading)
        else:
            reading.leave(f"blocks {block.name}")
    matrix = said.matrix
    if chosen is None and not reading.faults:
        remedy = "Export the matrix too."
        reading.fault("", "a block CHARACTERS or DATA", "none", remedy)
    elif matrix is None and not reading.faults:
        line = chosen.line if chosen is not None else 1
        reading.fault(f"line {line}", "the command MATRIX", "none", "Add the matrix.")
    reading.raise_faults()
    if chosen is None or matrix is None:
        raise InputError(reading.faults)
    rows = read_rows(matrix, said.format, (said.taxa, said.n_taxa, said.n_characters), reading)
    reading.raise_faults()
    columns = _columns(said, rows.most_state)
    return Matrix(rows.taxa, columns, rows.cells, rules, rows.uncertain)


def _read_block(block: Block, said: _Said, reading: Reading) -> None:
    """Take what the commands of a block say."""
    readers = {
        "DIMENSIONS": _read_dimensions, "TAXLABELS": _read_taxa, "FORMAT": _read_format,
        "CHARSTATELABELS": _read_labels, "STATELABELS": _read_labels, "CHARLABELS": _read_names,
    }  # fmt: skip
    for command in block.commands:
        if command.name in readers:
            readers[command.name](command, said, reading)
        elif command.name == "MATRIX":
            said.matrix = command
        elif command.name not in ("TITLE", "LINK"):
            reading.leave(f"commands {command.name}")


def _read_names(command: Command, said: _Said, reading: Reading) -> None:
    """Take the names of characters, in order."""
    del reading
    said.names |= {n: word.text for n, word in enumerate(words_of(command), 1)}


def _read_dimensions(command: Command, said: _Said, reading: Reading) -> None:
    """Take the numbers of taxa and characters."""
    for key, value in _PAIR.findall(command.body):
        if key.upper() not in ("NTAX", "NCHAR"):
            continue
        if not _is_number(value, 10**7):
            expected = f"a whole number in {key.upper()}"
            reading.fault(f"line {command.line}", expected, repr(value[:40]), "Mend the number.")
        elif key.upper() == "NTAX":
            said.n_taxa = int(value)
        else:
            said.n_characters = int(value)


def _read_taxa(command: Command, said: _Said, reading: Reading) -> None:
    """Take the names of taxa, each once."""
    known: set[str] = set()
    for word in words_of(command):
        if word.text.lower() in known:
            remedy = "Give each its own name."
            reading.fault(f"line {word.line}", "each taxon once", f"{word.text} again", remedy)
        known.add(word.text.lower())
        said.taxa.append(word.text)
    if said.n_taxa and len(said.taxa) != said.n_taxa:
        expected = f"{said.n_taxa} taxa, as NTAX says"
        remedy = "Mend NTAX or the list."
        reading.fault(f"line {command.line}", expected, str(len(said.taxa)), remedy)


def _read_format(command: Command, said: _Said, reading: Reading) -> None:
    """Take how cells are written."""
    found = said.format
    for key, value in _PAIR.findall(command.body):
        name, text = key.upper(), value.strip("\"'")
        _refuse_format(name, text, command, reading)
        if name in ("MISSING", "GAP", "MATCHCHAR") and len(text) == 1:
            setattr(found, name.lower(), text)
        elif name in ("INTERLEAVE", "RESPECTCASE"):
            setattr(found, name.lower(), text.upper() != "NO")
        elif name == "SYMBOLS":
            found.symbols = _symbols(text)
        elif name == "EQUATE":
            for left, right in re.findall(r"(\S)\s*=\s*(\([^)]*\)|\{[^}]*\}|\S)", text):
                found.equate[left] = right


def _refuse_format(name: str, text: str, command: Command, reading: Reading) -> None:
    """Report what can't be read: other types of data, and matrices written otherwise."""
    place = f"line {command.line}"
    if name == "DATATYPE" and text.upper() != "STANDARD":
        reading.fault(place, "DATATYPE=STANDARD", text, "Only matrices of states can be read.")
    elif name in ("TRANSPOSE", "NOLABELS"):
        remedy = "Write a taxon a row, its name before it."
        reading.fault(place, "rows of taxa with names", name, remedy)
    elif name == "TOKENS" and text.upper() != "NO":
        remedy = "Write symbols instead of names of states."
        reading.fault(place, "cells written with symbols", name, remedy)


def _symbols(text: str) -> str:
    """Return symbols one after another, ranges such as ``0~5`` written out."""
    packed = "".join(text.split())
    spread = re.sub(
        r"([!-}])~([!-}])", lambda m: "".join(map(chr, range(ord(m[1]), ord(m[2]) + 1))), packed
    )
    return "".join(dict.fromkeys(spread))


def _read_labels(command: Command, said: _Said, reading: Reading) -> None:
    """Take names of characters and their states: ``1 name / state state, 2 ...``."""
    for part in _parts(command):
        number = part[0].text
        most = said.n_characters or 10**7
        if not _is_number(number, most):
            expected = f"the number of a character, 1 to {most}"
            remedy = "Begin with its number, and set a comma after its last state."
            reading.fault(f"line {part[0].line}", expected, repr(number)[:40], remedy)
            continue
        named, states = part[1:], part[1:]
        if command.name == "CHARSTATELABELS":
            slash = [i for i, word in enumerate(named) if word.text == "/" and not word.quoted]
            cut = slash[0] if slash else len(named)
            named, states = named[:cut], named[cut + 1 :]
            said.names[int(number)] = " ".join(word.text for word in named)
        if states:
            said.states[int(number)] = [word.text for word in states]


def _is_number(text: str, most: int) -> bool:
    """Whether a text is a whole number from 1 to ``most``."""
    return text.isascii() and text.isdigit() and len(text) < 10 and 0 < int(text) <= most


def _parts(command: Command) -> list[list[Word]]:
    """Return the words between commas."""
    parts: list[list[Word]] = [[]]
    for word in words_of(command):
        if word.text == "," and not word.quoted:
            parts.append([])
        else:
            parts[-1].append(word)
    return [part for part in parts if part]


def _read_rules(block: Block, reading: Reading) -> dict[str, tuple[str, tuple[str, ...]]]:
    """Take the rules of our own block: ``APPLIES character parent state state``."""
    found = {}
    for command in block.commands:
        words = [word.text for word in words_of(command)]
        if command.name != "APPLIES" or len(words) < 3:
            expected = "APPLIES, a character, another and its states"
            found_ = f"{command.name} with {len(words)} words"
            reading.fault(f"line {command.line}", expected, found_, "Mend or remove it.")
            continue
        found[words[0]] = (words[1], tuple(words[2:]))
    return found


def _columns(said: _Said, most_state: tuple[int, ...]) -> tuple[MatrixCharacter, ...]:
    """Return each character with a name for every state that is scored, two at least."""
    found = []
    for n, most in enumerate(most_state, 1):
        given = said.states.get(n, [])
        names = [
            given[i] if i < len(given) and given[i] != " " else f"state {_symbol(said.format, i)}"
            for i in range(max(len(given), most + 1, 2))
        ]
        found.append(MatrixCharacter(said.names.get(n) or f"character {n}", tuple(names)))
    return tuple(found)


def _symbol(format_: Format, i: int) -> str:
    """Return the symbol of a state, or its number past the last symbol."""
    return format_.symbols[i] if i < len(format_.symbols) else str(i)
