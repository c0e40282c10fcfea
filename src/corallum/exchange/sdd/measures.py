"""The range that holds 95 % of colonies, out of the measures that an SDD document gives.

Tried in this order: percentiles; a range of about two standard deviations; the mean and its
standard deviation by the normal law; the ends that an observer judged, or that were taken
over; least and greatest; a central value. A value that stands alone is widened
by a twentieth either way, since a range must rise.
"""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["range_of"]

_PAIRS = (
    ("PercLower", "PercUpper"), ("SDRangeLower", "SDRangeUpper"),
    ("ObserverEstLower", "ObserverEstUpper"), ("UMethLower", "UMethUpper"), ("Min", "Max"),
)  # fmt: skip
_CENTRES = ("Mean", "Median", "Mode", "ObserverEstCentral", "UMethCentral")
# Between these many standard deviations lie 95 % of a normal law.
_DEVIATIONS = 1.96
_WIDEN = 0.05


def range_of(measures: Mapping[str, float]) -> tuple[float, float] | None:
    """Return the range that measures of a size give; None where they give none.

    Parameters
    ----------
    measures : mapping of str to float
        Value by the name that SDD has for the measure, all in one unit.

    Returns
    -------
    (float, float) or None
        Low and high, above 0.
    """
    pairs = [(low, high) for low, high in _PAIRS if low in measures and high in measures]
    found = [(measures[low], measures[high]) for low, high in pairs if (low, high) in _PAIRS[:2]]
    reach = _DEVIATIONS * max(measures.get("SD", 0.0), 0.0)
    if 0 < reach < measures.get("Mean", 0.0):
        found.append((measures["Mean"] - reach, measures["Mean"] + reach))
    found += [(measures[low], measures[high]) for low, high in pairs if (low, high) in _PAIRS[2:]]
    found += [(measures[name], measures[name]) for name in _CENTRES if name in measures]
    return _rising(*found[0]) if found else None


def _rising(low: float, high: float) -> tuple[float, float] | None:
    """Return a range that rises from above 0; None where there is none."""
    low, high = min(low, high), max(low, high)
    if low <= 0:
        return None
    if low == high:
        return low * (1 - _WIDEN), high * (1 + _WIDEN)
    return low, high
