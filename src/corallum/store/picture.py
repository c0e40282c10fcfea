"""Read photos, whatever cameras and people make of them, and write pictures beside them.

An original is opened for reading only and never written.
"""

from __future__ import annotations

import importlib
import os
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import NamedTemporaryFile

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageOps, UnidentifiedImageError

from corallum.errors import Fault, InputError

__all__ = ["PHOTO_ENDINGS", "Photo", "photos_in", "read_photo", "write_overlay"]

PHOTO_ENDINGS = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".bmp", ".heic", ".heif")
_MOST_PIXELS = 200_000_000
_FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "BMP")
# Photos are brought to twice this length at most before the sums reduce them further.
_ABOUT = 1280


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo made upright, grey and small.

    Parameters
    ----------
    image : ndarray of float32, (h, w)
        Brightness, 0 to 1.
    size : tuple of int
        Width and height of the upright original, in pixels.
    """

    image: NDArray[np.float32]
    size: tuple[int, int]

    @property
    def reduction(self) -> float:
        """Pixels of the upright original to one of ``image``."""
        return float(max(self.size) / max(self.image.shape))


def photos_in(folder: Path) -> list[Path]:
    """List the photos of a folder by name.

    Raises
    ------
    InputError
        Where the folder can't be read or holds none.
    """
    try:
        found = sorted(p for p in folder.iterdir() if p.suffix.lower() in PHOTO_ENDINGS)
    except OSError as error:
        raise _fault(folder, "a readable folder", str(error.strerror), "Check it.") from error
    if not found:
        wanted = f"photos ({', '.join(e[1:] for e in PHOTO_ENDINGS)})"
        raise _fault(folder, wanted, "none", "Check the folder.")
    return found


def read_photo(path: Path, *, most_pixels: int = _MOST_PIXELS) -> Photo:
    """Read a photo: upright as its EXIF says, grey, and reduced.

    Parameters
    ----------
    path : Path
        JPEG, PNG, TIFF, WebP or BMP; HEIC where the reader for it is installed.
    most_pixels : int
        Largest picture to unpack.

    Raises
    ------
    InputError
        Where the file is no picture, broken, animated, too large, or can't be opened.
    """
    formats = _formats(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path, formats=formats) as picture:
                return _unpack(path, picture, most_pixels)
    except InputError:
        raise
    except Image.DecompressionBombError as error:
        raise _too_large(path, "a header of far more", most_pixels) from error
    except UnidentifiedImageError as error:
        empty = path.stat().st_size == 0
        found = "an empty file" if empty else "something else"
        raise _fault(path, "a photo (JPEG, PNG, TIFF, WebP, BMP)", found, _REMEDY) from error
    except (OSError, SyntaxError, ValueError, EOFError, MemoryError) as error:
        raise _fault(path, "a whole photo", _said(error), _REMEDY) from error
    # A broken file makes the decoder raise almost anything; it must not lose the other photos.
    except Exception as error:
        raise _fault(path, "a whole photo", "a broken one", _REMEDY) from error


_REMEDY = "Copy it from the camera again, or leave it out."


def _unpack(path: Path, picture: Image.Image, most_pixels: int) -> Photo:
    """Decode an opened picture."""
    width, height = picture.size
    if width * height > most_pixels:
        raise _too_large(path, f"{width} x {height}", most_pixels)
    if getattr(picture, "n_frames", 1) > 1 and picture.format != "MPO":
        found = f"{getattr(picture, 'n_frames', 1)} frames"
        raise _fault(path, "one still picture", found, "Save the frame to be measured by itself.")
    factor = max(1, max(picture.size) // _ABOUT)
    if factor > 1 and picture.format in ("JPEG", "MPO"):
        # The decoder itself can halve and quarter, much faster than unpacking it all.
        picture.draft("L" if picture.mode in ("RGB", "L") else None, _part(picture.size, factor))
    grey = _grey(picture)
    left = max(1, max(grey.size) // _ABOUT)
    if left > 1:
        grey = grey.reduce(left)
    upright = ImageOps.exif_transpose(_with_exif(grey, picture))
    turned = picture.getexif().get(0x0112, 1) in (5, 6, 7, 8)
    image = np.asarray(upright, dtype=np.float32)
    full = (height, width) if turned else (width, height)
    return Photo(image / np.float32(255), full)


def _part(size: tuple[int, int], factor: int) -> tuple[int, int]:
    """Return a size divided by a factor, rounded up."""
    return -(-size[0] // factor), -(-size[1] // factor)


def _with_exif(grey: Image.Image, picture: Image.Image) -> Image.Image:
    """Give the grey picture the orientation of its original."""
    exif = Image.Exif()
    exif[0x0112] = picture.getexif().get(0x0112, 1)
    grey.info = {"exif": exif.tobytes()}
    return grey


def _grey(picture: Image.Image) -> Image.Image:
    """Turn any mode to 8-bit grey; what is transparent becomes white."""
    if picture.mode.startswith("I") or picture.mode == "F":
        values = np.asarray(picture, dtype=np.float32)
        low, high = float(values.min()), float(values.max())
        scaled = (values - low) / max(high - low, 1e-9) * 255
        return Image.fromarray(np.round(scaled).astype(np.uint8))
    if "A" in picture.mode or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        ground = Image.new("RGBA", clear.size, "white")
        return Image.alpha_composite(ground, clear).convert("L")
    return picture.convert("L")


def _formats(path: Path) -> tuple[str, ...]:
    """Return the formats to try; HEIC only where its reader is installed."""
    if path.suffix.lower() not in (".heic", ".heif"):
        return _FORMATS
    try:
        reader = importlib.import_module("pillow_heif")
    except ImportError as error:
        remedy = 'Save it as JPEG, or install the reader: pip install "corallum[heic]".'
        raise _fault(path, "a photo that can be read here", "HEIC", remedy) from error
    reader.register_heif_opener()
    return (*_FORMATS, "HEIF")


def _too_large(path: Path, found: str, most_pixels: int) -> InputError:
    """Build the error for a picture that is too large to unpack."""
    return _fault(
        path,
        f"at most {most_pixels // 1_000_000} megapixels",
        found,
        "Save a smaller copy; if you did not make this file, do not trust it.",
    )


def _said(error: BaseException) -> str:
    """Return what an error says, in one line."""
    text = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return " ".join(str(text).split())


def _fault(path: Path, expected: str, found: str, remedy: str) -> InputError:
    """Build an error about one file."""
    return InputError([Fault(str(path), "", expected, found, remedy)])


def write_overlay(
    photo: Photo,
    centres: NDArray[np.float64],
    ticks_px: float,
    lines: Sequence[str],
    out: Path,
) -> None:
    """Write a copy of a photo with what was found drawn over it.

    Parameters
    ----------
    photo : Photo
        Photo as it was measured.
    centres : ndarray, (n, 2)
        x and y, in pixels of ``photo.image``.
    ticks_px : float
        Diameter of the circle round each centre, in pixels of ``photo.image``.
    lines : sequence of str
        Lines to write in the corner.
    out : Path
        PNG or JPEG to write; it appears whole or not at all.

    Raises
    ------
    InputError
        Where it can't be written.
    """
    grey = Image.fromarray(np.round(photo.image * 255).astype(np.uint8))
    picture = grey.convert("RGB")
    draw = ImageDraw.Draw(picture)
    r = max(ticks_px / 2, 2.0)
    for x, y in centres:
        draw.ellipse((x - r, y - r, x + r, y + r), outline=(255, 140, 0), width=2)
        draw.ellipse((x - 1.5, y - 1.5, x + 1.5, y + 1.5), fill=(0, 220, 255))
    text = "\n".join(lines)
    box = draw.multiline_textbbox((8, 8), text)
    draw.rectangle((box[0] - 4, box[1] - 4, box[2] + 4, box[3] + 4), fill=(0, 0, 0))
    draw.multiline_text((8, 8), text, fill=(255, 255, 255))
    kind = "JPEG" if out.suffix.lower() in (".jpg", ".jpeg") else "PNG"
    try:
        with NamedTemporaryFile(dir=out.parent, suffix=out.suffix, delete=False) as stream:
            picture.save(stream, kind)
        os.replace(stream.name, out)  # noqa: PTH105  a path in hand already
    except OSError as error:
        raise _fault(out, "a place that can be written", _said(error), "Check it.") from error
