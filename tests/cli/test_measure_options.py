"""Scale, plane, clicks, edits and reports of ``corallum measure`` from the outside."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from test_measure import save_dots, save_noise

from runs import Runner


def points(*pairs: tuple[float, float]) -> str:
    """Points as the options take them."""
    return " ".join(f"{x},{y}" for x, y in pairs)


def test_a_ruler_gives_the_scale(run: Runner, tmp_path: Path) -> None:
    """500 px for 50 mm is .1 mm/px, known to the root of (.5/50)^2 + (2 root 2/500)^2."""
    photo = save_dots(tmp_path / "a.png")
    ruler = points((100, 100), (400, 500 - 1e-9 - 21))  # 300 and 379 px
    length = math.hypot(300, 379) / 10
    done = run("measure", photo, "--ruler", ruler, "--size-mm", f"{length:.6f}", "--json")
    (found,) = done.objects
    assert found["scale"]["mm_per_pixel"] == pytest.approx(0.1, rel=1e-5)
    u = math.hypot(0.5 / length, 2 * math.sqrt(2) / (10 * length))
    assert found["scale"]["relative_uncertainty"] == pytest.approx(u, rel=1e-4)
    size = found["spacing_mm"]
    assert size["value"] == pytest.approx(3.0, rel=0.01)
    assert size["high"] - size["value"] >= 1.96 * u * size["value"] * 0.999


def test_a_coin_gives_the_scale(run: Runner, tmp_path: Path) -> None:
    """A coin of 20 mm with a radius of 100 px is .1 mm/px (geometry)."""
    photo = save_dots(tmp_path / "a.png")
    turn = np.linspace(0, 2 * np.pi, 7)[:6]
    edge = points(*zip(300 + 100 * np.cos(turn), 200 + 100 * np.sin(turn), strict=True))
    done = run("measure", photo, "--disc", edge, "--size-mm", 20, "--json")
    (found,) = done.objects
    assert found["scale"]["mm_per_pixel"] == pytest.approx(0.1, rel=1e-6)
    assert found["spacing_mm"]["value"] == pytest.approx(3.0, rel=0.01)


def save_oblique(path: Path) -> tuple[Path, str]:
    """Dots 30 px apart seen in perspective, with the corners of 400 x 300 px of them."""
    flat = Image.open(save_dots(path.with_name("flat.png")))
    # From the oblique picture to the flat one, as the imaging library defines it.
    a, b, c, d, e, f, g, h = 1.0, 0.15, -60.0, 0.02, 1.35, -70.0, 0.0, 0.0006
    flat.transform(
        (640, 480), Image.Transform.PERSPECTIVE, (a, b, c, d, e, f, g, h), Image.Resampling.BICUBIC
    ).save(path)
    path.with_name("flat.png").unlink()
    back = np.linalg.inv(np.array([[a, b, c], [d, e, f], [g, h, 1]]))
    corners = np.array([[110, 90], [510, 90], [510, 390], [110, 390]], float)
    seen = np.c_[corners, np.ones(4)] @ back.T
    return path, points(*(seen[:, :2] / seen[:, 2:]))


def test_a_rectangle_straightens_the_photo(run: Runner, tmp_path: Path) -> None:
    """A slanted lattice of 3 mm measures 3 mm by its rectangle, off by a tenth without."""
    photo, corners = save_oblique(tmp_path / "a.png")
    region = ("--region", "150,110,520,380")
    done = run(
        "measure", photo, "--rectangle", corners, "--size-mm", "40,30", "--json", *region,
        "--overlay", tmp_path / "out.png",
    )  # fmt: skip
    (found,) = done.objects
    assert found["spacing_mm"]["value"] == pytest.approx(3.0, rel=0.01)
    assert found["scale"]["residual_mm"] == pytest.approx(0, abs=1e-6)
    assert any("oblique" in text for text in found["warnings"])
    centres = np.array(found["centres"])
    assert ((centres > [149, 109]) & (centres < [521, 381])).all()
    plain = run("measure", photo, "--mm-per-pixel", 0.1, "--json", *region).objects[0]
    assert abs(plain["spacing_mm"]["value"] / 3.0 - 1) > 0.1
    shown = run("measure", photo, "--rectangle", corners, "--size-mm", "40,30", *region)
    assert "residual" in shown.out


def test_a_colony_nearer_than_the_ruler_is_corrected(run: Runner, tmp_path: Path) -> None:
    """50 mm nearer at 1 m: 3 mm become 3 x 950 / 1000 = 2.85 mm, and a warning says 5 %."""
    photo = save_dots(tmp_path / "a.png")
    ask = ("measure", photo, "--mm-per-pixel", 0.1, "--json")
    flat = run(*ask).objects[0]
    near = run(*ask, "--nearer", 50, "--distance", 1000).objects[0]
    assert near["spacing_mm"]["value"] / flat["spacing_mm"]["value"] == pytest.approx(0.95)
    assert "5 % too large" in near["warnings"][0]
    wide = [f["spacing_mm"]["high"] / f["spacing_mm"]["value"] for f in (flat, near)]
    assert wide[1] > wide[0]


def test_sizes_by_hand(run: Runner, tmp_path: Path) -> None:
    """Diameters of 80, 100 and 120 px at .1 mm/px: mean 10 mm, sd 2 mm, n 3 (by hand)."""
    photo = save_noise(tmp_path / "a.png")
    ends = points((10, 10), (90, 10), (200, 50), (200, 150), (300, 20), (420, 20))
    valley = points((10, 300), (40, 340))
    done = run(
        "measure", photo, "--mm-per-pixel", 0.1, "--calices", ends, "--valleys", valley, "--json",
        "--overlay", tmp_path / "out.png",
    )  # fmt: skip
    (found,) = done.objects
    calice = found["calice_diameter_mm"]
    assert (calice["n"], calice["value"]) == (3, pytest.approx(10.0))
    assert calice["sd"] == pytest.approx(2.0)
    assert calice["high"] - 10 == pytest.approx(4.3027 * 2 / math.sqrt(3), rel=1e-3)
    assert found["valley_width_mm"]["value"] == pytest.approx(5.0)
    assert found["method"] == "hand"
    assert (tmp_path / "out.png").exists()


def test_centres_by_hand(run: Runner, tmp_path: Path) -> None:
    """Seven centres of a hexagonal patch 60 px apart at .1 mm/px are 6 mm apart (geometry)."""
    photo = save_noise(tmp_path / "a.png")
    turn = np.arange(6) * np.pi / 3 + 0.2
    ring = zip(300 + 60 * np.cos(turn), 200 + 60 * np.sin(turn), strict=True)
    patch = points((300, 200), *ring)
    done = run("measure", photo, "--mm-per-pixel", 0.1, "--centres", patch, "--json")
    assert done.objects[0]["spacing_mm"]["value"] == pytest.approx(6.0, rel=1e-6)


def test_centres_are_removed_and_added_again(run: Runner, tmp_path: Path) -> None:
    """A false centre between two lowers the spacing; removing it brings it back."""
    photo = save_dots(tmp_path / "a.png")
    ask = ("measure", photo, "--mm-per-pixel", 0.1, "--json")
    found = run(*ask).objects[0]
    a, b = np.array(found["centres"][40]), np.array(found["centres"][41])
    removed = run(*ask, "--remove", f"41 {b[0]},{b[1]}").objects[0]
    assert len(removed["centres"]) == len(found["centres"]) - 2
    assert removed["method"] == "edited"
    assert "2 removed" in removed["note"]
    back = run(*ask, "--remove", "41 42", "--add", points(tuple(a), tuple(b))).objects[0]
    assert len(back["centres"]) == len(found["centres"])
    assert back["spacing_mm"]["value"] == pytest.approx(3.0, rel=0.01)


def test_a_refused_photo_can_be_clicked(run: Runner, tmp_path: Path) -> None:
    """Where the program finds nothing, added centres alone give the spacing."""
    photo = save_noise(tmp_path / "a.png")
    turn = np.arange(6) * np.pi / 3
    ring = zip(300 + 60 * np.cos(turn), 200 + 60 * np.sin(turn), strict=True)
    done = run(
        "measure", photo, "--mm-per-pixel", 0.1, "--json", "--add", points((300, 200), *ring)
    )
    assert done.objects[0]["spacing_mm"]["value"] == pytest.approx(6.0, rel=1e-3)


def test_the_report_is_what_determine_reads(run: Runner, tmp_path: Path) -> None:
    """Measured sizes go to determine as they are, and a refusal as a colony without sizes."""
    photo, other = save_dots(tmp_path / "a.png"), save_noise(tmp_path / "b.png")
    reported = run("measure", photo, other, "--mm-per-pixel", 0.1, "--report")
    assert "b.png: not measured" in reported.err
    first, second = reported.objects
    size = first["observations"]["corallite_spacing_mm"]
    assert size["value"] == pytest.approx(3.0, rel=0.01)
    assert size["method"] == "photo"
    assert second["observations"] == {}
    answered = run("determine", "-", "--json", stdin=reported.out.encode())
    assert answered.status == 0
    assert [answer["id"] for answer in answered.objects] == [str(photo), str(other)]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        pytest.param((), "one of --mm-per-pixel, --ruler", id="no scale"),
        pytest.param(
            ("--mm-per-pixel", 1, "--ruler", "1,1 2,2"),
            "--mm-per-pixel and --ruler",
            id="two scales",
        ),
        pytest.param(("--ruler", "1,1 200,2"), "--size-mm", id="no size"),
        pytest.param(
            ("--ruler", "1,1 1,1", "--size-mm", 5), "--ruler: expected two points", id="one place"
        ),
        pytest.param(
            ("--ruler", "1,1 2", "--size-mm", 5), "--ruler: expected points", id="half a point"
        ),
        pytest.param(("--ruler", "1,1 nan,2", "--size-mm", 5), "points of numbers", id="no number"),
        pytest.param(("--ruler", "1,1 900,2", "--size-mm", 5), "640 x 480", id="outside"),
        pytest.param(("--disc", "1,1 9,9 5,5", "--size-mm", 5), "straight line", id="no circle"),
        pytest.param(("--disc", "1,1 9,9", "--size-mm", 5), "three points", id="two points"),
        pytest.param(
            ("--rectangle", "1,1 9,1 9,9", "--size-mm", "5,5"), "found 3 points", id="three corners"
        ),
        pytest.param(("--rectangle", "1,1 9,9 9,1 1,9", "--size-mm", "5,5"), "cross", id="crossed"),
        pytest.param(
            ("--rectangle", "1,1 9,1 9,9 1,9", "--size-mm", 5), "width,height", id="one side"
        ),
        pytest.param(("--mm-per-pixel", 1, "--nearer", 5), "--distance", id="no distance"),
        pytest.param(
            ("--mm-per-pixel", 1, "--nearer", 5, "--distance", 3), "before the camera", id="behind"
        ),
        pytest.param(
            ("--mm-per-pixel", 1, "--nearer", "nan", "--distance", 3), "--nearer", id="no height"
        ),
        pytest.param(("--mm-per-pixel", "1e-300"), "mm per pixel", id="no such scale"),
        pytest.param(
            ("--ruler", "1,1 9,9", "--size-mm", 5, "--size-error", "inf"), "known to", id="no idea"
        ),
        pytest.param(("--mm-per-pixel", 1, "--remove", ""), "numbers or points", id="nothing"),
        pytest.param(("--mm-per-pixel", 1, "--calices", "1,1"), "two ends", id="one end"),
        pytest.param(("--mm-per-pixel", 1, "--calices", "1,1 1,1"), "apart", id="no length"),
        pytest.param(
            ("--mm-per-pixel", 1, "--centres", "1,1 900,1"), "--centres", id="centre outside"
        ),
        pytest.param(
            ("--mm-per-pixel", 1, "--centres", "1,1 5,1 9,1"), "Click seven", id="no patch"
        ),
        pytest.param(
            ("--mm-per-pixel", 1, "--remove", "9999"), "a number from 1 to", id="no such centre"
        ),
        pytest.param(("--mm-per-pixel", 1, "--remove", "0"), "a number from 1 to", id="centre 0"),
        pytest.param(
            ("--mm-per-pixel", 1, "--json", "--report"), "--json and --report", id="two outputs"
        ),
        pytest.param(
            ("--mm-per-pixel", 1, "--calices", "1,1 9,9", "--add", "5,5"),
            "--calices and --add",
            id="two ways",
        ),
    ],
)
def test_bad_use_is_one_line(
    run: Runner, tmp_path: Path, options: tuple[object, ...], said: str
) -> None:
    """Exit 2, one line that names the option, nothing on standard output, nothing written."""
    photo = save_dots(tmp_path / "a.png")
    done = run("measure", photo, *options, "--overlay", tmp_path / "out.png")
    assert (done.status, done.out) == (2, "")
    assert len(done.faults) == 1
    assert said in done.err
    assert [p.name for p in tmp_path.iterdir()] == ["a.png"]


def test_points_belong_to_one_photo(run: Runner, tmp_path: Path) -> None:
    """Clicks with a folder of photos are refused."""
    for name in ("a.png", "b.png"):
        save_dots(tmp_path / name)
    done = run("measure", tmp_path, "--mm-per-pixel", 0.1, "--calices", "1,1 9,9")
    assert done.status == 2
    assert "by itself" in done.err


def test_a_folder_with_a_bad_photo_says_so_in_json(run: Runner, tmp_path: Path) -> None:
    """The bad photo has its own object with its error, in its place."""
    save_dots(tmp_path / "a.png")
    (tmp_path / "b.jpg").write_bytes(b"")
    save_dots(tmp_path / "c.png")
    done = run("measure", tmp_path, "--mm-per-pixel", 0.1, "--json")
    assert done.status == 1
    assert ["error" in json.loads(line) for line in done.out.splitlines()] == [False, True, False]


def test_a_name_over_two_lines_is_said_on_one(run: Runner, tmp_path: Path) -> None:
    """A line break in the name of a folder does not break the line of the fault."""
    folder = tmp_path / "two\nlines"
    folder.mkdir()
    (folder / "b.jpg").write_bytes(b"")
    done = run("measure", folder / "b.jpg", "--mm-per-pixel", 0.1)
    assert done.status == 2
    assert len(done.faults) == 1
    assert "two?lines" in done.err


@pytest.mark.parametrize("ending", ["jpg", "png", "tif", "webp", "bmp"])
def test_damaged_photos_never_end_in_a_traceback(run: Runner, tmp_path: Path, ending: str) -> None:
    """Sixteen seeded ways to cut or change the bytes: an answer, or one line and exit 2."""
    rng = np.random.default_rng(91002)
    whole = save_dots(tmp_path / f"whole.{ending}", shape=(120, 160)).read_bytes()
    for k in range(16):
        content = bytearray(whole)
        if k % 2:
            content = content[: int(rng.integers(1, len(content)))]
        else:
            for _ in range(8):
                content[int(rng.integers(0, min(len(content), 1500)))] = int(rng.integers(0, 256))
        photo = tmp_path / f"damaged.{ending}"
        photo.write_bytes(content)
        done = run("measure", photo, "--mm-per-pixel", 0.1, "--json")
        assert (done.status, len(done.faults)) in {(0, 0), (2, 1)}
        assert photo.read_bytes() == content
