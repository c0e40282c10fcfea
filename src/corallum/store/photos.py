"""Keep photos under the hash of their bytes; an original is written once and never altered.

A file is taken for a picture by what it holds; the name that somebody gave it is
not even asked for. Small copies carry no place, time or camera and can be made again.
"""

from __future__ import annotations

import hashlib
import io
import re
import warnings
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from corallum.errors import Fault, InputError, NotFoundError
from corallum.store.database import readable_errors
from corallum.store.files import write_whole

__all__ = [
    "MOST_PHOTO_BYTES", "SIZES", "CheckedPhoto", "check_photo", "is_hash", "keep_photo",
    "original_path", "photo_path",
]  # fmt: skip

MOST_PHOTO_BYTES = 50_000_000
_MOST_PIXELS = 100_000_000
# Longest side of the small copies, in pixels.
SIZES = {"thumb": 320, "page": 1600}
_ENDINGS = {"JPEG": ("jpg", "image/jpeg"), "MPO": ("jpg", "image/jpeg"),
            "PNG": ("png", "image/png"), "WEBP": ("webp", "image/webp"),
            "TIFF": ("tif", "image/tiff"), "BMP": ("bmp", "image/bmp")}  # fmt: skip
_FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "BMP")
_HASH = re.compile(r"[0-9a-f]{64}")
_REMEDY = "Copy it from the camera again, or leave it out."


@dataclass(frozen=True, slots=True)
class CheckedPhoto:
    """A photo that was decoded whole, with its small copies; pixels as seen upright."""

    sha256: str
    media_type: str
    width: int
    height: int
    data: bytes
    copies: dict[str, bytes]


def is_hash(text: str) -> bool:
    """Whether a text is a SHA-256 in lower-case hexadecimal, and so no path."""
    return _HASH.fullmatch(text) is not None


def check_photo(data: bytes) -> CheckedPhoto:
    """Decode a photo and make its small copies; nothing is written.

    Raises
    ------
    InputError
        Where it is no picture, broken, animated or too large.
    """
    if len(data) > MOST_PHOTO_BYTES:
        found = f"{len(data) / 1e6:.0f} MB"
        raise _fault(f"at most {MOST_PHOTO_BYTES // 1_000_000} MB", found, "Save a smaller copy.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=_FORMATS) as picture:
                return _decode(picture, data)
    except InputError:
        raise
    except Image.DecompressionBombError as error:
        raise _too_many_pixels("a header of far more") from error
    except UnidentifiedImageError as error:
        found = "something else" if data else "an empty file"
        raise _fault("a photo (JPEG, PNG, WebP, TIFF, BMP)", found, _REMEDY) from error
    # A broken file makes the decoder raise almost anything.
    except Exception as error:
        raise _fault("a whole photo", "a broken one", _REMEDY) from error


def _decode(picture: Image.Image, data: bytes) -> CheckedPhoto:
    """Decode an opened picture."""
    width, height = picture.size
    if width * height > _MOST_PIXELS:
        raise _too_many_pixels(f"{width} x {height}")
    if getattr(picture, "n_frames", 1) > 1 and picture.format != "MPO":
        raise _fault("one still picture", "several frames", "Save one of them by itself.")
    media_type = _ENDINGS[picture.format or ""][1]
    if picture.format in ("JPEG", "MPO"):
        # The decoder itself can halve and quarter, and reads the whole file all the same.
        picture.draft("RGB" if picture.mode == "RGB" else None, (SIZES["page"], SIZES["page"]))
    turned = picture.getexif().get(0x0112, 1) in (5, 6, 7, 8)
    picture.load()
    upright = ImageOps.exif_transpose(picture)
    flat = _flat(upright)
    copies = {}
    for name, side in sorted(SIZES.items(), key=lambda size: -size[1]):
        flat.thumbnail((side, side))
        stream = io.BytesIO()
        flat.save(stream, "JPEG", quality=85)
        copies[name] = stream.getvalue()
    size = (height, width) if turned else (width, height)
    return CheckedPhoto(hashlib.sha256(data).hexdigest(), media_type, *size, data, copies)


def _flat(picture: Image.Image) -> Image.Image:
    """Turn any picture to colour without transparency; nothing beside the pixels is kept."""
    if picture.mode.startswith("I") or picture.mode == "F":
        low, high = picture.getextrema()
        span = max(float(high) - float(low), 1e-9)  # type: ignore[arg-type]
        picture = picture.convert("F").point(
            lambda v: v * (255 / span) - float(low) * (255 / span)  # type: ignore[arg-type]
        )
        return picture.convert("L").convert("RGB")
    if "A" in picture.mode or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        ground = Image.new("RGBA", clear.size, "white")
        return Image.alpha_composite(ground, clear).convert("RGB")
    plain = Image.new("RGB", picture.size)
    plain.paste(picture.convert("RGB"))
    return plain


def keep_photo(folder: Path, photo: CheckedPhoto) -> None:
    """Write a photo and its small copies, synced to disk; one that is there stays.

    Raises
    ------
    StoreError
        Where it can't be written.
    """
    with readable_errors(folder):
        for name, data in (("original", photo.data), *photo.copies.items()):
            path = _place(folder, photo.sha256, photo.media_type, name)
            if not path.is_file() or path.stat().st_size != len(data):
                write_whole(path, data)


def photo_path(folder: Path, sha256: str, media_type: str, size: str) -> Path:
    """Return where a photo or a small copy of it is; a copy that is lost is made again.

    Raises
    ------
    NotFoundError
        Where the hash is none, or the original is gone.
    """
    original = _place(folder, sha256, media_type, "original")
    path = original if size == "original" else _place(folder, sha256, media_type, size)
    if not original.is_file():
        raise NotFoundError("photo", sha256)
    if not path.is_file():
        with readable_errors(path):
            write_whole(path, check_photo(original.read_bytes()).copies[size])
    return path


def original_path(folder: Path, sha256: str, media_type: str) -> Path:
    """Return the path of an original, whether it is there or not."""
    return _place(folder, sha256, media_type, "original")


def _place(folder: Path, sha256: str, media_type: str, size: str) -> Path:
    """Return the path of a photo: in a folder of its first two digits."""
    if not is_hash(sha256) or size not in ("original", *SIZES):
        raise NotFoundError("photo", sha256)
    if size != "original":
        return folder / "small" / sha256[:2] / f"{sha256}-{size}.jpg"
    ending = next(ending for ending, kind in _ENDINGS.values() if kind == media_type)
    return folder / sha256[:2] / f"{sha256}.{ending}"


def _too_many_pixels(found: str) -> InputError:
    """Build the error for a picture that is too large to unpack."""
    expected = f"at most {_MOST_PIXELS // 1_000_000} megapixels"
    return _fault(expected, found, "Save a smaller copy.")


def _fault(expected: str, found: str, remedy: str) -> InputError:
    """Build an error about the file at hand."""
    return InputError([Fault("photo", "", expected, found, remedy)])
