"""What a line of a slate counts for, what was searched, and in which unit.

Cover is amount over searched: centimetres over centimetres of tape, points over points
read. Density is colonies over square metres.
"""

from __future__ import annotations

from corallum.records.survey import Effort, Line, Method

__all__ = ["COVER_METHODS", "amount_of", "searched_of", "unit_of"]

# Methods that tell cover, a share of the bottom; the others tell colonies per square metre.
COVER_METHODS = frozenset({Method.LINE, Method.POINTS, Method.PHOTO, Method.QUADRAT_COVER})
_CM2_PER_M2 = 1e4
_FULL = 100.0


def unit_of(method: Method) -> str:
    """Return the unit of figures: ``%`` or ``colonies per m2``."""
    return "%" if method in COVER_METHODS else "colonies per m2"


def amount_of(method: Method, line: Line) -> float:
    """Return what a line counts for: centimetres, points, percent or colonies."""
    if method is Method.LINE:
        return max((line.to_cm or 0.0) - (line.from_cm or 0.0), 0.0)
    if method in (Method.POINTS, Method.PHOTO):
        return 1.0
    if method is Method.QUADRAT_COVER:
        return line.cover_percent or 0.0
    return float(line.count)


def searched_of(method: Method, effort: Effort, *, read: float, unread: float) -> float:
    """Return what was searched on a transect, in the unit that makes amounts a figure.

    Parameters
    ----------
    method : Method
        Of the slate.
    effort : Effort
        As written on it.
    read, unread : float
        Amounts of its lines that could be read, and that could not.

    Returns
    -------
    float
        Centimetres or points that could be read; square metres; percent of all quadrats. 0
        where the effort does not say it.
    """
    if method is Method.LINE:
        return max((effort.length_cm or 0.0) - unread, 0.0)
    if method in (Method.POINTS, Method.PHOTO):
        return read
    if method is Method.BELT:
        return (effort.length_cm or 0.0) * (effort.width_cm or 0.0) / _CM2_PER_M2
    if method is Method.QUADRAT_COVER:
        return max((effort.frames or 0) * _FULL - unread, 0.0)
    return (effort.frames or 0) * (effort.frame_area_m2 or 0.0)
