"""Measurement from photos: a seeded set that no figure was tuned on, and one large photo.

A third of the set comes from a generator that shares no code with the drawings.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

import numpy as np
import scipy.fft
from PIL import Image

from corallum.actions.measurements import measure_photo
from corallum.actions.references import Library
from corallum.draw.surface import ARRANGEMENTS, ViewOptions, draw_parameters, render_colony
from corallum.measure.scale import Scale
from corallum.measure.surface import Measured, Refused, measure_surface
from measure import best_seconds

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "measure"))

from independent import KINDS, NOTHING, harden, make_nothing, make_surface

__all__ = ["bench_photo"]

SEED = 62_000_000
HARD = ("oblique", "blurred", "faint")
VIEWS = {
    "oblique": {"oblique_degrees": 30.0},
    "blurred": {"blur_px": 8.0},
    "faint": {"contrast": 0.25, "noise": 0.03},
}


@dataclass(frozen=True)
class Case:
    """A picture, what it shows and how, and its size in pixels (spacing, or valley width)."""

    kind: str
    hard: str
    image: np.ndarray
    truth: float
    is_valley: bool


@dataclass(frozen=True)
class Outcome:
    """What became of a case: refused, or its relative error and whether the interval held."""

    kind: str
    hard: str
    refused: bool
    error: float
    held: bool


def _own_cases(n: int) -> Iterator[Case]:
    """Pictures of the independent generator: two thirds ordinary, a third hard."""
    for i in range(n):
        rng = np.random.default_rng(SEED + i)
        kind = KINDS[i % len(KINDS)]
        picture = make_surface(kind, rng)
        hard = HARD[(i // 3) % 3] if i % 3 == 2 else ""
        if hard:
            picture = harden(picture, hard, rng)
        truth = picture.spacing or picture.valley or np.nan
        yield Case(kind, hard, picture.image, truth, picture.spacing is None)


def _drawn_cases(n: int) -> Iterator[Case]:
    """Rendered colonies over all arrangements that repeat: two thirds ordinary, a third hard."""
    compiled = Library().compiled
    arrangements = [a for a in ARRANGEMENTS if a != "solitary"]
    for i in range(n):
        rng = np.random.default_rng(SEED + 100_000 + i)
        wanted = arrangements[i % len(arrangements)]
        while True:
            params = draw_parameters(compiled, int(rng.integers(compiled.n_forms)), rng)
            if params.arrangement == wanted:
                break
        hard = HARD[(i // 3) % 3] if i % 3 == 2 else ""
        view = {
            "blur_px": float(rng.uniform(0.3, 1.5)),
            "noise": float(rng.uniform(0.005, 0.04)),
            "water": float(rng.uniform(0, 0.6)),
            **VIEWS.get(hard, {}),
        }
        drawn = render_colony(params, ViewOptions(**view), rng)
        grey = drawn.image.astype(np.float32) @ np.array([0.299, 0.587, 0.114], np.float32)
        valley = drawn.truth.valley_width_mm
        truth = (valley or drawn.truth.spacing_mm) * drawn.truth.px_per_mm
        yield Case(wanted, hard, grey / 255, truth, valley is not None)


def _judge(case: Case) -> Outcome:
    """Measure one case; a size of the wrong sort is an error without end."""
    found = measure_surface(case.image, Scale(1.0))
    if isinstance(found, Refused):
        return Outcome(case.kind, case.hard, refused=True, error=np.inf, held=False)
    size = found.valley_width if case.is_valley else found.spacing
    if size is None:
        return Outcome(case.kind, case.hard, refused=False, error=np.inf, held=False)
    held = size.low <= case.truth <= size.high
    error = abs(size.value / case.truth - 1)
    return Outcome(case.kind, case.hard, refused=False, error=error, held=held)


def _summary(name: str, outcomes: list[Outcome]) -> str:
    """One line of figures."""
    errors = np.array([o.error for o in outcomes])
    measured = [o for o in outcomes if not o.refused]
    held = np.mean([o.held for o in measured]) if measured else np.nan
    return (
        f"{name}: {len(outcomes)} pictures, median error {100 * np.median(errors):.2f} %, "
        f"90th percentile {100 * np.percentile(errors, 90, method='lower'):.1f} % "
        "(a refusal a miss), "
        f"refused {100 * np.mean([o.refused for o in outcomes]):.1f} %, "
        f"intervals hold {100 * held:.1f} %, "
        f"beyond 20 % {100 * np.mean([o.error > 0.2 for o in measured]):.1f} %"
    )


def _nothing_line(n: int) -> str:
    """How many pictures without a unit are accepted."""
    accepted = []
    for i in range(n):
        kind = NOTHING[i % len(NOTHING)]
        picture = make_nothing(kind, np.random.default_rng(SEED + 200_000 + i))
        if isinstance(measure_surface(picture.image, Scale(1.0)), Measured):
            accepted.append(kind)
    return f"no repeating unit: {len(accepted)} of {n} accepted (wanted 5 at most) {accepted}"


def _large_photo() -> list[str]:
    """One photo of 12 megapixels beside one real FFT of it, and the memory of the command."""
    picture = make_surface("cells", np.random.default_rng(SEED + 300_000), (750, 1000))
    large = np.kron(picture.image, np.ones((4, 4), np.float32))
    lines = []
    with tempfile.TemporaryDirectory() as folder:
        for ending in ("jpg", "png"):
            path = Path(folder) / f"photo.{ending}"
            Image.fromarray(np.round(large * 255).astype(np.uint8)).convert("RGB").save(path)
            seconds = best_seconds(lambda path=path: measure_photo(path, Scale(1.0)))
            one = best_seconds(lambda: scipy.fft.rfft2(large.astype(np.float64)))
            lines.append(
                f"12 megapixels as {ending}: {seconds:.2f} s, {seconds / one:.1f} times one "
                f"scipy.fft.rfft2 of it (wanted 6)"
            )
        command = [sys.executable, "-m", "corallum.cli", "measure", str(path)]
        subprocess.run([*command, "--mm-per-pixel", "1"], check=True, capture_output=True)
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return [*lines, f"memory of corallum measure on it: {peak:.0f} MB (wanted 1024)"]


def _growth_line() -> str:
    """Time and memory of a folder of photos at three sizes."""
    picture = make_surface("cells", np.random.default_rng(SEED + 400_000))
    image = Image.fromarray(np.round(picture.image * 255).astype(np.uint8))
    parts = []
    for n in (10, 40, 160):
        with tempfile.TemporaryDirectory() as folder:
            for i in range(n):
                image.save(Path(folder) / f"{i:03d}.png")
            command = [sys.executable, "-m", "corallum.cli", "measure", folder]
            began = perf_counter()
            subprocess.run([*command, "--mm-per-pixel", "1"], check=True, capture_output=True)
            parts.append((n, perf_counter() - began))
    start = (parts[0][1] * parts[2][0] - parts[2][1] * parts[0][0]) / (parts[2][0] - parts[0][0])
    each = [(seconds - start) / n for n, seconds in parts]
    said = ", ".join(f"{n} photos {e / each[0]:.2f}" for (n, _), e in zip(parts, each, strict=True))
    return f"time a photo, start-up taken off, over that of the first folder: {said}"


def bench_photo(n: int | None = None) -> list[str]:
    """Return lines of figures over ``n`` pictures, or CORALLUM_PHOTOS, or 300."""
    n = n or int(os.environ.get("CORALLUM_PHOTOS", "300"))
    own = [_judge(case) for case in _own_cases(n // 3)]
    drawn = [_judge(case) for case in _drawn_cases(n - n // 3)]
    both = own + drawn
    lines = [
        _summary("ordinary, all", [o for o in both if not o.hard]),
        _summary("ordinary, independent", [o for o in own if not o.hard]),
        _summary("ordinary, drawn", [o for o in drawn if not o.hard]),
        *(_summary(f"hard, {how}", [o for o in both if o.hard == how]) for how in HARD),
    ]
    lines += [
        _summary(f"  {kind}", [o for o in both if o.kind == kind and not o.hard])
        for kind in sorted({o.kind for o in both})
    ]
    return [*lines, _nothing_line(100), *_large_photo(), _growth_line()]


if __name__ == "__main__":
    for line in bench_photo():
        print(line)
