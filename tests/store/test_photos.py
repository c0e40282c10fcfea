"""Photos are told by content, kept under their hash, and never altered."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import pytest
from PIL import Image

from corallum.errors import InputError, NotFoundError
from corallum.store import photos
from corallum.store.photos import check_photo, keep_photo, photo_path
from invented import picture


@pytest.mark.parametrize(
    ("kind", "media_type"),
    [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp"),
     ("TIFF", "image/tiff"), ("BMP", "image/bmp")],
)  # fmt: skip
def test_kinds_of_pictures(tmp_path: Path, kind: str, media_type: str) -> None:
    """Each kind is known by its bytes, and the original is on disk byte by byte."""
    data = picture(kind=kind)
    checked = check_photo(data)
    keep_photo(tmp_path, checked)
    assert (checked.media_type, checked.width, checked.height) == (media_type, 64, 48)
    assert checked.sha256 == hashlib.sha256(data).hexdigest()
    path = photo_path(tmp_path, checked.sha256, media_type, "original")
    assert path.read_bytes() == data
    assert path.parent.name == checked.sha256[:2]


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "CMYK", "I;16", "F"])
def test_modes_of_pictures(mode: str) -> None:
    """Whatever the mode, small copies are plain colour."""
    stream = io.BytesIO()
    Image.new(mode, (500, 400)).save(stream, "TIFF")
    with Image.open(io.BytesIO(check_photo(stream.getvalue()).copies["thumb"])) as small:
        assert (small.mode, small.size) == ("RGB", (320, 256))


def test_small_copies_carry_no_place() -> None:
    """What the camera wrote of time and place stays in the original only."""
    exif = Image.Exif()
    exif[0x010F] = "Camera"
    exif.get_ifd(0x8825)[1] = "N"
    stream = io.BytesIO()
    Image.new("RGB", (400, 300), "teal").save(stream, "JPEG", exif=exif)
    checked = check_photo(stream.getvalue())
    assert b"Camera" in checked.data
    for copy in checked.copies.values():
        with Image.open(io.BytesIO(copy)) as small:
            assert len(small.getexif()) == 0
        assert b"Camera" not in copy


def test_a_turned_picture_is_upright() -> None:
    """Orientation 6, a quarter turn, swaps width and height (EXIF 2.32, section 4.6.5)."""
    exif = Image.Exif()
    exif[0x0112] = 6
    stream = io.BytesIO()
    Image.new("RGB", (400, 300), "teal").save(stream, "JPEG", exif=exif)
    checked = check_photo(stream.getvalue())
    assert (checked.width, checked.height) == (300, 400)
    with Image.open(io.BytesIO(checked.copies["thumb"])) as small:
        assert small.size == (240, 320)


def animation() -> bytes:
    """Two frames."""
    stream = io.BytesIO()
    frames = [Image.new("RGB", (10, 10), colour) for colour in ("red", "blue")]
    frames[0].save(stream, "WEBP", save_all=True, append_images=frames[1:])
    return stream.getvalue()


REFUSED = {
    "nothing": (b"", "found an empty file"),
    "text": (b"a photo, honestly", "found something else"),
    "a page": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "found something else"),
    "a program": (b"\x7fELF" + bytes(100), "found something else"),
    "cut off": (picture(size=(400, 300))[:5000], "found a broken one"),
    "only a beginning": (picture()[:30], "found"),
    "frames": (animation(), "found several frames"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_photo_is_refused(name: str) -> None:
    """Anything but one whole still picture is refused with a line."""
    data, wanted = REFUSED[name]
    with pytest.raises(InputError, match=wanted):
        check_photo(data)


def test_too_large_is_refused_undecoded(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file over the limit, and a picture of too many pixels, are refused."""
    monkeypatch.setattr(photos, "MOST_PHOTO_BYTES", 1_000_000)
    with pytest.raises(InputError, match="expected at most 1 MB, found 2 MB"):
        check_photo(bytes(2_000_000))
    monkeypatch.setattr(photos, "_MOST_PIXELS", 1_000_000)
    stream = io.BytesIO()
    Image.new("1", (2000, 2000)).save(stream, "PNG")
    with pytest.raises(InputError, match="expected at most 1 megapixels, found 2000 x 2000"):
        check_photo(stream.getvalue())


@pytest.mark.parametrize("text", ["../../etc/passwd", "A" * 64, "0" * 63, "", "0" * 64 + "\n"])
def test_only_a_hash_is_a_place(tmp_path: Path, text: str) -> None:
    """Nothing but 64 digits of a hash leads to a file."""
    with pytest.raises(NotFoundError):
        photo_path(tmp_path, text, "image/jpeg", "original")


def test_an_original_is_never_written_again(tmp_path: Path) -> None:
    """Adding the same photo twice leaves the first file as it is."""
    checked = check_photo(picture())
    keep_photo(tmp_path, checked)
    path = photo_path(tmp_path, checked.sha256, "image/jpeg", "original")
    before = path.stat()
    keep_photo(tmp_path, checked)
    assert (path.stat().st_ino, path.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
