"""The scheme of characters out of its tables, every fault kept."""

from __future__ import annotations

import math
from collections.abc import Mapping

from corallum.reference.scheme import (
    SEEN,
    Character,
    Condition,
    Confusion,
    Group,
    Hiding,
    Method,
    Scheme,
    Settings,
    State,
    View,
)
from corallum.reference.tables import Faults, Row, read_rows

__all__ = ["COLUMNS", "parse_scheme"]


def parse_scheme(files: Mapping[str, str], faults: Faults) -> Scheme:
    """Read the scheme out of its tables; faults are kept, none is raised."""
    groups = {
        row.required("group"): Group(
            row.text("group"),
            row.required("label"),
            row.number_in("misread", 0, 0.5),
            row.chosen("conditions_act", ("yes", "no")) == "yes",
        )
        for row in _unique(_rows(files, "groups.csv", faults), ("group",))
    }
    states = _parse_states(_rows(files, "states.csv", faults))
    views = _parse_views(_rows(files, "views.csv", faults))
    hidden = {(view.id, view.state) for view in views if view.id == view.of}
    characters = _parse_characters(
        _rows(files, "characters.csv", faults), states, hidden, tuple(groups)
    )
    _check_states_used(states, characters, faults)
    return Scheme(
        characters,
        views,
        groups,
        _parse_confusions(_rows(files, "confusions.csv", faults), characters),
        _parse_conditions(_rows(files, "conditions.csv", faults), characters, groups),
        _parse_hidings(_rows(files, "hides.csv", faults), characters),
        _parse_methods(_rows(files, "methods.csv", faults)),
        {
            row.required("word"): row.number_in("probability", 1e-6, 1)
            for row in _unique(_rows(files, "words.csv", faults), ("word",))
        },
        _parse_settings(_rows(files, "settings.csv", faults), faults),
    )


COLUMNS: dict[str, tuple[str, ...]] = {
    "groups.csv": ("group", "label", "misread", "conditions_act"),
    "states.csv": ("character", "state", "label", "definition"),
    "views.csv": (
        "character", "state", "of", "states", "seen", "seconds", "question", "definition",
    ),
    "characters.csv": (
        "character", "kind", "unit", "seen", "group", "seconds", "least", "most",
        "applies_when", "question", "definition", "source",
    ),
    "confusions.csv": ("character", "a", "b", "trained", "new", "source"),
    "conditions.csv": ("condition", "character", "from", "to", "share", "source"),
    "hides.csv": ("state", "character", "source"),
    "methods.csv": (
        "method", "observer_sd_trained", "observer_sd_new", "each_sd", "bias_trained", "bias_new",
    ),
    "words.csv": ("word", "probability"),
    "settings.csv": ("setting", "value", "meaning"),
}  # fmt: skip


def _rows(files: Mapping[str, str], name: str, faults: Faults) -> list[Row]:
    """Rows of one table of the scheme; a missing table is a fault."""
    if name not in files:
        faults.add(
            name, "", "this table", "no such file", "Copy it back from the shipped reference."
        )
        return []
    return read_rows(files[name], name, COLUMNS[name], faults)


def _unique(rows: list[Row], columns: tuple[str, ...]) -> list[Row]:
    """Rows without repeats of the key columns; each repeat is a fault."""
    first: dict[tuple[str, ...], int] = {}
    kept = []
    for row in rows:
        key = tuple(row.text(column) for column in columns)
        if key in first:
            row.fault(
                columns[-1], f"each once (first in row {first[key]})", "Remove one of the rows."
            )
            continue
        first[key] = row.number
        kept.append(row)
    return kept


def _parse_states(rows: list[Row]) -> dict[str, list[State]]:
    """States by character."""
    states: dict[str, list[State]] = {}
    for row in _unique(rows, ("character", "state")):
        state = State(row.required("state"), row.required("label"), row.required("definition"))
        states.setdefault(row.required("character"), []).append(state)
    return states


def _parse_views(rows: list[Row]) -> tuple[View, ...]:
    """Views, in order."""
    return tuple(
        View(
            row.required("character"),
            row.required("state"),
            row.required("of"),
            tuple(word.strip() for word in row.required("states").split("|")),
            row.chosen("seen", SEEN),
            row.number_in("seconds", 0, 3600),
            row.required("question"),
            row.required("definition"),
        )
        for row in _unique(rows, ("character", "state"))
    )


