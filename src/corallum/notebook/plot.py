"""A drawing that shows itself in a notebook, and can be kept as a file."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable
from html import escape, unescape
from pathlib import Path

from corallum.draw.plots import NARROW, WIDE, standalone
from corallum.exchange.text_file import write_text

__all__ = ["Plot"]

_LABEL = re.compile(r"aria-label=(?:\"([^\"]*)\"|'([^']*)')")


class Plot:
    """One drawing, laid out for a page and for a phone.

    It stands on white, with a style of its own, so that it reads on a dark page as well.

    Parameters
    ----------
    draw : callable
        Takes a width and returns a plot as ``corallum.draw.plots`` does.
    """

    def __init__(self, draw: Callable[[int], str]) -> None:
        self._wide, self._narrow = (standalone(draw(width)) for width in (WIDE, NARROW))

    @property
    def svg(self) -> str:
        """The drawing as SVG text, a file of its own."""
        return self._wide

    @property
    def text(self) -> str:
        """What the drawing tells, in words: for who can't see it."""
        found = _LABEL.search(self._wide)
        return unescape(next(filter(None, found.groups()), "")) if found else ""

    def save(self, path: str | Path) -> None:
        """Write the drawing to a new file, never over one that is there.

        Parameters
        ----------
        path : str or Path
            Such as ``odds.svg``.

        Raises
        ------
        InputError
            Where it can't be written.
        """
        write_text(Path(path), self._wide)

    def __repr__(self) -> str:
        return f"Plot: {self.text}"

    def _repr_svg_(self) -> str:
        return self._wide

    def _repr_html_(self) -> str:
        # As pictures, so that the style of one touches nothing else on the page.
        return (
            '<figure style="margin:0 0 1em 0">\n<picture>\n'
            f'<source media="(max-width: 600px)" srcset="{_address(self._narrow)}">\n'
            f'<img src="{_address(self._wide)}" alt="{escape(self.text)}" '
            'style="width:680px;max-width:100%;height:auto">\n</picture>\n</figure>'
        )


def _address(svg: str) -> str:
    """Return a drawing as an address that holds it whole."""
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode("utf-8")).decode("ascii")
