"""``corallum measure`` from the outside."""

from __future__ import annotations

import hashlib
import json
import os
import pty
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from corallum.store.overlay import is_overlay
from runs import Runner


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
    assert "spacing          3 mm" in done.out
    # 640 pixels are doubled, so that what is drawn can be read; the border is beside them.
    with Image.open(out) as drawn:
        assert drawn.width > 1280
        assert drawn.height > 960
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


def test_an_overlay_is_no_photo(run: Runner, tmp_path: Path) -> None:
    """Overlays beside the photos are left out when the folder is measured again."""
    save_dots(tmp_path / "a.png")
    ask = ("measure", tmp_path, "--mm-per-pixel", 0.1, "--json", "--overlay", tmp_path)
    first, second = run(*ask), run(*ask)
    assert (first.status, second.status) == (0, 0)
    assert first.out == second.out
    assert is_overlay(tmp_path / "a_measured.png")


@pytest.mark.parametrize("name", ["other.png", "notes.txt", "no/such/out.png"])
def test_an_overlay_never_takes_another_file(run: Runner, tmp_path: Path, name: str) -> None:
    """A file that is no overlay stays as it is, and the command exits 2 in one line."""
    photo, out = save_dots(tmp_path / "a.png"), tmp_path / name
    if out.parent.is_dir():
        out.write_bytes(photo.read_bytes())
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--overlay", out)
    assert done.status == 2
    assert len(done.faults) == 1
    assert "--overlay" in done.err
    if out.exists():
        assert out.read_bytes() == photo.read_bytes()


def test_photos_of_one_name_have_overlays_of_their_own(run: Runner, tmp_path: Path) -> None:
    """a.png and a.bmp write two overlays."""
    photos, out = tmp_path / "in", tmp_path / "out"
    photos.mkdir()
    out.mkdir()
    save_dots(photos / "a.bmp")
    save_dots(photos / "a.png")
    assert run("measure", photos, "--mm-per-pixel", 0.1, "--overlay", out).status == 0
    assert sorted(p.name for p in out.iterdir()) == ["a.png_measured.png", "a_measured.png"]


def _cmyk(path: Path) -> None:
    Image.open(path).convert("CMYK").save(path.with_suffix(".jpg"), quality=95)


def _deep(path: Path) -> None:
    grey = np.asarray(Image.open(path).convert("L")).astype(np.uint16) * 200
    Image.fromarray(grey).save(path.with_suffix(".tif"))


def _clear(path: Path) -> None:
    Image.open(path).convert("RGBA").save(path.with_suffix(".webp"), lossless=True)


def _sideways(path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    seen = Image.open(path).rotate(90, expand=True)
    seen.save(path.with_suffix(".jpg"), quality=95, exif=exif.tobytes())


@pytest.mark.parametrize("make", [_cmyk, _deep, _clear, _sideways])
def test_unusual_photos_are_measured_as_they_look(
    run: Runner, tmp_path: Path, make: Callable[[Path], None]
) -> None:
    """CMYK, 16 bits, alpha and a camera on its side measure the same 3 mm; originals stay."""
    source = save_dots(tmp_path / "a.png")
    make(source)
    source.unlink()
    (photo,) = tmp_path.iterdir()
    before = hashlib.sha256(photo.read_bytes()).hexdigest()
    out = tmp_path / "out.png"
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--json", "--overlay", out)
    (found,) = done.objects
    assert found["spacing_mm"]["value"] == pytest.approx(3.0, rel=0.01)
    assert found["size_px"] == [640, 480]
    with Image.open(out) as drawn:
        assert drawn.width > drawn.height
    assert hashlib.sha256(photo.read_bytes()).hexdigest() == before


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        pytest.param("a.jpg", b"", "an empty file", id="zero bytes"),
        pytest.param("a.jpg", b"words\n" * 40, "something else", id="text"),
        pytest.param("a.jpg", b"GIF89a" + b"\0" * 40, "GIF", id="gif"),
        pytest.param("a.jpg", b"\0\0\0\x18ftypheic" + b"\0" * 40, "HEIC", id="heic as jpg"),
        pytest.param("a.heic", b"\0\0\0\x18ftypheic" + b"\0" * 40, "corallum[heic]", id="heic"),
        pytest.param("a.tif", b"II*\0" + b"\0" * 40, "8 bits", id="broken tiff"),
    ],
)
def test_a_bad_photo_is_one_line_and_nothing_is_written(
    run: Runner, tmp_path: Path, name: str, content: bytes, said: str
) -> None:
    """The line says what was found, the exit is 2, and the folder is as it was."""
    photo = tmp_path / name
    photo.write_bytes(content)
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--overlay", tmp_path / "out.png")
    assert (done.status, done.out) == (2, "")
    assert len(done.faults) == 1
    assert str(photo) in done.err
    assert said in done.err
    assert [p.name for p in tmp_path.iterdir()] == [name]


def test_a_bomb_is_refused_unopened(run: Runner, tmp_path: Path) -> None:
    """A header of 60,000 x 60,000 pixels is refused in one line that says what to do."""
    whole = tmp_path / "small.png"
    Image.new("L", (8, 8)).save(whole)
    content = bytearray(whole.read_bytes())
    content[16:24] = (60_000).to_bytes(4, "big") * 2
    import zlib  # noqa: PLC0415  for the header's own check

    content[29:33] = zlib.crc32(content[12:29]).to_bytes(4, "big")
    bomb = tmp_path / "bomb.png"
    bomb.write_bytes(content)
    done = run("measure", bomb, "--mm-per-pixel", 0.1)
    assert done.status == 2
    assert len(done.faults) == 1
    assert "megapixels" in done.err


def test_what_is_piped_on_is_not_caught_by_the_progress_bar(tmp_path: Path) -> None:
    """With a terminal for errors only, standard output holds all the JSON, errors the bar."""
    for name in ("a.png", "b.png"):
        save_dots(tmp_path / name)
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "corallum.cli", "measure", str(tmp_path)]
    with subprocess.Popen(
        [*command, "--mm-per-pixel", "0.1", "--json"], stdout=subprocess.PIPE, stderr=theirs
    ) as process:
        os.close(theirs)
        assert process.stdout is not None
        lines = process.stdout.read().splitlines()
        shown = os.read(ours, 100_000)
    os.close(ours)
    assert [json.loads(line)["status"] for line in lines] == ["measured", "measured"]
    assert b"Measuring" in shown
