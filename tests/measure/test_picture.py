"""Photos as cameras and people make them, good and bad."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from corallum.errors import InputError
from corallum.store.picture import photos_in, read_colours, read_photo

RAMP = np.tile(np.linspace(0, 255, 80).astype(np.uint8), (60, 1))


def jpeg(picture: Image.Image, **how: object) -> bytes:
    """A picture as JPEG."""
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=95, **how)
    return stream.getvalue()


def bomb() -> bytes:
    """A PNG of a few bytes whose header claims 60,000 x 60,000 pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    header = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 1000)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", body) + chunk(b"IEND", b"")
    )


def animated() -> bytes:
    """A WebP of two frames."""
    stream = io.BytesIO()
    frames = [Image.fromarray(RAMP), Image.fromarray(255 - RAMP)]
    frames[0].save(stream, "WEBP", save_all=True, append_images=frames[1:])
    return stream.getvalue()


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        pytest.param("a.jpg", lambda: b"", "an empty file", id="zero bytes"),
        pytest.param("a.jpg", lambda: b"only words\n" * 50, "something else", id="text"),
        pytest.param(
            "a.jpg", lambda: jpeg(Image.fromarray(RAMP))[:700], "truncated", id="truncated"
        ),
        pytest.param("a.png", bomb, "megapixels", id="bomb"),
        pytest.param("a.webp", animated, "2 frames", id="animated"),
        pytest.param("a.heic", lambda: b"\0" * 100, "HEIC", id="heic without its extra"),
    ],
)
def test_a_bad_photo_is_one_clear_line(
    tmp_path: Path, name: str, content: Callable[[], bytes], said: str
) -> None:
    """The error names the file and what was found, in one line, and the file stays as it was."""
    path = tmp_path / name
    path.write_bytes(content())
    before = path.read_bytes()
    with pytest.raises(InputError) as error:
        read_photo(path)
    assert "\n" not in str(error.value)
    assert str(path) in str(error.value)
    assert said in str(error.value)
    assert path.read_bytes() == before


def test_a_missing_photo_is_an_input_error(tmp_path: Path) -> None:
    """A path that leads nowhere is said to."""
    with pytest.raises(InputError, match="No such file"):
        read_photo(tmp_path / "none.jpg")


@pytest.mark.parametrize("mode", ["RGB", "CMYK", "L", "RGBA", "P", "I;16", "1", "LA"])
def test_every_mode_is_read_as_grey(tmp_path: Path, mode: str) -> None:
    """A ramp from dark to light stays one in any mode of picture."""
    ramp = Image.fromarray(RAMP)
    if mode == "I;16":
        picture = Image.fromarray(RAMP.astype(np.uint16) * 257)
    elif mode == "CMYK":
        picture = ramp.convert("RGB").convert("CMYK")
    else:
        picture = ramp.convert(mode)
    path = tmp_path / ("a.tif" if mode == "CMYK" else "a.png")
    picture.save(path)
    photo = read_photo(path)
    colours = np.asarray(read_colours(path, photo).convert("L")) / 255
    np.testing.assert_allclose(colours, photo.image, atol=0.02)
    assert photo.size == (80, 60)
    assert photo.image[:, :10].mean() < 0.2
    assert photo.image[:, -10:].mean() > 0.8


def test_what_is_clear_becomes_white(tmp_path: Path) -> None:
    """Black under a transparent half is not seen."""
    pixels = np.zeros((40, 40, 4), np.uint8)
    pixels[:, 20:, 3] = 255
    path = tmp_path / "a.png"
    Image.fromarray(pixels).save(path)
    photo = read_photo(path)
    assert photo.image[:, :20].min() == 1
    assert photo.image[:, 20:].max() == 0


@pytest.mark.parametrize("orientation", range(1, 9))
def test_exif_is_honoured_before_anything_is_measured(tmp_path: Path, orientation: int) -> None:
    """All eight ways to hold a camera give the same upright picture (EXIF 2.3, tag 0x0112)."""
    upright = np.zeros((40, 60), np.uint8)
    upright[:20, :30] = 255
    # How the sensor saw it: the change that undoes what the tag tells the viewer to do.
    seen = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: upright.T,
        6: np.rot90(upright),
        7: upright[::-1, ::-1].T,
        8: np.rot90(upright, -1),
    }[orientation]
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = tmp_path / "a.jpg"
    path.write_bytes(jpeg(Image.fromarray(np.ascontiguousarray(seen)), exif=exif.tobytes()))
    photo = read_photo(path)
    colours = np.asarray(read_colours(path, photo).convert("L")) / 255
    np.testing.assert_allclose(colours, photo.image, atol=0.02)
    assert photo.size == (60, 40)
    assert photo.image.shape == (40, 60)
    assert photo.image[5:15, 5:25].mean() > 0.9
    assert photo.image[25:, 35:].mean() < 0.1


def test_a_large_photo_is_reduced_with_its_scale(tmp_path: Path) -> None:
    """A photo of 6000 pixels is read small, and says how many of its pixels are one."""
    path = tmp_path / "a.jpg"
    path.write_bytes(jpeg(Image.fromarray(np.tile(RAMP, (60, 75)))))
    photo = read_photo(path)
    assert photo.size == (6000, 3600)
    assert max(photo.image.shape) < 2600
    assert photo.reduction == pytest.approx(6000 / photo.image.shape[1])
    assert read_colours(path, photo).size == photo.image.shape[::-1]


def test_a_folder_without_photos_says_so(tmp_path: Path) -> None:
    """A folder of notes holds no photos."""
    (tmp_path / "notes.txt").write_text("x")
    with pytest.raises(InputError, match="found none"):
        photos_in(tmp_path)


def test_what_the_system_adds_is_no_photo(tmp_path: Path) -> None:
    """Names that begin with a dot, and folders named like photos, are left out."""
    (tmp_path / "._a.jpg").write_bytes(b"x")
    (tmp_path / "b.jpg").mkdir()
    (tmp_path / "c.JPG").write_bytes(b"x")
    assert [p.name for p in photos_in(tmp_path)] == ["c.JPG"]


@pytest.mark.parametrize("width", [1281, 2561, 5121, 7001])
def test_a_reduced_pixel_is_a_whole_number_of_pixels(tmp_path: Path, width: int) -> None:
    """An edge in the photo is found at its place, however the width divides (within 1 px)."""
    pixels = np.zeros((40, width), np.uint8)
    edge = width * 3 // 4
    pixels[:, edge:] = 255
    for name in ("a.png", "a.jpg"):
        path = tmp_path / name
        Image.fromarray(pixels).save(path)
        photo = read_photo(path)
        dark = float((1 - photo.image[0]).sum()) * photo.reduction
        assert dark == pytest.approx(edge, abs=1.5)


def test_a_picture_of_another_format_says_which(tmp_path: Path) -> None:
    """A TIFF that no reader knows is told from a text."""
    path = tmp_path / "a.tif"
    path.write_bytes(b"II*\0" + b"\0" * 60)
    with pytest.raises(InputError, match="TIFF of a kind"):
        read_photo(path)
