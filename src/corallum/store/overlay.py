"""Write a copy of a photo with what was found drawn over it.

The copy says in its header that it is one, so that it is never taken for an original:
neither measured with a folder of photos, nor is an original ever written over.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import NamedTemporaryFile

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont, UnidentifiedImageError
from PIL.PngImagePlugin import PngInfo

from corallum.errors import Fault, InputError
from corallum.store.picture import Photo, read_colours

__all__ = ["Drawing", "is_overlay", "need_overlay_place", "round_length", "write_overlay"]

Floats = NDArray[np.float64]
OVERLAY_ENDINGS = (".png", ".jpg", ".jpeg")
_MARK = "drawn over a photo by corallum measure"
_LEAST_WIDTH = 1000
_MOST_NUMBERS = 1000
# Orange and sky blue of Okabe & Ito 2008, told apart by all kinds of colour vision.
_RING, _MIDDLE, _WHITE, _DARK = (230, 159, 0), (86, 180, 233), (255, 255, 255), (0, 0, 0)


@dataclass(frozen=True, slots=True)
class Drawing:
    """What to draw over a photo; all places in pixels of the upright original.

    Parameters
    ----------
    lines : sequence of str
        Written below the picture.
    centres : ndarray, (n, 2)
        x and y of centres, numbered from 1 in this order where there is room.
    rings : sequence of ndarray, each (m, 2)
        Closed outlines.
    lengths : sequence of ndarray, each (2, 2)
        Ends of what was clicked.
    known : sequence of ndarray, each (m, 2)
        Lines along the scale object, drawn white.
    bar : tuple of float and str, or None
        A known length in pixels, and what to write at it.
    """

    lines: Sequence[str]
    centres: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    rings: Sequence[Floats] = ()
    lengths: Sequence[Floats] = ()
    known: Sequence[Floats] = ()
    bar: tuple[float, str] | None = None


def is_overlay(path: Path) -> bool:
    """Whether a file is a copy that was drawn over."""
    try:
        with Image.open(path, formats=("PNG", "JPEG")) as picture:
            said = picture.info.get("comment", picture.info.get("Comment", b""))
    except (OSError, SyntaxError, ValueError, UnidentifiedImageError, Image.DecompressionBombError):
        return False
    return said in (_MARK, _MARK.encode())


def need_overlay_place(out: Path, photos: Sequence[Path]) -> None:
    """Refuse to write over anything but an earlier copy.

    Parameters
    ----------
    out : Path
        Picture to be written.
    photos : sequence of Path
        The photos that are measured.

    Raises
    ------
    InputError
        Where it is a photo or another file, or has another ending than PNG or JPEG.
    """
    if out.suffix.lower() not in OVERLAY_ENDINGS:
        found = f"the ending {out.suffix!r}"
        raise _fault(out, "a picture ending in .png or .jpg", found, "Name it so.")
    if not out.parent.is_dir():
        raise _fault(out, "a folder that is there", f"no {out.parent}", "Make the folder first.")
    if not out.exists():
        return
    if any(photo.exists() and out.samefile(photo) for photo in photos):
        raise _fault(out, "a new file", "the photo itself", "Name another file.")
    if not is_overlay(out):
        remedy = "Name another, or take it away."
        raise _fault(out, "a new file, or an earlier overlay", "another file", remedy)


def _fault(path: Path, expected: str, found: str, remedy: str) -> InputError:
    """Build an error about the picture to write."""
    return InputError([Fault(f"--overlay {path}", "", expected, found, remedy)])


def write_overlay(path: Path, photo: Photo, drawing: Drawing, out: Path) -> None:
    """Write a copy of a photo with what was found drawn over it.

    Parameters
    ----------
    path : Path
        The photo, opened for reading only.
    photo : Photo
        As it was measured.
    drawing : Drawing
        What to draw.
    out : Path
        PNG or JPEG to write; it appears whole or not at all.

    Raises
    ------
    InputError
        Where it can't be written.

    Notes
    -----
    A small photo is enlarged, a large one reduced; numbers along the border are pixels of
    the upright original.
    """
    picture = read_colours(path, photo)
    enlarged = max(1, math.ceil(_LEAST_WIDTH / max(picture.size)))
    if enlarged > 1:
        size = (picture.width * enlarged, picture.height * enlarged)
        picture = picture.resize(size, Image.Resampling.BICUBIC)
    pen = _Pen(picture, enlarged / photo.reduction)
    for line in drawing.known:
        pen.line(line, _WHITE)
    for ring in drawing.rings:
        pen.line(np.r_[ring, ring[:1]], _RING)
    for length in drawing.lengths:
        pen.line(length, _RING)
        pen.dots(length)
    pen.dots(drawing.centres)
    pen.numbers(drawing.centres)
    _save(pen.framed(photo.size, drawing), out)


class _Pen:
    """Draws in pixels of the upright original, as thick as the picture is large."""

    def __init__(self, picture: Image.Image, factor: float) -> None:
        self.picture, self.factor = picture, factor
        self.draw = ImageDraw.Draw(picture)
        self.thick = max(2, round(max(picture.size) / 640))
        self.text_size = max(14, round(max(picture.size) / 64))

    def places(self, points: Floats) -> Floats:
        """Pixels of the drawing."""
        result: Floats = (points + 0.5) * self.factor - 0.5
        return result

    def line(self, points: Floats, colour: tuple[int, int, int]) -> None:
        """Draw a line with a dark outline."""
        there = [tuple(point) for point in self.places(points)]
        self.draw.line(there, fill=_DARK, width=2 * self.thick, joint="curve")
        self.draw.line(there, fill=colour, width=self.thick, joint="curve")

    def dots(self, points: Floats) -> None:
        """Draw middles with a dark outline."""
        r = 1.8 * self.thick
        for x, y in self.places(points):
            box = (x - r, y - r, x + r, y + r)
            self.draw.ellipse(box, fill=_MIDDLE, outline=_DARK, width=max(1, self.thick // 2))

    def numbers(self, centres: Floats) -> None:
        """Number centres where there is room for it."""
        if not 2 <= len(centres) <= _MOST_NUMBERS:
            return
        there = self.places(centres)
        gaps = np.hypot(*(there[:, None] - there[None]).transpose(2, 0, 1))
        np.fill_diagonal(gaps, np.inf)
        if np.median(gaps.min(1)) < 2.2 * self.text_size:
            return
        font, stroke = self.font(0.75), self.text_size // 9 + 1
        for k, (x, y) in enumerate(there, start=1):
            at = (x + 1.5 * self.thick, y + self.thick)
            text = str(k)
            self.draw.text(at, text, _WHITE, font, stroke_width=stroke, stroke_fill=_DARK)

    def framed(self, size: tuple[int, int], drawing: Drawing) -> Image.Image:
        """Add a border with pixels of the original, and lines and the bar below."""
        left, top = 4 * self.text_size, 2 * self.text_size
        step = round(1.4 * self.text_size)
        broken = [part for line in drawing.lines for part in self._broken(line)]
        below = (len(broken) + 2) * step + self.text_size
        width, height = self.picture.size
        whole = Image.new("RGB", (left + width, top + height + below), _DARK)
        whole.paste(self.picture, (left, top))
        draw = ImageDraw.Draw(whole)
        self._border(draw, size, (left, top))
        if drawing.bar is not None:
            self._bar(draw, drawing.bar, (left, top + height + step))
        for k, line in enumerate(broken, start=2):
            at = (left, top + height + round((k + 0.3) * step))
            draw.text(at, line, fill=_WHITE, font=self.font())
        return whole

    def font(self, part: float = 1.0) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
        """Font of a part of the height of the text."""
        return ImageFont.load_default(round(part * self.text_size))

    def _border(
        self, draw: ImageDraw.ImageDraw, size: tuple[int, int], corner: tuple[int, int]
    ) -> None:
        """Number the pixels of the original above and to the left."""
        step = round_length(max(size) / 6)
        long, font = 0.5 * self.text_size, self.font(0.8)
        for axis, end in enumerate(size):
            for value in np.arange(0, end - step / 4, step):
                k = (value + 0.5) * self.factor - 0.5 + corner[axis]
                edge = corner[1 - axis]
                ends = [(k, edge), (k, edge - long)]
                near = (k, edge - 1.2 * long)
                if axis == 1:
                    ends, near = [(y, x) for x, y in ends], (edge - 1.4 * long, k)
                draw.line(ends, fill=_WHITE, width=self.thick)
                anchor = "md" if axis == 0 else "rm"
                draw.text(near, f"{value:g}", fill=_WHITE, font=font, anchor=anchor)

    def _bar(self, draw: ImageDraw.ImageDraw, bar: tuple[float, str], at: tuple[int, int]) -> None:
        """Draw a known length below the picture."""
        x, y = at
        long = bar[0] * self.factor
        draw.line([(x, y), (x + long, y)], fill=_WHITE, width=3 * self.thick)
        text = (x + long + self.text_size / 2, y)
        draw.text(text, bar[1], fill=_WHITE, font=self.font(), anchor="lm")

    def _broken(self, line: str) -> list[str]:
        """Break a line at its blanks."""
        font, room, parts = self.font(), self.picture.width - self.text_size, [""]
        for word in line.split(" "):
            longer = f"{parts[-1]} {word}".strip()
            if font.getlength(longer) > room and parts[-1]:
                parts.append(word)
            else:
                parts[-1] = longer
        return parts


def round_length(value: float) -> float:
    """Return the largest of 1, 2 and 5 times a power of ten that is no more.

    Parameters
    ----------
    value : float
        Above 0.
    """
    power = 10.0 ** math.floor(math.log10(value))
    return max(k * power for k in (1, 2, 5) if k * power <= value * (1 + 1e-9))


def _save(picture: Image.Image, out: Path) -> None:
    """Write a picture with the mark; it appears whole or not at all."""
    info = PngInfo()
    info.add_text("Comment", _MARK)
    is_jpeg = out.suffix.lower() != ".png"
    how = {"quality": 92, "comment": _MARK} if is_jpeg else {"pnginfo": info}
    written: Path | None = None
    try:
        with NamedTemporaryFile(dir=out.parent, suffix=out.suffix, delete=False) as stream:
            written = Path(stream.name)
            picture.save(stream, "JPEG" if is_jpeg else "PNG", **how)
        written.chmod(0o644)
        written.replace(out)
    except OSError as error:
        said = error.strerror or type(error).__name__
        raise _fault(out, "a place that can be written", said, "Check it.") from error
    finally:
        if written is not None:
            written.unlink(missing_ok=True)
