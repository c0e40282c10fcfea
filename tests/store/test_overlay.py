"""Copies of photos with what was found drawn over them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from corallum.errors import InputError
from corallum.store import overlay
from corallum.store.overlay import Drawing, is_overlay, need_overlay_place, write_overlay
from corallum.store.picture import read_photo

CENTRES = np.array([[100.0, 80.0], [300.0, 200.0]])


def drawn(tmp_path: Path, size: tuple[int, int], name: str = "out.png") -> Image.Image:
    """An overlay with two centres and a ring, on grey."""
    photo = tmp_path / "a.png"
    Image.new("RGB", size, (120, 120, 120)).save(photo)
    ring = CENTRES[0] + 20 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    drawing = Drawing(["what was found " * 20], CENTRES, [ring], bar=(50.0, "5 mm"))
    write_overlay(photo, read_photo(photo), drawing, tmp_path / name)
    return Image.open(tmp_path / name).convert("RGB")


@pytest.mark.parametrize("size", [(400, 300), (1600, 1200), (5000, 3000)])
def test_marks_stand_out_at_any_size(tmp_path: Path, size: tuple[int, int]) -> None:
    """Marks have the colours of their kinds, and a dark outline, in small and large photos."""
    picture = np.asarray(drawn(tmp_path, size)).astype(int)
    for colour in ((230, 159, 0), (86, 180, 233)):
        count = (np.abs(picture - colour).max(-1) < 8).sum()
        assert count >= 30
    # Okabe & Ito 2008 give these two as told apart by all kinds of colour vision.
    assert picture.shape[1] > 1000


def test_no_line_of_text_leaves_the_picture(tmp_path: Path) -> None:
    """A long line is broken: nothing but the ground stands in the last columns below."""
    picture = np.asarray(drawn(tmp_path, (400, 300)))
    assert picture[960:, -4:].max() == 0
    assert picture[960:].max() > 200


def test_centres_are_drawn_where_they_are(tmp_path: Path) -> None:
    """The middle of the blue marks is the middle of the centres, moved by the border."""
    picture = np.asarray(drawn(tmp_path, (1600, 1200))).astype(int)
    y, x = np.nonzero(np.abs(picture - (86, 180, 233)).max(-1) < 8)
    left, top = 100, 50
    first = x < left + 200
    assert x[first].mean() == pytest.approx(left + 100, abs=1)
    assert y[first].mean() == pytest.approx(top + 80, abs=1)


@pytest.mark.parametrize("name", ["out.png", "out.jpg"])
def test_an_overlay_says_that_it_is_one(tmp_path: Path, name: str) -> None:
    """It may be written over, a photo may not."""
    drawn(tmp_path, (400, 300), name)
    assert is_overlay(tmp_path / name)
    need_overlay_place(tmp_path / name, [tmp_path / "a.png"])
    assert not is_overlay(tmp_path / "a.png")
    with pytest.raises(InputError, match="another file"):
        need_overlay_place(tmp_path / "a.png", [])


def test_a_link_to_the_photo_is_the_photo(tmp_path: Path) -> None:
    """A symbolic link does not hide that the overlay would take the original's place."""
    drawn(tmp_path, (400, 300))
    link = tmp_path / "link.png"
    link.symlink_to(tmp_path / "a.png")
    with pytest.raises(InputError, match="the photo itself"):
        need_overlay_place(link, [tmp_path / "a.png"])


def test_nothing_is_left_where_writing_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk leaves no half of a picture, and says so in one line."""

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Image.Image, "save", full)
    photo = tmp_path / "a.png"
    photo.write_bytes(b"")
    with pytest.raises(InputError, match="No space left"):
        overlay._save(Image.new("RGB", (8, 8)), tmp_path / "out.png")
    assert [p.name for p in tmp_path.iterdir()] == ["a.png"]
