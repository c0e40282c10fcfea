"""The whole reference: scheme and genera, parsed and checked together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from corallum.errors import TableError
from corallum.reference.genera import Entries, Form, parse_entries
from corallum.reference.scheme import Character, Scheme
from corallum.reference.scheme_tables import parse_scheme
from corallum.reference.soundness import (
    check_entries,
    check_scheme,
    check_sources,
    check_tables,
)
from corallum.reference.tables import Faults
from corallum.reference.values import StateWords

__all__ = ["Reference", "applicable", "coverage", "parse_reference"]

# A character applies to a form in which an applicable state of its parent is at
# least "sometimes" (the word's share, with room for rounding).
_AT_LEAST_SOMETIMES = 0.1


@dataclass(frozen=True, slots=True)
class Reference:
    """What the trainer wrote, sound in itself."""

    scheme: Scheme
    entries: Entries

    def forms_of(self, genus: str) -> tuple[Form, ...]:
        """Forms of one genus."""
        return tuple(form for form in self.entries.forms if form.genus == genus)


def parse_reference(files: Mapping[str, str]) -> Reference:
    """Read a reference out of the text of its tables.

    Parameters
    ----------
    files : mapping of str to str
        Text by path within the reference folder, such as ``values/atlantic.csv``.

    Returns
    -------
    Reference
        Scheme and genera.

    Raises
    ------
    TableError
        With every fault of every table at once.
    """
    faults = Faults()
    scheme = parse_scheme(files, faults)
    entries = parse_entries(files, scheme, faults)
    check_tables(files, faults)
    check_scheme(scheme, faults)
    check_entries(entries, faults)
    check_sources(files, entries.sources, faults)
    if faults.items:
        raise TableError(faults.items)
    return Reference(scheme, entries)


def applicable(reference: Reference, form: Form, character: Character) -> bool:
    """Whether a character applies to at least some colonies of a form."""
    if character.applies_to is None:
        return True
    parent, states = character.applies_to
    value = reference.entries.values.get((form.genus, form.id, parent))
    if value is None or not isinstance(value.value, StateWords):
        return False
    words = reference.scheme.words
    shown = [words[word] for state, word in value.value.words.items() if state in states]
    return max(shown, default=0.0) >= _AT_LEAST_SOMETIMES


def coverage(reference: Reference, seen: tuple[str, ...] = ("w", "l")) -> tuple[int, int]:
    """Count the filled and the applicable cells of characters seen in some way.

    Returns
    -------
    filled, cells : int
        Over forms and characters.
    """
    filled = cells = 0
    for form in reference.entries.forms:
        for character in reference.scheme.characters.values():
            if character.seen in seen and applicable(reference, form, character):
                cells += 1
                filled += (form.genus, form.id, character.id) in reference.entries.values
    return filled, cells
