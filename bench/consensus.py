"""Consensus: a round of EM beside one of crowd-kit on the same labels, and growth in labels.

crowd-kit needs far more than the rest of these benchmarks, so it lives in an environment of
its own, with the packages crowd-kit, numpy, pandas, scikit-learn, tqdm, nltk, attrs and
pyarrow (crowd-kit itself without its dependencies). CORALLUM_CROWDKIT says which Python has
it; without that only our own time is told.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from corallum.observers.dawid_skene import Model, Priors, ReadingMatrix, draw_readings, run_em
from corallum.observers.dawid_skene import vote_shares as votes_of
from corallum.observers.readings import Readings
from measure import best_seconds

__all__ = ["bench_consensus"]

SEED = 20261125
ITEMS, EACH, LABELS, OBSERVERS = 100_000, 5, 60, 50
SIZES = (10_000, 100_000, 1_000_000)
# Rounds of crowd-kit timed: the difference is free of what is done once.
FEW, MANY = 2, 7
OTHER = Path(__file__).with_name("consensus_other.py")


def bench_consensus() -> list[str]:
    """Return lines of figures."""
    return [*_beside_crowd_kit(), *_growth()]


def _draw(n_items: int) -> Readings:
    """Draw readings: unequal prevalences, observers right in 55 to 90 %."""
    rng = np.random.default_rng(SEED)
    right = np.linspace(0.55, 0.9, OBSERVERS)
    matrices = np.repeat(((1 - right) / (LABELS - 1))[:, None, None], LABELS, axis=1)
    matrices = np.repeat(matrices, LABELS, axis=2)
    matrices[:, np.arange(LABELS), np.arange(LABELS)] = right[:, None]
    model = Model(rng.dirichlet(np.full(LABELS, 2.0)), matrices)
    item = np.repeat(np.arange(n_items), EACH)
    first = rng.integers(OBSERVERS, size=n_items)[:, None]
    observer = ((first + 7 * np.arange(EACH)) % OBSERVERS).ravel()
    _, label = draw_readings(model, item, observer, rng)
    names = (tuple(map(str, range(n))) for n in (n_items, OBSERVERS, LABELS))
    return Readings(*names, item, observer, label)


def _round_seconds(matrix: ReadingMatrix, rounds: int = 5) -> float:
    """Time one round, the work done once left out."""
    start = votes_of(matrix)
    run_em(matrix, start, Priors(), 1)
    return best_seconds(lambda: run_em(matrix, start, Priors(), rounds), 3) / rounds


def _beside_crowd_kit() -> list[str]:
    """Time a round of both and compare their posteriors after the same rounds."""
    readings = _draw(ITEMS)
    matrix = ReadingMatrix(readings)
    own = _round_seconds(matrix)
    size = f"consensus, {ITEMS:,} items x {EACH} labels x {LABELS} classes"
    python = os.environ.get("CORALLUM_CROWDKIT", "")
    if not Path(python).is_file():
        why = "CORALLUM_CROWDKIT names no Python that has crowd-kit: no comparison"
        return [f"{size}: {own:.3f} s a round; {why}"]
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "labels.npz", Path(folder) / "found.npz"
        np.savez(source, item=readings.item, observer=readings.observer, label=readings.label)
        command = [python, str(OTHER), str(source), str(target), str(FEW), str(MANY)]
        subprocess.run(command, check=True, stdout=sys.stderr)
        with np.load(target) as found:
            few, many = found["seconds"]
            posterior = found["posterior"]
    other = (many - few) / (MANY - FEW)
    fit = run_em(matrix, votes_of(matrix), Priors(), MANY)
    apart = float(np.abs(fit.posterior - posterior).max())
    return [
        f"{size}, one round of EM: {other / own:.0f} times as fast as crowd-kit (wanted 20), "
        f"{own:.3f} s beside {other:.2f} s",
        f"largest difference of any posterior after {MANY} rounds: {apart:.1e} (wanted 1e-4)",
    ]


def _growth() -> list[str]:
    """Time a round at three sizes."""
    lines, first = [], 0.0
    for size in SIZES:
        matrix = ReadingMatrix(_draw(size // EACH))
        rate = _round_seconds(matrix, 2) / size
        first = first or rate
        lines.append(
            f"consensus, {size:>9,} labels: {1e6 * rate:.3f} microseconds a label and round, "
            f"{rate / first:.2f} times that of {SIZES[0]:,}"
        )
    return lines


if __name__ == "__main__":
    for line in bench_consensus():
        print(line)
