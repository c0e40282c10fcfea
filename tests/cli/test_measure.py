"""``corallum measure`` from the outside."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from conftest import Runner


def save_dots(path: Path, d: float = 30.0, shape: tuple[int, int] = (480, 640)) -> Path:
    """A photo of soft dots on a square lattice of spacing d."""
    y, x = np.mgrid[: shape[0], : shape[1]]
    wave = np.cos(2 * np.pi * x / d) + np.cos(2 * np.pi * y / d)
    grey = np.clip(128 + 60 * wave, 0, 255).astype(np.uint8)
    Image.fromarray(grey).convert("RGB").save(path)
    return path


def save_noise(path: Path) -> Path:
    """A photo in which nothing repeats."""
    noise = np.random.default_rng(91001).integers(0, 256, (480, 640), dtype=np.uint8)
    Image.fromarray(noise).save(path)
    return path


def test_json_has_its_shape(run: Runner, tmp_path: Path) -> None:
    """A lattice of 30 px at .1 mm/px has a spacing of 3 mm, in the shape that others rely on."""
    photo = save_dots(tmp_path / "a.png")
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--json")
    assert done.status == 0
    (found,) = done.objects
    assert (found["status"], found["reason"]) == ("measured", None)
    assert found["spacing_mm"]["value"] == pytest.approx(3.0, rel=0.01)
    assert found["spacing_mm"]["low"] < 3.0 < found["spacing_mm"]["high"]
    assert found["valley_width_mm"] is None


def test_a_refusal_is_an_answer(run: Runner, tmp_path: Path) -> None:
    """Where nothing repeats the status is refused, with a reason, and the exit 0."""
    done = run("measure", save_noise(tmp_path / "a.png"), "--mm-per-pixel", 0.1, "--json")
    (found,) = done.objects
    assert done.status == 0
    assert found["status"] == "refused"
    assert found["reason"]
    assert found["spacing_mm"] is None


def test_an_overlay_is_written_and_the_photo_is_not(run: Runner, tmp_path: Path) -> None:
    """The overlay is a picture of the photo's shape; the photo's bytes stay as they were."""
    photo, out = save_dots(tmp_path / "a.png"), tmp_path / "out.png"
    before = photo.read_bytes()
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--overlay", out)
    assert done.status == 0
    assert "spacing 3.0" in done.out
    with Image.open(out) as drawn:
        assert drawn.size == (640, 480)
    assert photo.read_bytes() == before


def test_the_photo_is_never_its_own_overlay(run: Runner, tmp_path: Path) -> None:
    """An overlay on the photo itself is refused and nothing is written."""
    photo = save_dots(tmp_path / "a.png")
    before = photo.read_bytes()
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--overlay", photo)
    assert done.status == 2
    assert "the photo itself" in done.err
    assert photo.read_bytes() == before


def test_a_region_is_kept_to(run: Runner, tmp_path: Path) -> None:
    """All centres lie in the region given."""
    photo = save_dots(tmp_path / "a.png")
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--region", "100,100,500,400", "--json")
    centres = np.array(done.objects[0]["centres"])
    assert (centres >= 99).all()
    assert (centres <= [501, 401]).all()


@pytest.mark.parametrize("region", ["1,2,3", "a,b,c,d", "50,50,10,90", "0,0,9000,100"])
def test_a_bad_region_is_one_line(run: Runner, tmp_path: Path, region: str) -> None:
    """A region that is none, or lies outside the photo, exits 2 and says what to mend."""
    photo = save_dots(tmp_path / "a.png")
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--region", region)
    assert done.status == 2
    assert len(done.faults) == 1
    assert "--region" in done.err


@pytest.mark.parametrize("scale", ["0", "-1", "nan", "inf"])
def test_a_bad_scale_is_one_line(run: Runner, tmp_path: Path, scale: str) -> None:
    """A scale that is no length exits 2."""
    done = run("measure", save_dots(tmp_path / "a.png"), "--mm-per-pixel", scale)
    assert done.status == 2
    assert len(done.faults) == 1


def test_one_bad_photo_never_loses_the_others(run: Runner, tmp_path: Path) -> None:
    """In a folder the good ones are measured, the bad one listed, and the exit is 1."""
    save_dots(tmp_path / "a.png")
    (tmp_path / "b.jpg").write_bytes(b"")
    save_dots(tmp_path / "c.png", 40.0)
    done = run("measure", tmp_path, "--mm-per-pixel", 0.1, "--json")
    assert done.status == 1
    assert [("spacing_mm" in found) for found in done.objects] == [True, False, True]
    assert "b.jpg" in done.err


def test_a_bad_photo_alone_exits_two(run: Runner, tmp_path: Path) -> None:
    """Nothing is written to standard output, and no overlay is made."""
    photo, out = tmp_path / "a.jpg", tmp_path / "out.png"
    photo.write_text("no picture")
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--json", "--overlay", out)
    assert (done.status, done.out) == (2, "")
    assert len(done.faults) == 1
    assert not out.exists()


def test_overlays_of_a_folder_go_to_a_folder(run: Runner, tmp_path: Path) -> None:
    """Several photos write one overlay each into a folder that is there."""
    photos, out = tmp_path / "in", tmp_path / "out"
    photos.mkdir()
    for name in ("a.png", "b.png"):
        save_dots(photos / name)
    assert run("measure", photos, "--mm-per-pixel", 0.1, "--overlay", out).status == 2
    out.mkdir()
    assert run("measure", photos, "--mm-per-pixel", 0.1, "--overlay", out).status == 0
    assert sorted(p.name for p in out.iterdir()) == ["a_measured.png", "b_measured.png"]
