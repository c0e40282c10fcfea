"""Accounts of one genus, one character, or two genera side by side, ready to show."""

from __future__ import annotations

from dataclasses import dataclass

from corallum.actions.references import Library, find_genus
from corallum.errors import UnknownNameError
from corallum.model.contrast import contrast_genera
from corallum.model.likelihood import Kernel
from corallum.reference.genera import Form, Genus, Lookalike, OlderName
from corallum.reference.reference import Reference

__all__ = [
    "CharacterAccount",
    "Comparison",
    "ComparisonRow",
    "GenusAccount",
    "ValueRow",
    "character_account",
    "compare_genera",
    "genus_account",
]


@dataclass(frozen=True, slots=True)
class ValueRow:
    """What the reference says of one character, for one form or for all alike."""

    group: str
    character: str
    form: str
    text: str
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class GenusAccount:
    """Everything the reference says of one genus."""

    genus: Genus
    forms: tuple[Form, ...]
    values: tuple[ValueRow, ...]
    lookalikes: tuple[Lookalike, ...]
    older_names: tuple[OlderName, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CharacterAccount:
    """A character, or a view of one, with its states."""

    id: str
    question: str
    definition: str
    seen: str
    seconds: float
    unit: str
    applies: str
    group: str
    states: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class ComparisonRow:
    """One character of two genera, and the chance of telling them apart by it alone."""

    character: str
    seen: str
    right: float
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two genera side by side, the deciding characters first."""

    a: str
    b: str
    notes: tuple[str, ...]
    rows: tuple[ComparisonRow, ...]


def genus_account(library: Library, name: str) -> GenusAccount:
    """Return the account of a genus, by its name of today or an older one."""
    reference = library.reference
    genus = find_genus(library, name)
    entries = reference.entries
    cautions = ("look_only", *entries.genera[genus].cautions)
    return GenusAccount(
        entries.genera[genus],
        reference.forms_of(genus),
        tuple(_value_rows(reference, genus)),
        tuple(item for item in entries.lookalikes if genus in (item.genus, item.other)),
        tuple(item for item in entries.names if item.genus == genus),
        tuple(entries.cautions[id_].text for id_ in cautions if id_ in entries.cautions),
    )


def _value_rows(reference: Reference, genus: str) -> list[ValueRow]:
    """List values by character; a value that all forms share is one row."""
    forms = reference.forms_of(genus)
    rows = []
    for character in reference.scheme.characters.values():
        found: dict[tuple[str, str], list[str]] = {}
        for form in forms:
            value = reference.entries.values.get((genus, form.id, character.id))
            if value is not None:
                found.setdefault((value.text, value.source), []).append(form.id)
        for (text, source), ids in found.items():
            every = len(ids) == len(forms)
            rows.append(
                ValueRow(
                    reference.scheme.groups[character.group].label,
                    character.id,
                    "all" if every else ", ".join(ids),
                    text,
                    character.unit,
                    source,
                )
            )
    return rows


def character_account(library: Library, id_: str) -> CharacterAccount:
    """Return a character or a view, with its states."""
    scheme = library.reference.scheme
    views = [view for view in scheme.views if view.id == id_]
    states = tuple((view.state, "", view.definition) for view in views)
    character = scheme.characters.get(id_)
    if character is None:
        if not views:
            raise UnknownNameError("character", id_)
        view = views[0]
        base = scheme.characters[view.of]
        return CharacterAccount(
            id_, view.question, f"Another way to report {view.of}.", view.seen, view.seconds, "",
            "", scheme.groups[base.group].label, states,
        )  # fmt: skip
    applies = ""
    if character.applies_to is not None:
        applies = f"{character.applies_to[0]} = {' or '.join(character.applies_to[1])}"
    own = tuple((state.id, state.label, state.definition) for state in character.states)
    return CharacterAccount(
        id_, character.question, character.definition, character.seen, character.seconds,
        character.unit, applies, scheme.groups[character.group].label, own + states,
    )  # fmt: skip


def compare_genera(library: Library, a: str, b: str) -> Comparison:
    """Put two genera side by side."""
    compiled, reference = library.compiled, library.reference
    first, second = find_genus(library, a), find_genus(library, b)
    pair = compiled.genera.index(first), compiled.genera.index(second)
    texts = [_texts(reference, genus) for genus in (first, second)]
    rows = tuple(
        ComparisonRow(
            item.character,
            item.seen,
            item.right,
            texts[0].get(item.character, ""),
            texts[1].get(item.character, ""),
        )
        for item in contrast_genera(Kernel(compiled), *pair)
    )
    notes = tuple(
        item.note
        for item in reference.entries.lookalikes
        if {item.genus, item.other} == {first, second}
    )
    return Comparison(first, second, notes, rows)


def _texts(reference: Reference, genus: str) -> dict[str, str]:
    """Return what the reference says of each character, forms joined."""
    texts: dict[str, list[str]] = {}
    for row in _value_rows(reference, genus):
        text = row.text if row.form == "all" else f"{row.form}: {row.text}"
        texts.setdefault(row.character, []).append(text)
    return {character: " / ".join(parts) for character, parts in texts.items()}
