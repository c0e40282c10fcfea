"""What the page for a phone shows beside its model: characters, drawings, accounts of genera."""

from __future__ import annotations

import re
from typing import Any

from corallum.draw import SIZE, draw_state, drawn
from corallum.reference.genera import Form, FormValue, Genus
from corallum.reference.reference import Reference
from corallum.reference.scheme import Scheme
from corallum.reference.values import StateWords

__all__ = ["Drawings", "character_list", "genus_list"]

_DRAWN = frozenset(drawn())
_UNITS = ("_mm", "_cm", "_m")
# The text beside a drawing says the same; on the page the drawing itself is silent.
_ALTERNATIVE = re.compile(r' role="img" aria-label="[^"]*"')


class Drawings:
    """Collects drawings and gives each a number; what is drawn alike is kept once."""

    def __init__(self, scheme: Scheme) -> None:
        self.scheme = scheme
        self.found: dict[str, int] = {}
        self.met: dict[tuple[str, str], int] = {}

    def number(self, character: str, state: str) -> int | None:
        """Return the number of a drawing, or None where there is none."""
        if (character, state) not in _DRAWN:
            return None
        if (character, state) not in self.met:
            svg = draw_state(self.scheme, character, state).svg
            silent = ' class="drawing" aria-hidden="true" focusable="false"'
            plain = _ALTERNATIVE.sub(silent, svg, count=1)
            self.met[character, state] = self.found.setdefault(plain, len(self.found))
        return self.met[character, state]

    @property
    def svgs(self) -> list[str]:
        """All drawings, by number."""
        return list(self.found)


def _words(id_: str) -> str:
    """Turn an id into words, without its unit."""
    for unit in _UNITS:
        id_ = id_.removesuffix(unit)
    return id_.replace("_", " ")


def character_list(scheme: Scheme, drawings: Drawings) -> list[dict[str, Any]]:
    """Return every character and view as the page asks for it, in the scheme's order."""
    found = [_character(scheme, id_, drawings) for id_ in scheme.characters]
    found += [_view(scheme, id_, drawings) for id_ in scheme.view_ids]
    # What is seen in the water comes before what needs a cleaned skeleton.
    return sorted(found, key=lambda one: one["seen"] == "k")


def _character(scheme: Scheme, id_: str, drawings: Drawings) -> dict[str, Any]:
    """Describe a character."""
    one = scheme.characters[id_]
    states = [
        {"id": state.id, "label": state.label, "definition": state.definition}
        for state in one.states
    ]
    states += [
        {"id": view.state, "label": _words(view.state), "definition": view.definition}
        for view in scheme.views
        if view.id == id_ and view.state not in one.state_ids
    ]
    for state in states:
        state["drawing"] = drawings.number(id_, state["id"])  # type: ignore[assignment]
    return {
        "id": id_, "label": _words(id_), "question": one.question, "definition": one.definition,
        "seen": one.seen, "group": scheme.groups[one.group].label, "unit": one.unit,
        "is_size": one.is_size, "least": one.least, "most": min(one.most, 1e9),
        "applies": _applies(scheme, id_),
        "drawing": drawings.number(id_, SIZE if one.is_size else one.states[0].id),
        "states": states,
    }  # fmt: skip


def _applies(scheme: Scheme, id_: str) -> str:
    """Say where a character applies; empty where it always does."""
    applies_to = scheme.characters[id_].applies_to
    if applies_to is None:
        return ""
    parent = scheme.characters[applies_to[0]]
    labels = {state.id: state.label for state in parent.states}
    return f"{_words(parent.id)}: {', '.join(labels[state] for state in applies_to[1])}"


def _view(scheme: Scheme, id_: str, drawings: Drawings) -> dict[str, Any]:
    """Describe a view of a character."""
    rows = [view for view in scheme.views if view.id == id_]
    base = scheme.characters[rows[0].of]
    states = [
        {"id": view.state, "label": _words(view.state), "definition": view.definition,
         "drawing": drawings.number(id_, view.state)}
        for view in rows
    ]  # fmt: skip
    return {
        "id": id_, "label": _words(id_), "question": rows[0].question,
        "definition": f"Another way to say {_words(base.id)}.", "seen": rows[0].seen,
        "group": scheme.groups[base.group].label, "unit": "", "is_size": False, "least": 0,
        "most": 0, "applies": "", "drawing": states[0]["drawing"], "states": states,
    }  # fmt: skip


def genus_list(
    reference: Reference, region: str | None, drawings: Drawings
) -> list[dict[str, Any]]:
    """Return the accounts of the genera on a region's list (None: of all), by name."""
    entries = reference.entries
    wanted = [
        genus for genus in entries.genera.values() if region is None or region in genus.regions
    ]
    by_name = sorted(wanted, key=lambda one: one.name)
    return [_account(reference, genus, drawings) for genus in by_name]


def _account(reference: Reference, genus: Genus, drawings: Drawings) -> dict[str, Any]:
    """Describe one genus."""
    entries = reference.entries
    forms = reference.forms_of(genus.name)
    cautions = dict.fromkeys(("look_only", *genus.cautions))
    rows = (_values(reference, genus.name, id_, drawings) for id_ in reference.scheme.characters)
    return {
        "name": genus.name, "family": genus.family, "authority": genus.authority,
        "description": genus.description,
        "cautions": [entries.cautions[id_].text for id_ in cautions if id_ in entries.cautions],
        "older": sorted({one.older_name for one in entries.names if one.genus == genus.name}),
        "forms": [{"weight": form.weight, "description": form.description} for form in forms],
        "lookalikes": [
            {"other": one.other, "note": one.note}
            for one in entries.lookalikes if one.genus == genus.name
        ],
        "values": [row for row in rows if row[1]],
    }  # fmt: skip


def _values(reference: Reference, genus: str, character: str, drawings: Drawings) -> list[Any]:
    """Return a character, what each form shows of it, and a drawing of what is commonest.

    What all forms show alike is said once.
    """
    forms = reference.forms_of(genus)
    cells = [
        (form, value)
        for form in forms
        if (value := reference.entries.values.get((genus, form.id, character))) is not None
    ]
    found = [[_words(form.id), value.text.replace("_", " ")] for form, value in cells]
    if len(found) == len(forms) and len({text for _, text in found}) == 1:
        found = [["", found[0][1]]]
    state = _commonest(reference.scheme, cells)
    return [character, found, None if state is None else drawings.number(character, state)]


def _commonest(scheme: Scheme, cells: list[tuple[Form, FormValue]]) -> str | None:
    """Return the state that most colonies show, ``SIZE`` for a size, None for nothing."""
    weights: dict[str, float] = {}
    for form, cell in cells:
        if not isinstance(cell.value, StateWords):
            return SIZE
        for state, word in cell.value.words.items():
            weights[state] = weights.get(state, 0.0) + form.weight * scheme.words[word]
    return max(weights, key=weights.__getitem__, default=None)
