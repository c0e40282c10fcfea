"""Drawings of what an observer may report, made by code from geometry."""

from __future__ import annotations

from corallum.draw.states import SIZE, Drawing, draw_state, drawn, marks_of, states_to_draw, text_of

__all__ = ["SIZE", "Drawing", "draw_state", "drawn", "marks_of", "states_to_draw", "text_of"]
