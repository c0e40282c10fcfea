"""Write the page that shows every drawing with its definition.

Run from anywhere, after a change to the drawings or to the tables::

    python tools/drawings_page.py
"""

from __future__ import annotations

import html
from collections.abc import Iterator
from pathlib import Path

from corallum.actions.references import Library
from corallum.draw.states import SIZE, draw_state
from corallum.reference.scheme import Scheme

__all__ = ["PAGE", "drawings_page"]

PAGE = Path(__file__).resolve().parent.parent / "docs/reference/drawings.md"

_HEAD = """# Drawings of the states

What every character and state looks like, drawn by code from its definition; none is copied \
from a figure. They are drawings, not pictures of any one species. A bold line is a wall, an edge \
or the surface; hatching is skeleton or rock cut through; a solid dot in a calice is its centre. \
Where a drawing has two parts, the upper is seen from above and the lower in section. A double \
arrow is what is measured.

Colours are hatched by the heralds' rule (vertical red, horizontal blue, slanting green or brown, \
dots yellow, crossed black, plain white), with a thing of that colour beside.

Each drawing is in the colour of the text around it and carries its label and definition as text \
alternative. This page is written by `tools/drawings_page.py`.

<style>
.drawings { display: flex; flex-wrap: wrap; gap: 1rem; margin: 0 0 1.5rem; padding: 0; }
.drawings figure { margin: 0; width: 9.5rem; }
.drawings svg { width: 8rem; height: 8rem; display: block; margin: 0 auto; }
.drawings figcaption { font-size: .72rem; margin: .3rem 0 0; max-width: none; text-align: left; }
</style>
"""


def drawings_page(scheme: Scheme) -> str:
    """Return the page: characters by evidence group, then views, each state with its drawing."""
    parts = [_HEAD]
    for group in scheme.groups.values():
        parts.append(f"## {group.label.capitalize()}\n")
        parts += [
            _character(scheme, id_, c.question, c.definition)
            for id_, c in scheme.characters.items()
            if c.group == group.id
        ]
    parts.append("## The same looks in other words\n")
    for id_ in scheme.view_ids:
        view = next(view for view in scheme.views if view.id == id_)
        parts.append(_character(scheme, id_, view.question, f"Another way to report `{view.of}`."))
    return "\n".join(parts)


def _character(scheme: Scheme, id_: str, question: str, definition: str) -> str:
    """Write one character with its figures."""
    states = scheme.report_states(id_) or (SIZE,)
    figures = "\n".join(_figure(scheme, id_, state) for state in states)
    return f'### `{id_}`\n\n{question} {definition}\n\n<div class="drawings">\n{figures}\n</div>\n'


def _figure(scheme: Scheme, id_: str, state: str) -> str:
    """Write one drawing over its label and definition."""
    drawing = draw_state(scheme, id_, state, alone=False)
    caption = "".join(_caption(scheme, id_, state, drawing.text))
    return f"<figure>{drawing.svg}<figcaption>{caption}</figcaption></figure>"


def _caption(scheme: Scheme, id_: str, state: str, text: str) -> Iterator[str]:
    """Yield the words under a drawing."""
    if state == SIZE:
        yield f"What is measured, in {scheme.characters[id_].unit}."
    else:
        label, _, definition = text.partition(". ")
        yield f"<strong>{html.escape(label.removesuffix('.'))}</strong> <code>{state}</code>"
        yield f". {html.escape(definition)}" if definition else ""


def main() -> None:
    """Write the page."""
    PAGE.write_text(drawings_page(Library().reference.scheme), encoding="utf-8")


if __name__ == "__main__":
    main()
