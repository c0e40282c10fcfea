"""What differs between two versions of a reference."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, is_dataclass
from typing import TYPE_CHECKING

from corallum.reference.reference import Reference

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

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


_KINDS = (
    "setting", "word", "group", "character", "view", "confusion", "condition", "hiding", "method",
    "source", "caution", "genus", "form", "value", "lookalike", "name", "share",
)  # fmt: skip


def _described(reference: Reference) -> dict[str, Mapping[str, str]]:
    """Describe every part of a reference as text by key, one mapping for each of ``_KINDS``."""
    scheme, entries = reference.scheme, reference.entries
    fields = type(scheme.settings).__dataclass_fields__
    names: dict[str, str] = {}
    for older in entries.names:
        key = f"{older.older_name} -> {older.genus}"
        text = f"{older.which or 'all'} ({older.source})"
        names[key] = f"{names[key]}; {text}" if key in names else text
    return {
        "setting": {name: _plain(getattr(scheme.settings, name)) for name in fields},
        "word": {word: _plain(share) for word, share in scheme.words.items()},
        "group": _by(scheme.groups.values(), "id"),
        "character": _by(scheme.characters.values(), "id"),
        "view": _by(scheme.views, "id", "state"),
        "confusion": _by(scheme.confusions, "character", "a", "b"),
        "condition": _by(scheme.conditions, "condition", "character", "from_", "to"),
        "hiding": _by(scheme.hidings, "state", "character"),
        "method": _by(scheme.methods.values(), "id"),
        "source": entries.sources,
        "caution": _by(entries.cautions.values(), "id"),
        "genus": _by(entries.genera.values(), "name"),
        "form": _by(entries.forms, "genus", "id"),
        "value": {
            " ".join(key): f"{value.text} ({value.source})" for key, value in entries.values.items()
        },
        "lookalike": _by(entries.lookalikes, "genus", "other"),
        "name": names,
        "share": _by(entries.shares, "region", "genus"),
    }


def _by(records: Iterable[DataclassInstance], *keys: str) -> dict[str, str]:
    """Describe records by some of their fields; the text is all the others."""
    return {
        " ".join(str(getattr(record, key)) for key in keys): _told(record, keys)
        for record in records
    }


def _told(record: DataclassInstance, left_out: tuple[str, ...] = ()) -> str:
    """Say what the fields of a record hold, empty ones left out."""
    values = (getattr(record, name) for name in record.__dataclass_fields__ if name not in left_out)
    return " · ".join(text for text in map(_plain, values) if text)


def _plain(value: object) -> str:
    """Say what one field holds."""
    if isinstance(value, tuple):
        return "|".join(map(_plain, value))
    if isinstance(value, float):
        return f"{value:.12g}"
    if is_dataclass(value) and not isinstance(value, type):
        return _told(value)
    return "" if value is None else str(value)
