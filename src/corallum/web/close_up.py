"""A photo in close-up around a point: the part that is shown, and the marks on it."""

from __future__ import annotations

from dataclasses import dataclass

from corallum.records.colony_record import StoredPhoto

__all__ = ["ZOOMS", "CloseUp", "close_up"]

# Share of the longer side that a close-up shows.
ZOOMS = {"near": 0.08, "middle": 0.16, "far": 0.32}
# Kinds of pictures that browsers can show; of others the small copy is shown.
_SHOWABLE = ("image/jpeg", "image/png", "image/webp")


@dataclass(frozen=True, slots=True)
class CloseUp:
    """What is shown of a photo; pixels of the upright original.

    Parameters
    ----------
    sha256, source : str
        The photo, and the address of its picture.
    width, height : int
        Of the photo.
    x, y : float
        The point.
    left, top, side : float
        The square that is shown, the point at its centre.
    """

    sha256: str
    source: str
    width: int
    height: int
    x: float
    y: float
    left: float
    top: float
    side: float

    @property
    def ticks(self) -> str:
        """Four short lines that point at the point, and leave it free."""
        x, y, near, far = self.x, self.y, self.side / 60, self.side / 14
        return (
            f"M{x - far:.1f} {y:.1f}H{x - near:.1f}M{x + near:.1f} {y:.1f}H{x + far:.1f}"
            f"M{x:.1f} {y - far:.1f}V{y - near:.1f}M{x:.1f} {y + near:.1f}V{y + far:.1f}"
        )


def close_up(photo: StoredPhoto, x: float, y: float, zoom: str = "middle") -> CloseUp:
    """Return the close-up of a photo around a point.

    Parameters
    ----------
    photo : StoredPhoto
        The photo.
    x, y : float
        The point, shares of width and height.
    zoom : str
        One of `ZOOMS`; anything else is the middle one.
    """
    side = max(ZOOMS.get(zoom, ZOOMS["middle"]) * max(photo.width, photo.height), 1.0)
    at_x, at_y = x * photo.width, y * photo.height
    size = "original" if photo.media_type in _SHOWABLE else "page"
    return CloseUp(
        photo.sha256, f"/photos/{photo.sha256}/{size}", photo.width, photo.height, at_x, at_y,
        at_x - side / 2, at_y - side / 2, side,
    )  # fmt: skip
