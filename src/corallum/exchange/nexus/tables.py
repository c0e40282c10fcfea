"""A matrix of states as the tables of a reference.

A matrix knows no frequencies: a state that stands alone is ``usually`` there, several share
alike (``words_for``). A gap that no rule accounts for becomes a word of its own, ``none``,
which means that the character makes no sense there. A matrix does not say sources, regions,
sizes, look-alikes or how observers err; what the model needs besides is that of the shipped
reference.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping

from corallum.exchange.nexus.matrix import GAP, Matrix, rule_of
from corallum.exchange.reference_tables import (
    Reading,
    default_rows,
    plain_id,
    table_rows,
    tables_from_rows,
    value_text,
    words_for,
)
from corallum.reference.genera import REGIONS
from corallum.reference.scheme import NOT_APPLICABLE

__all__ = ["tables_of_matrix"]

_ID = re.compile(r"[a-z][a-z0-9_]*")
_UNKNOWN = "not given"
# A character makes sense for a form of which this share shows a state that it hangs on.
_SOMETIMES = 0.1


def tables_of_matrix(
    matrix: Matrix, reading: Reading, shipped: Mapping[str, str]
) -> dict[str, str]:
    """Return the tables of a reference that say what a matrix says.

    Parameters
    ----------
    matrix : Matrix
        Taxa, characters and cells.
    reading : Reading
        Takes what is left out, and any fault.
    shipped : mapping of str to str
        Text of the shipped tables, for what a matrix does not say.

    Returns
    -------
    dict of str to str
        Text by name of table, not yet checked against each other.
    """
    reading.rows = {t: [dict(row) for row in rows] for t, rows in default_rows(shipped).items()}
    shares = {
        row.cells["word"]: float(row.cells["probability"]) for row in table_rows(shipped, "words")
    }
    ids, states = _add_characters(matrix, reading)
    said = _Words(matrix, (ids, states), shares, reading)
    for n, (genus, form) in enumerate(_add_forms(matrix, reading)):
        for i, cell in enumerate(matrix.cells[n]):
            if (n, i) in matrix.uncertain:
                reading.leave("uncertain scores, read as several states")
            text = said.text_of(n, i)
            if cell:
                words = said.words_of(cell)
                text = value_text([states[i][k] for k in cell], words) if words else ""
                if not words:
                    reading.leave("scores of more states than words can share out")
            if text:
                reading.row(
                    "values", genus=genus, form=form, character=ids[i], value=text,
                    source=reading.source(),
                )  # fmt: skip
    return tables_from_rows(reading.rows)


class _Words:
    """The words of cells: of how often for states, and for a gap that no rule accounts for."""

    def __init__(
        self,
        matrix: Matrix,
        ids: tuple[list[str], list[list[str]]],
        shares: Mapping[str, float],
        reading: Reading,
    ) -> None:
        self.matrix, self.shares, self.reading = matrix, shares, reading
        self.ids, self.states = ids
        self.by_name = {one.name: i for i, one in reversed(list(enumerate(matrix.characters)))}
        self.words: dict[int, str] = {}
        self.alike: dict[int, list[str]] = {0: []}

    def words_of(self, cell: tuple[int, ...]) -> list[str]:
        """Return a frequency word for each state of a cell."""
        n = len(cell)
        if n not in self.alike:
            self.alike[n] = words_for(n, self.shares)
        return self.alike[n]

    def text_of(self, row: int, column: int) -> str:
        """Return the cell of the table for a gap; empty for anything else."""
        if self.matrix.cells[row][column] != GAP or not self._applies(row, column):
            return ""
        if column not in self.words:
            word = plain_id("none", self.states[column], "none")
            self.words[column] = word
            id_ = self.ids[column]
            self.reading.row(
                "views", character=id_, state=word, of=id_, states=NOT_APPLICABLE, seen="w",
                seconds="10", question=self.matrix.characters[column].name,
                definition="Makes no sense there.", source=self.reading.source(),
            )  # fmt: skip
        return f"always {self.words[column]}"

    def _applies(self, row: int, column: int) -> bool:
        """Whether the tables would otherwise take a character to make sense for a form."""
        rule = self.matrix.rules.get(self.matrix.characters[column].name)
        if rule is None or rule[0] not in self.by_name:
            return True
        parent = self.by_name[rule[0]]
        names = self.matrix.characters[parent].states
        if not any(state in names for state in rule[1]):
            return True
        cell = self.matrix.cells[row][parent] or ()
        words = self.words_of(cell)
        return any(
            names[k] in rule[1] and self.shares[word] >= _SOMETIMES
            for k, word in zip(cell, words, strict=False)
        )


def _add_characters(matrix: Matrix, reading: Reading) -> tuple[list[str], list[list[str]]]:
    """Add characters, their states and groups; return the ids of both."""
    ids: list[str] = []
    states: list[list[str]] = []
    for column in matrix.characters:
        ids.append(_id(column.name, ids, "character"))
        own: list[str] = []
        for name in column.states:
            own.append(_id(name, own, "state"))
        states.append(own)
    by_name = {column.name: i for i, column in reversed(list(enumerate(matrix.characters)))}
    for i, column in enumerate(matrix.characters):
        rule = matrix.rules.get(column.name)
        reading.row(
            "characters", character=ids[i], kind="states", seen="w", group=ids[i], seconds="10",
            question=column.name, definition=column.name, source=reading.source(),
            applies_when="" if rule is None else _rule(rule, by_name, (ids, states), matrix),
        )  # fmt: skip
        # Misread one by one: nothing says which are misread together.
        reading.row("groups", group=ids[i], label=column.name, misread="0.1", conditions_act="no")
        for state, name in zip(states[i], column.states, strict=True):
            reading.row("states", character=ids[i], state=state, label=name, definition=name)
    for name in matrix.rules:
        if name not in by_name:
            reading.leave("rules for characters that are not in the matrix")
    return ids, states


def _rule(
    rule: tuple[str, tuple[str, ...]],
    by_name: Mapping[str, int],
    ids: tuple[list[str], list[list[str]]],
    matrix: Matrix,
) -> str:
    """Return a rule in the ids of the tables; empty where it names what is not there."""
    parent, named = rule
    if parent not in by_name:
        return ""
    n = by_name[parent]
    names = matrix.characters[n].states
    states = tuple(ids[1][n][names.index(state)] for state in named if state in names)
    return rule_of((ids[0][n], states)) if states else ""


def _id(name: str, taken: list[str], blank: str) -> str:
    """Return a name as an id: as it is where it is one, made of it where not."""
    if _ID.fullmatch(name) and name not in taken:
        return name
    return plain_id(name, taken, blank)


def _add_forms(matrix: Matrix, reading: Reading) -> list[tuple[str, str]]:
    """Add genera and forms; return genus and form of each row.

    A taxon ``Astrea, mound`` is the form ``mound`` of Astrea; any other is a genus of its own.
    """
    found: list[tuple[str, str]] = []
    taken: dict[str, list[str]] = {}
    for name in matrix.taxa:
        genus, comma, form = name.partition(", ")
        form = form.strip() if comma else "typical"
        form = _id(form, taken.setdefault(genus, []), "form")
        taken[genus].append(form)
        found.append((genus, form))
    for genus in dict.fromkeys(genus for genus, _ in found):
        reading.row(
            "genera", genus=genus, family=_UNKNOWN, order=_UNKNOWN, authority=_UNKNOWN,
            regions="|".join(REGIONS), description=_UNKNOWN, source=reading.source(),
        )  # fmt: skip
    counts = Counter(genus for genus, _ in found)
    for genus, form in found:
        n = counts[genus]
        reading.row(
            "forms", genus=genus, form=form, weight=f"{1 / n:.6g}", description=_UNKNOWN,
            source=reading.source(),
        )  # fmt: skip
    return found
