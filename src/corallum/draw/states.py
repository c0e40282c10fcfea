"""The drawing of every state, view and size of the scheme, with its text alternative."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from corallum.draw import (
    corallites,
    crests,
    growth,
    places,
    plates,
    polyps,
    septa,
    skeleton,
    texture,
    walls,
)
from corallum.draw.ink import Marks, svg
from corallum.reference.scheme import Scheme

__all__ = ["SIZE", "Drawing", "draw_state", "drawn", "marks_of", "states_to_draw", "text_of"]

SIZE = ""
"""In place of a state: what is measured or counted of a size."""

_DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    **growth.DRAWN,
    **walls.DRAWN,
    **crests.DRAWN,
    **texture.DRAWN,
    **corallites.DRAWN,
    **plates.DRAWN,
    **septa.DRAWN,
    **polyps.DRAWN,
    **places.DRAWN,
    **skeleton.DRAWN,
}


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing: ``svg`` is one line of SVG, ``text`` its alternative in words."""

    svg: str
    text: str


def drawn() -> tuple[tuple[str, str], ...]:
    """Return every (character, state) that has a drawing; the state of a size is ``SIZE``."""
    return tuple(_DRAWN)


def states_to_draw(scheme: Scheme) -> Iterator[tuple[str, str]]:
    """Yield every (character, state) that a person may report, sizes and views included."""
    for character in scheme.characters.values():
        if character.is_size:
            yield character.id, SIZE
        for state in scheme.report_states(character.id):
            yield character.id, state
    for id_ in scheme.view_ids:
        for state in scheme.report_states(id_):
            yield id_, state


def marks_of(character: str, state: str) -> Marks:
    """Return what is drawn for a state, as marks on the square of 100.

    Parameters
    ----------
    character : str
        Id of a character or view.
    state : str
        Id of its state, or ``SIZE`` where it is measured or counted.

    Returns
    -------
    tuple of Stroke and Disc
        The same at every call.

    Raises
    ------
    KeyError
        There is no drawing of it.
    """
    return _DRAWN[character, state]()


def text_of(scheme: Scheme, character: str, state: str) -> str:
    """Return the text alternative: the label and definition, or the question of a size."""
    known = scheme.characters.get(character)
    if known is not None and state == SIZE:
        return f"{known.question} {known.definition}"
    for one in known.states if known is not None else ():
        if one.id == state:
            return _sentences(one.label, one.definition)
    for view in scheme.views:
        if (view.id, view.state) == (character, state):
            return _sentences(state.replace("_", " "), view.definition)
    raise KeyError((character, state))


def draw_state(scheme: Scheme, character: str, state: str, *, alone: bool = True) -> Drawing:
    """Draw one state, in the colour of the text around it.

    Parameters
    ----------
    scheme : Scheme
        Where labels and definitions stand.
    character : str
        Id of a character or view.
    state : str
        Id of its state, or ``SIZE`` where it is measured or counted.
    alone : bool
        Whether the picture is a file by itself rather than part of a page.

    Returns
    -------
    Drawing
        Legible from 64 pixels up, light on dark and dark on light.

    Raises
    ------
    KeyError
        The scheme has no such state, or there is no drawing of it.

    Examples
    --------
    >>> from corallum.actions.references import Library
    >>> scheme = Library().reference.scheme
    >>> draw_state(scheme, "corallite_arrangement", "cerioid").text
    'Cerioid. Polygonal corallites that share their walls.'
    """
    text = text_of(scheme, character, state)
    return Drawing(svg(marks_of(character, state), text, alone=alone), text)


def _sentences(label: str, definition: str) -> str:
    """Join a label and a definition, once where they are the same."""
    first, second = (text[:1].upper() + text[1:] for text in (f"{label}.", definition))
    return first if first == second else f"{first} {second}"
