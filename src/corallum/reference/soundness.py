"""Whether the tables of a reference fit together, once each has been read.

Refuses what would leave the model without an answer, or an answer without its
cautions. Reports faults and mends none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

from corallum.reference import genera, scheme_tables
from corallum.reference.genera import Entries
from corallum.reference.scheme import NOT_APPLICABLE, Scheme
from corallum.reference.tables import Faults, read_rows

__all__ = ["check_entries", "check_scheme", "check_sources", "check_tables"]

_WORDS = ("always", "usually", "often", "sometimes", "rarely", "never")
_METHODS = ("eye", "ruler", "photo", "published")
# Shown with every answer, and with every answer that asks for a voucher.
_CAUTIONS = ("look_only", "voucher")


def check_tables(files: Mapping[str, str], faults: Faults) -> None:
    """Report tables that nobody would read."""
    for name in files:
        table = name.partition("/")[0].removesuffix(".csv")
        if name not in scheme_tables.COLUMNS and table not in genera.COLUMNS:
            known = [*scheme_tables.COLUMNS, *(f"{table}.csv" for table in genera.COLUMNS)]
            remedy = "Mend the name, or move the file out."
            faults.add(name, "", f"one of {', '.join(known)}", "another table", remedy)


def check_scheme(scheme: Scheme, faults: Faults) -> None:
    """Report ids of the scheme that lead nowhere, and shares that can't be."""
    _check_views(scheme, faults)
    _check_applicability(scheme, faults)
    _check_shares(scheme, faults)
    if set(scheme.words) != set(_WORDS):
        found = ", ".join(scheme.words) or "none"
        faults.add("words.csv", "", ", ".join(_WORDS), found, "Keep these six words.")
    missing = [name for name in _METHODS if name not in scheme.methods]
    if missing:
        expected = f"the methods {', '.join(missing)}"
        faults.add("methods.csv", "", expected, "none", "Add them; others may stand beside.")


def _check_views(scheme: Scheme, faults: Faults) -> None:
    """Report views of unknown states, and ids that are views of two characters."""
    of: dict[str, str] = {id_: id_ for id_ in scheme.characters}
    for view in scheme.views:
        place = f"{view.id} = {view.state}"
        _check_states(scheme, ("views.csv", place), view.of, view.states, faults)
        if of.setdefault(view.id, view.of) != view.of:
            remedy = "Give the view an id of its own."
            faults.add("views.csv", place, f"a view of {of[view.id]}", view.of, remedy)


def _check_applicability(scheme: Scheme, faults: Faults) -> None:
    """Report characters that hang on unknown states, or on themselves."""
    for character in scheme.characters.values():
        if character.applies_to is None:
            continue
        place = f"{character.id}, column applies_when"
        parent, states = character.applies_to
        _check_states(scheme, ("characters.csv", place), parent, states, faults)
        if NOT_APPLICABLE in states:
            remedy = "Name the states in which it applies."
            faults.add("characters.csv", place, f"states of {parent}", NOT_APPLICABLE, remedy)
        if character.id in _parents(scheme, character.id):
            remedy = "Break the circle."
            faults.add("characters.csv", place, "another character", "a circle", remedy)


def _parents(scheme: Scheme, id_: str) -> set[str]:
    """Return all characters on which the applicability of one hangs."""
    found: set[str] = set()
    character = scheme.characters.get(id_)
    while character is not None and character.applies_to is not None:
        parent = character.applies_to[0]
        if parent in found:
            break
        found.add(parent)
        character = scheme.characters.get(parent)
    return found


def _check_shares(scheme: Scheme, faults: Faults) -> None:
    """Report conditions that change more colonies than there are."""
    totals: Counter[tuple[str, str, str]] = Counter()
    for effect in scheme.conditions:
        if not scheme.characters[effect.character].is_size:
            totals[effect.condition, effect.character, effect.from_] += effect.share  # type: ignore[assignment]  # a counter of shares
    for key, total in totals.items():
        if total > 1 + 1e-9:
            remedy = "Lower the column share."
            expected = "shares that add up to at most 1"
            faults.add("conditions.csv", ", ".join(key), expected, f"{total:g}", remedy)


def _check_states(
    scheme: Scheme, place: tuple[str, str], of: str, states: tuple[str, ...], faults: Faults
) -> None:
    """Report states that a character does not have."""
    base = scheme.characters.get(of)
    known = (*base.state_ids, NOT_APPLICABLE) if base else ()
    wrong = [state for state in states if state not in known]
    if wrong:
        faults.add(*place, f"states of {of}", ", ".join(wrong), "Mend the ids.")


def check_entries(entries: Entries, faults: Faults) -> None:
    """Report a reference too small to choose from, or without a caution that every one needs."""
    if len(entries.genera) < 2:
        found = ", ".join(entries.genera) or "none"
        faults.add("genera", "", "two genera or more", found, "Add genera.")
    for id_ in _CAUTIONS:
        if id_ not in entries.cautions:
            remedy = "Copy it back from the shipped reference."
            faults.add("cautions.csv", "", f"the caution {id_}", "none", remedy)


def check_sources(files: Mapping[str, str], sources: Mapping[str, str], faults: Faults) -> None:
    """Report unknown sources of the scheme, the shares and the cautions."""
    names = [name for name in files if name.partition("/")[0] in ("priors", "priors.csv")]
    for name in (*scheme_tables.COLUMNS, "cautions.csv", *names):
        # What is wrong with the table itself has been reported by its own reader.
        for row in read_rows(files.get(name, ""), name, ("source",), Faults()):
            if any(part.strip() not in sources for part in row.text("source").split("|")):
                expected = "sources of sources.csv"
                replace(row, faults=faults).fault("source", expected, "Join several with |.")
