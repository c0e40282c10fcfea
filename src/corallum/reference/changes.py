"""What differs between two versions of a reference."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from corallum.reference.reference import Reference

__all__ = ["Change", "list_changes"]


@dataclass(frozen=True, slots=True)
class Change:
    """One difference; ``old`` or ``new`` is empty where it was added or removed."""

    kind: str
    what: str
    old: str
    new: str


def list_changes(old: Reference, new: Reference) -> tuple[Change, ...]:
    """List what was added, removed or changed from ``old`` to ``new``."""
    return tuple(
        Change(kind, what, before.get(what, ""), after.get(what, ""))
        for kind, before, after in zip(
            _KINDS, _described(old).values(), _described(new).values(), strict=True
        )
        for what in sorted(before.keys() | after.keys())
        if before.get(what, "") != after.get(what, "")
    )


_KINDS = ("setting", "word", "character", "genus", "form", "value", "name", "share")


def _described(reference: Reference) -> dict[str, Mapping[str, str]]:
    """Describe every part of a reference as text by key, one mapping for each of ``_KINDS``."""
    scheme, entries = reference.scheme, reference.entries
    fields = type(scheme.settings).__dataclass_fields__
    return {
        "setting": {name: f"{getattr(scheme.settings, name):g}" for name in fields},
        "word": {word: f"{share:g}" for word, share in scheme.words.items()},
        "character": {id_: repr(character) for id_, character in scheme.characters.items()},
        "genus": {
            genus.name: " · ".join(
                (genus.family, genus.authority, "|".join(genus.regions), genus.description)
            )
            for genus in entries.genera.values()
        },
        "form": {f"{form.genus} {form.id}": f"{form.weight:g}" for form in entries.forms},
        "value": {" ".join(key): value.text for key, value in entries.values.items()},
        "name": {
            f"{older.older_name} -> {older.genus}": older.which or "all" for older in entries.names
        },
        "share": {
            f"{share.region} {share.genus}": f"{share.species_share:g} {share.survey_share}"
            for share in entries.shares
        },
    }
