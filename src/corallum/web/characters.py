"""The scheme as the pages show it: every character with its question, states and drawings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from corallum.actions.references import Library
from corallum.draw import SIZE, draw_state, drawn
from corallum.errors import NotFoundError
from corallum.reference.scheme import NOT_APPLICABLE, Scheme
from corallum.web import words

__all__ = [
    "Shown", "ShownState", "character_of", "drawing_url", "scheme_groups", "scheme_shown",
    "state_drawing",
]  # fmt: skip

_DRAWN = frozenset(drawn())


@dataclass(frozen=True, slots=True)
class ShownState:
    """A state that may be tapped; ``drawing`` is empty where there is none."""

    id: str
    label: str
    definition: str
    drawing: str


@dataclass(frozen=True, slots=True)
class Shown:
    """A character, or a view of one, ready to be asked about."""

    id: str
    label: str
    question: str
    definition: str
    seen: str
    group: str
    seconds: float
    unit: str
    is_size: bool
    least: float
    most: float
    applies: str
    drawing: str
    states: tuple[ShownState, ...]

    @property
    def labels(self) -> dict[str, str]:
        """What each state is called."""
        return {state.id: state.label for state in self.states} | {
            NOT_APPLICABLE: "does not apply here"
        }


def drawing_url(character: str, state: str) -> str:
    """Return the address of a drawing, or nothing."""
    if (character, state) not in _DRAWN:
        return ""
    return f"/drawings/{character}/{state or 'size'}.svg#d"


@lru_cache(maxsize=4)
def scheme_shown(library: Library) -> Mapping[str, Shown]:
    """Return every character and view by id, in the scheme's order."""
    scheme = library.reference.scheme
    found = {id_: _character(scheme, id_) for id_ in scheme.characters}
    found |= {id_: _view(scheme, id_) for id_ in scheme.view_ids}
    return found


def character_of(library: Library, id_: str) -> Shown:
    """Return one character.

    Raises
    ------
    NotFoundError
        Where there is none.
    """
    found = scheme_shown(library).get(id_)
    if found is None:
        raise NotFoundError("character", id_)
    return found


@lru_cache(maxsize=4)
def scheme_groups(library: Library) -> tuple[tuple[str, str, tuple[Shown, ...]], ...]:
    """Return the characters by how they are seen and what they describe together."""
    rows: dict[tuple[str, str], list[Shown]] = {}
    for shown in scheme_shown(library).values():
        key = (shown.seen if shown.seen == "k" else "", shown.group)
        rows.setdefault(key, []).append(shown)
    return tuple((seen, group, tuple(found)) for (seen, group), found in rows.items())


def _character(scheme: Scheme, id_: str) -> Shown:
    """Show a character."""
    one = scheme.characters[id_]
    states = [
        ShownState(state.id, state.label, state.definition, drawing_url(id_, state.id))
        for state in one.states
    ]
    own = {state.id for state in states}
    states += [
        ShownState(view.state, words.words(view.state), view.definition,
                   drawing_url(id_, view.state))
        for view in scheme.views if view.id == id_ and view.state not in own
    ]  # fmt: skip
    applies = ""
    if one.applies_to is not None:
        parent = scheme.characters[one.applies_to[0]]
        names = {state.id: state.label for state in parent.states}
        which = [names[state] for state in one.applies_to[1]]
        applies = f"{words.label(parent.id)}: {', '.join(which)}"
    first = SIZE if one.is_size else one.states[0].id
    return Shown(
        id_, words.label(id_), one.question, one.definition, one.seen,
        scheme.groups[one.group].label, one.seconds, one.unit, one.is_size, one.least, one.most,
        applies, drawing_url(id_, first), tuple(states),
    )  # fmt: skip


def _view(scheme: Scheme, id_: str) -> Shown:
    """Show a view of a character."""
    rows = [view for view in scheme.views if view.id == id_]
    base = scheme.characters[rows[0].of]
    states = tuple(
        ShownState(view.state, words.words(view.state), view.definition,
                   drawing_url(id_, view.state))
        for view in rows
    )  # fmt: skip
    return Shown(
        id_, words.label(id_), rows[0].question,
        f"Another way to say {words.label(base.id)}.", rows[0].seen,
        scheme.groups[base.group].label, rows[0].seconds, "", False, 0.0, 0.0, "",  # noqa: FBT003
        states[0].drawing, states,
    )  # fmt: skip


@lru_cache(maxsize=512)
def state_drawing(library: Library, character: str, state: str) -> str:
    """Return a drawing as a file of SVG whose root can be used from a page.

    Raises
    ------
    NotFoundError
        Where there is none.
    """
    if (character, state) not in _DRAWN:
        raise NotFoundError("drawing", f"{character}/{state}")
    try:
        svg = draw_state(library.reference.scheme, character, state).svg
    except KeyError as error:
        raise NotFoundError("drawing", f"{character}/{state}") from error
    return svg.replace("<svg ", '<svg id="d" ', 1)
