"""Read photos, whatever cameras and people make of them.

An original is opened for reading only and never written.
"""

from __future__ import annotations

import importlib
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError

from corallum.errors import Fault, InputError

__all__ = ["PHOTO_ENDINGS", "Photo", "photos_in", "read_colours", "read_photo"]

PHOTO_ENDINGS = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".bmp", ".heic", ".heif")
T = TypeVar("T")
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
    reduction : int
        Pixels of the upright original to one of ``image``.
    """

    image: NDArray[np.float32]
    size: tuple[int, int]
    reduction: int


def photos_in(folder: Path) -> list[Path]:
    """List the photos of a folder by name.

    Raises
    ------
    InputError
        Where the folder can't be read or holds none.
    """
    try:
        # A name that begins with a dot is the system's own, such as what some disks add.
        found = sorted(
            p
            for p in folder.iterdir()
            if p.suffix.lower() in PHOTO_ENDINGS and not p.name.startswith(".") and p.is_file()
        )
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
    return _opened(path, lambda picture: _unpack(path, picture, most_pixels))


def read_colours(path: Path, photo: Photo) -> Image.Image:
    """Read a photo again, upright, reduced as ``photo`` and in colours, to draw on.

    Raises
    ------
    InputError
        As ``read_photo``.
    """

    def unpack(picture: Image.Image) -> Image.Image:
        if not picture.mode.startswith(("RGB", "L", "P", "CMYK", "YCbCr")):
            return Image.fromarray(np.round(photo.image * 255).astype(np.uint8)).convert("RGB")
        if photo.reduction > 1 and picture.format in ("JPEG", "MPO"):
            picture.draft(None, _part(picture.size, photo.reduction))
        reduced = _on_white(picture).convert("RGB")
        left = photo.reduction // round(max(photo.size) / max(reduced.size))
        return _upright(reduced.reduce(left) if left > 1 else reduced, picture)

    return _opened(path, unpack)


def _opened(path: Path, work: Callable[[Image.Image], T]) -> T:
    """Open a picture and do something with it; whatever is wrong becomes one line."""
    formats = _formats(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path, formats=formats) as picture:
                return work(picture)
    except InputError:
        raise
    except Image.DecompressionBombError as error:
        raise _too_large(path, "a header of far more", _MOST_PIXELS) from error
    except UnidentifiedImageError as error:
        raise _unknown(path) from error
    except (FileNotFoundError, PermissionError, IsADirectoryError) as error:
        raise _fault(path, "a photo that can be opened", _said(error), "Check the path.") from error
    except (OSError, SyntaxError, ValueError, EOFError, MemoryError) as error:
        raise _fault(path, "a whole photo", _said(error), _REMEDY) from error
    # A broken file makes the decoder raise almost anything; it must not lose the other photos.
    except Exception as error:
        raise _fault(path, "a whole photo", "a broken one", _REMEDY) from error


_REMEDY = "Copy it from the camera again, or leave it out."
_KINDS = {b"II*\0": "TIFF", b"MM\0*": "TIFF", b"\x89PNG": "PNG", b"\xff\xd8\xff": "JPEG"}


def _unknown(path: Path) -> InputError:
    """Build the error for a file that no reader knows, by its first bytes."""
    with path.open("rb") as stream:
        head = stream.read(12)
    if not head:
        return _fault(path, _PHOTO, "an empty file", _REMEDY)
    if head[4:12] in (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftyphevc"):
        return _fault(path, _PHOTO, "HEIC under another name", "Name it .heic, or save it as JPEG.")
    if head[:4] == b"GIF8":
        return _fault(path, _PHOTO, "GIF", "Save the picture to be measured as PNG.")
    kind = _KINDS.get(head[:4]) or _KINDS.get(head[:3])
    if kind:
        found = f"{kind} of a kind that can't be read here, or broken"
        return _fault(path, _PHOTO, found, "Save it again with 8 bits a colour.")
    return _fault(path, _PHOTO, "something else", _REMEDY)


_PHOTO = "a photo (JPEG, PNG, TIFF, WebP, BMP)"


def _unpack(path: Path, picture: Image.Image, most_pixels: int) -> Photo:
    """Decode an opened picture."""
    width, height = picture.size
    if width * height > most_pixels:
        raise _too_large(path, f"{width} x {height}", most_pixels)
    if getattr(picture, "n_frames", 1) > 1 and picture.format != "MPO":
        found = f"{getattr(picture, 'n_frames', 1)} frames"
        raise _fault(path, "one still picture", found, "Save the frame to be measured by itself.")
    factor = max(1, max(picture.size) // _ABOUT)
    by_decoder = 1
    if factor > 1 and picture.format in ("JPEG", "MPO"):
        # The decoder itself can halve and quarter, much faster than unpacking it all.
        picture.draft("L" if picture.mode in ("RGB", "L") else None, _part(picture.size, factor))
        by_decoder = round(width / picture.size[0])
    grey = _grey(picture)
    left = max(1, max(grey.size) // _ABOUT)
    if left > 1:
        grey = grey.reduce(left)
    image = np.asarray(_upright(grey, picture), dtype=np.float32)
    full = (height, width) if _is_turned(picture) else (width, height)
    return Photo(image / np.float32(255), full, by_decoder * left)


def _is_turned(picture: Image.Image) -> bool:
    """Whether the camera was held on its side."""
    return picture.getexif().get(0x0112, 1) in (5, 6, 7, 8)


def _part(size: tuple[int, int], factor: int) -> tuple[int, int]:
    """Return a size divided by a factor, rounded up."""
    return -(-size[0] // factor), -(-size[1] // factor)


def _upright(reduced: Image.Image, picture: Image.Image) -> Image.Image:
    """Turn a picture made from another as that one's EXIF says."""
    exif = Image.Exif()
    exif[0x0112] = picture.getexif().get(0x0112, 1)
    reduced.info = {"exif": exif.tobytes()}
    return ImageOps.exif_transpose(reduced)


def _on_white(picture: Image.Image) -> Image.Image:
    """Lay what is transparent on white."""
    if "A" not in picture.mode and "transparency" not in picture.info:
        return picture
    clear = picture.convert("RGBA")
    return Image.alpha_composite(Image.new("RGBA", clear.size, "white"), clear)


def _grey(picture: Image.Image) -> Image.Image:
    """Turn any mode to 8-bit grey; what is transparent becomes white."""
    if picture.mode.startswith("I") or picture.mode == "F":
        values = np.asarray(picture, dtype=np.float32)
        low, high = float(values.min()), float(values.max())
        scaled = (values - low) / max(high - low, 1e-9) * 255
        return Image.fromarray(np.round(scaled).astype(np.uint8))
    return _on_white(picture).convert("L")


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
