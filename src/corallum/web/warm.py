"""What can be made ready before the first tap, beside the first page."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from corallum.actions.programme_reference import programme_determiner, programme_library
from corallum.draw import SIZE, drawn
from corallum.errors import CorallumError
from corallum.records.colony import Colony
from corallum.web.characters import scheme_groups, scheme_shown, state_drawing

if TYPE_CHECKING:
    from corallum.store.programme import Programme

__all__ = ["warm_up"]

# Shown first on an empty record.
_FIRST = ("corallite_arrangement", "growth_form", "calice_diameter_mm", "living_colour")


def warm_up(programme: Programme) -> threading.Thread:
    """Read the reference, answer once and draw what is shown first, in the background."""
    thread = threading.Thread(target=_warm, args=(programme,), daemon=True, name="warm-up")
    thread.start()
    return thread


def _warm(programme: Programme) -> None:
    """Make ready; where that fails, the page that needs it says why."""
    try:
        library = programme_library(programme)
        scheme_shown(library)
        scheme_groups(library)
        programme_determiner(programme).determine(Colony("warm", {}))
        for character, state in drawn():
            if state == SIZE or character in _FIRST:
                state_drawing(library, character, state)
    except CorallumError:
        return
