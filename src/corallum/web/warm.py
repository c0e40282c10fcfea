"""What can be made ready before the first tap, once the first page is out."""

from __future__ import annotations

import threading
import time
from datetime import datetime
from typing import TYPE_CHECKING

from corallum.actions.programme_reference import programme_library
from corallum.actions.qualifications import survey_rights
from corallum.draw import SIZE, drawn
from corallum.errors import CorallumError
from corallum.web.answers import Answers
from corallum.web.characters import scheme_groups, scheme_shown, state_drawing

if TYPE_CHECKING:
    from corallum.store.programme import Programme

__all__ = ["warm_up"]

_LATER = 1.0
# Shown first on an empty record.
_FIRST = ("corallite_arrangement", "growth_form", "calice_diameter_mm", "living_colour")


def warm_up(programme: Programme, answers: Answers) -> threading.Thread:
    """Read the reference and draw what is shown first, in the background."""
    thread = threading.Thread(target=_warm, args=(programme, answers), daemon=True, name="warm-up")
    thread.start()
    return thread


def _warm(programme: Programme, answers: Answers) -> None:
    """Make ready; where that fails, the page that needs it says why."""
    # The first page is asked for at once and needs none of this: it goes first.
    time.sleep(_LATER)
    answers.make_ready()
    try:
        library = programme_library(programme)
        scheme_shown(library)
        scheme_groups(library)
        for character, state in drawn():
            if state == SIZE or character in _FIRST:
                state_drawing(library, character, state)
        # The pages of surveys ask at once who may record what.
        region = programme.settings.regions[0]
        survey_rights(programme, region, datetime.now().astimezone().date())
    except CorallumError:
        return
