"""Rendered practice colonies: close-ups of a surface of known sizes, drawn and not photographed."""

from corallum.draw.surface.colony import render_colony
from corallum.draw.surface.from_form import draw_parameters, scenes_of
from corallum.draw.surface.parameters import ARRANGEMENTS, SCENES, SurfaceParameters
from corallum.draw.surface.refusals import SurfaceError
from corallum.draw.surface.view import PRACTICE_VIEW, Rendered, Truth, ViewOptions

__all__ = [
    "ARRANGEMENTS",
    "PRACTICE_VIEW",
    "SCENES",
    "Rendered",
    "SurfaceError",
    "SurfaceParameters",
    "Truth",
    "ViewOptions",
    "draw_parameters",
    "render_colony",
    "scenes_of",
]