def _parse_characters(
    rows: list[Row],
    states: dict[str, list[State]],
    hidden: set[tuple[str, str]],
    groups: tuple[str, ...],
) -> dict[str, Character]:
    """Characters by id; a state that is only a view of others is left to the views."""
    characters = {}
    for row in _unique(rows, ("character",)):
        id_ = row.required("character")
        kind = row.chosen("kind", ("states", "size", "count"))
        own = tuple(state for state in states.get(id_, []) if (id_, state.id) not in hidden)
        if kind == "states" and len(own) < 2:
            row.fault("character", "two states or more in states.csv", "Add its states there.")
        least, most = 0.0, math.inf
        if kind != "states":
            least = row.number_in("least", 1e-6, 1e6)
            most = row.number_in("most", least, 1e6)
        characters[id_] = Character(
            id_, kind, row.text("unit"), row.chosen("seen", SEEN), row.chosen("group", groups),
            row.number_in("seconds", 0, 3600), least, most, _applies(row),
            row.required("question"), row.required("definition"), row.required("source"), own,
        )  # fmt: skip
    return characters


def _applies(row: Row) -> tuple[str, tuple[str, ...]] | None:
    """Read ``character = state|state``."""
    text = row.text("applies_when")
    if not text:
        return None
    parent, equals, states = text.partition("=")
    if not equals or not states.strip():
        row.fault("applies_when", "character = state|state", "Write it so, or leave it empty.")
        return None
    return parent.strip(), tuple(state.strip() for state in states.split("|"))


def _parse_confusions(
    rows: list[Row], characters: Mapping[str, Character]
) -> tuple[Confusion, ...]:
    """Confusions whose character and states are known."""
    found = []
    for row in _unique(rows, ("character", "a", "b")):
        character = characters.get(row.text("character"))
        if character is None or character.is_size:
            row.fault("character", "a character with states", "Use an id of characters.csv.")
            continue
        for column in ("a", "b"):
            row.chosen(column, character.state_ids)
        if row.text("a") == row.text("b"):
            row.fault("b", "another state than in column a", "A state isn't taken for itself.")
        found.append(
            Confusion(
                character.id, row.text("a"), row.text("b"),
                row.number_in("trained", 0, 0.5), row.number_in("new", 0, 0.5),
            )
        )  # fmt: skip
    return tuple(found)


def _parse_conditions(
    rows: list[Row], characters: Mapping[str, Character], groups: Mapping[str, Group]
) -> tuple[Condition, ...]:
    """Effects of conditions, on characters of the group that conditions act on."""
    found = []
    for row in _unique(rows, ("condition", "character", "from", "to")):
        character = characters.get(row.text("character"))
        group = groups.get(character.group) if character else None
        if character is None or group is None or not group.conditions_act:
            row.fault("character", "a character that conditions act on", "See groups.csv.")
            continue
        for column in ("from", "to"):
            row.chosen(column, ("*",) if character.is_size else character.state_ids)
        share = (
            row.number_in("share", 0.01, 10) if character.is_size else row.number_in("share", 0, 1)
        )
        found.append(
            Condition(
                row.required("condition"), character.id, row.text("from"), row.text("to"), share
            )
        )
    return tuple(found)


def _parse_hidings(rows: list[Row], characters: Mapping[str, Character]) -> tuple[Hiding, ...]:
    """What night, bleaching and the like hide."""
    found = []
    for row in _unique(rows, ("state", "character")):
        row.chosen("character", tuple(characters))
        found.append(Hiding(row.required("state"), row.text("character"), row.required("source")))
    return tuple(found)


def _parse_methods(rows: list[Row]) -> dict[str, Method]:
    """Methods of judging a size."""
    return {
        row.required("method"): Method(
            row.text("method"),
            (row.number_in("observer_sd_trained", 0, 2), row.number_in("observer_sd_new", 0, 2)),
            row.number_in("each_sd", 0, 2),
            (row.number_in("bias_trained", -1, 1), row.number_in("bias_new", -1, 1)),
        )
        for row in _unique(rows, ("method",))
    }


# Of the other settings, none at all or all would make something impossible.
_MAY_BE_WHOLE = (
    "condition_none", "condition_stated", "unsure", "prior_survey_share", "set_mass", "separable",
)  # fmt: skip


def _parse_settings(rows: list[Row], faults: Faults) -> Settings:
    """Settings, every one of which must be there."""
    names = tuple(Settings.__dataclass_fields__)
    values = {}
    for row in _unique(rows, ("setting",)):
        name = row.chosen("setting", names)
        least, most = (0.0, 1.0) if name in _MAY_BE_WHOLE else (1e-9, 0.999)
        values[name] = row.number_in("value", least, most)
    for name in names:
        if name not in values:
            faults.add("settings.csv", "", f"the setting {name}", "none", "Add it.")
    return Settings(**{name: values.get(name, 0.5) for name in names})


def _check_states_used(
    states: Mapping[str, list[State]], characters: Mapping[str, Character], faults: Faults
) -> None:
    """Report states of a character that is not there."""
    for id_ in states:
        if id_ not in characters:
            expected = "a character of characters.csv"
            faults.add("states.csv", "", expected, repr(id_), "Add it or mend the id.")
