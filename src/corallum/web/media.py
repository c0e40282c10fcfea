"""Pictures: drawings of states, and photos in three sizes."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import FileResponse, Response

from corallum.actions.colony_photos import photo_file
from corallum.actions.programme_reference import programme_library
from corallum.draw import SIZE
from corallum.web.characters import state_drawing
from corallum.web.visit import Visited

__all__ = ["router"]

router = APIRouter()

_KEEP = {"Cache-Control": "private, max-age=86400"}
_KEEP_LONG = {"Cache-Control": "private, max-age=31536000, immutable"}


@router.get("/drawings/{character}/{state}.svg")
def drawing(visit: Visited, character: str, state: str) -> Response:
    """Return the drawing of a state, or of how a size is measured."""
    wanted = SIZE if state == "size" else state
    svg = state_drawing(programme_library(visit.programme), character, wanted)
    return Response(svg, media_type="image/svg+xml", headers=_KEEP)


@router.get("/photos/{sha256}/{size}")
def photo(visit: Visited, sha256: str, size: str) -> Response:
    """Return a photo: original, page or thumb. Its address is its content, so it never changes."""
    found = photo_file(visit.programme, sha256, size)
    return FileResponse(found.path, media_type=found.media_type, headers=_KEEP_LONG)
