"""The matrix of a reference, and its text as NEXUS.

A row is a form of a genus. A cell holds the states that are at least as frequent as asked;
where none is, the most frequent. ``?`` is not known, ``-`` makes no sense there.

References
----------
Maddison D.R., Swofford D.L. and Maddison W.P. 1997. NEXUS: an extensible file format for
systematic information. Systematic Biology 46:590-621.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from corallum.exchange.nexus.matrix import (
    GAP,
    MISSING,
    SYMBOLS,
    Cell,
    Matrix,
    MatrixCharacter,
)
from corallum.reference.reference import Reference, applicable
from corallum.reference.scheme import Character, Scheme
from corallum.reference.values import SizeRange, StateWords

__all__ = ["SIZE_CHOICES", "matrix_of", "nexus_text"]

SIZE_CHOICES = ("leave-out", "classes")
"""What becomes of sizes: left out, or cut into classes, each twice as wide as the one before."""


def matrix_of(
    reference: Reference, least: str = "sometimes", sizes: str = "leave-out"
) -> tuple[Matrix, tuple[str, ...]]:
    """Reduce a reference to a matrix of states.

    Parameters
    ----------
    reference : Reference
        Checked tables.
    least : str
        Frequency word: states at least as frequent are scored.
    sizes : str
        One of ``SIZE_CHOICES``.

    Returns
    -------
    Matrix
        A row for each form.
    tuple of str
        Ids of the characters that are left out.
    """
    taken: list[tuple[Character, MatrixCharacter]] = []
    left_out = []
    for character in reference.scheme.characters.values():
        found = _matrix_character(character, sizes)
        if found is None:
            left_out.append(character.id)
        else:
            taken.append((character, found))
    with_states = {character.id for character, _ in taken if not character.is_size}
    rules = {
        column.name: character.applies_to
        for character, column in taken
        if character.applies_to is not None and character.applies_to[0] in with_states
    }
    taxa, cells = [], []
    counts: dict[str, int] = {}
    for form in reference.entries.forms:
        counts[form.genus] = counts.get(form.genus, 0) + 1
    for form in reference.entries.forms:
        taxa.append(form.genus if counts[form.genus] == 1 else f"{form.genus}, {form.id}")
        row: list[Cell] = []
        for character, column in taken:
            value = reference.entries.values.get((form.genus, form.id, character.id))
            if value is None:
                hangs = column.name in rules and not applicable(reference, form, character)
                row.append(GAP if hangs else MISSING)
            elif isinstance(value.value, SizeRange):
                row.append(_classes_of(value.value, character))
            else:
                row.append(_states_of(value.value, character, reference.scheme, least))
        cells.append(tuple(row))
    columns = tuple(column for _, column in taken)
    return Matrix(tuple(taxa), columns, tuple(cells), rules), tuple(left_out)


def _matrix_character(character: Character, sizes: str) -> MatrixCharacter | None:
    """Return a character as a column; None where it has no states, or too many."""
    if not character.is_size:
        states = character.state_ids
        return MatrixCharacter(character.id, states) if len(states) <= len(SYMBOLS) else None
    if sizes == "leave-out":
        return None
    edges = _edges(character)
    if len(edges) - 1 > len(SYMBOLS):
        return None
    unit = f" {character.unit}" if character.unit else ""
    names = tuple(f"{low:.6g} to {high:.6g}{unit}" for low, high in pairwise(edges))
    return MatrixCharacter(f"{character.id}_class", names)


def _edges(character: Character) -> list[float]:
    """Return the edges of the classes of a size: from ``least``, doubled until ``most``."""
    edges = [character.least, character.least * 2]
    while edges[-1] < character.most:
        edges.append(edges[-1] * 2)
    return edges


def _classes_of(value: SizeRange, character: Character) -> Cell:
    """Return the classes that a range reaches into."""
    edges = _edges(character)
    return tuple(
        n for n, (low, high) in enumerate(pairwise(edges)) if value.low < high and value.high > low
    )


def _states_of(value: StateWords, character: Character, scheme: Scheme, least: str) -> Cell:
    """Return the states that a form shows often enough, or else those it shows most."""
    shares: dict[str, float] = {}
    for state, word in value.words.items():
        meant = [
            view.states for view in scheme.views if (view.id, view.state) == (character.id, state)
        ]
        for one in meant[0] if meant and state not in character.state_ids else (state,):
            shares[one] = max(shares.get(one, 0.0), scheme.words[word])
    ids = character.state_ids
    known = {state: share for state, share in shares.items() if state in ids}
    if not known:
        return GAP
    enough = min(scheme.words[least], max(known.values()))
    return tuple(n for n, state in enumerate(ids) if known.get(state, -1.0) >= enough)


def nexus_text(matrix: Matrix, remarks: Sequence[str]) -> str:
    """Return a matrix as a NEXUS file.

    Parameters
    ----------
    matrix : Matrix
        At most 36 states a character.
    remarks : sequence of str
        Lines for people, at the head of the file.

    Returns
    -------
    str
        Blocks TAXA and CHARACTERS, one taxon a line; and a private block CORALLUM with the
        rules, which other programs pass over.
    """
    most = max((len(character.states) for character in matrix.characters), default=0)
    width = max((len(_quoted(name)) for name in matrix.taxa), default=0)
    lines = ["#NEXUS", "["]
    lines += [f"  {_inside_comment(line)}" for line in remarks]
    lines += ["]", "", "BEGIN TAXA;", f"  DIMENSIONS NTAX={len(matrix.taxa)};", "  TAXLABELS"]
    lines += [f"    {_quoted(name)}" for name in matrix.taxa]
    lines += ["  ;", "END;", "", "BEGIN CHARACTERS;"]
    lines += [f"  DIMENSIONS NCHAR={len(matrix.characters)};"]
    lines += [f'  FORMAT DATATYPE=STANDARD MISSING=? GAP=- SYMBOLS="{SYMBOLS[: max(most, 2)]}";']
    lines += ["  CHARSTATELABELS"]
    labels = [
        f"    {n} {_quoted(one.name)} / {' '.join(map(_quoted, one.states))}"
        for n, one in enumerate(matrix.characters, 1)
    ]
    lines += [f"{label}," for label in labels[:-1]] + labels[-1:] + ["  ;", "  MATRIX"]
    lines += [
        f"    {_quoted(name):<{width}}  {''.join(map(_cell_text, row))}"
        for name, row in zip(matrix.taxa, matrix.cells, strict=True)
    ]
    lines += ["  ;", "END;"]
    if matrix.rules:
        lines += ["", "BEGIN CORALLUM;"]
        lines += [
            f"  APPLIES {' '.join(map(_quoted, (name, parent, *states)))};"
            for name, (parent, states) in matrix.rules.items()
        ]
        lines += ["END;"]
    return "\n".join([*lines, ""])


def _cell_text(cell: Cell) -> str:
    """Return one cell: a symbol, several in brackets, ``?`` or ``-``."""
    if cell is None:
        return "?"
    text = "".join(SYMBOLS[n] for n in cell)
    return "-" if not text else text if len(text) == 1 else f"({text})"


def _quoted(text: str) -> str:
    """Return a word as a token that is taken as it stands."""
    plain = " ".join(text.split())
    return "'" + plain.replace("'", "''") + "'"


def _inside_comment(text: str) -> str:
    """Return a line that does not end the comment it stands in."""
    return text.translate(str.maketrans("[]", "()"))
