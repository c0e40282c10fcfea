"""Surveys of known truth: how often intervals hold it, what change is false, and how fast.

Run with ``python bench/surveys.py``, ``--surveys 100`` for a look; a thousand take about five
minutes on two cores. Reefs, observers and surveys are invented; every survey has a reef of
its own. The same seed gives the same figures, however many processes share the work.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path

# Every process has one thread for matrices: they share the cores as it is.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.append(str(Path(__file__).resolve().parent.parent / "tests"))

import numpy as np  # reads the number of threads when imported
from rich.progress import Progress, TaskID

from corallum.estimate.bayes_correction import correct_by_errors, said_counts
from corallum.estimate.identification_share import correct_cover
from measure import best_seconds
from simulated_surveys import (
    NOT_CORAL,
    Making,
    draw_observers,
    draw_reef,
    lay_transects,
    read_again,
    read_transects,
)
from survey_study import (
    SEED,
    Flags,
    Outcome,
    join,
    pool_rare,
    study_survey,
    transect_cover,
)

__all__ = ["bench_surveys"]

SURVEYS = 1000
SIZES = (50, 100, 200)
PRACTISED = 200
# Bands of the share of all corals; the first is promised nothing.
BANDS = ((0.02, 1.0), (0.02, 0.05), (0.05, 0.1), (0.1, 1.0), (0.0, 0.02))
WANTED = {
    "holds": "93 to 97 %",
    "same_transects": "6.4 % at most",
    "new_transects": "6.4 % at most",
}
COVERAGES = {
    "holds": "corrected",
    "uncorrected_holds": "uncorrected",
    "erring_holds": "corrected, 3 % of second readings wrong",
    "unlinked": "corrected, transects of second readings not known",
    "names_left_out": "corrected, variance of second readings left out",
    "favoured_holds": "corrected, wrong records five times as likely to be read again",
}
ESTIMATES = {
    "corrected": "corrected",
    "uncorrected": "uncorrected",
    "erring": "3 % of second readings wrong",
    "favoured": "wrong records five times as likely to be read again",
}
CHANGES = {
    "same_transects": "same transects, corrected",
    "uncorrected_same": "same transects, uncorrected",
    "new_transects": "new transects, corrected",
    "uncorrected_new": "new transects, uncorrected",
}


@dataclass(frozen=True, slots=True)
class Share:
    """A share of intervals in per cent, its standard error over surveys, and the worst genus."""

    n: int
    share: float
    error: float
    worst_genus: int
    worst: float
    worst_n: int


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds of both corrections: the first at its best of five, the second with its sweeps."""

    sites: int
    records: int
    by_readings: float
    by_errors: float
    sweeps: int


def bench_surveys(surveys: int = SURVEYS, seed: int = SEED) -> list[str]:
    """Return lines of figures."""
    found = run_study(surveys, seed)
    return [*_study_lines(found, seed), *_speed_lines(time_corrections(seed))]


def run_study(surveys: int, seed: int) -> Outcome:
    """Study surveys on all cores."""
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(os.cpu_count(), context) as pool, Progress(transient=True) as bar:
        task = bar.add_task("surveys", total=surveys)
        done = []
        for one in pool.map(partial(study_survey, seed=seed), range(surveys), chunksize=5):
            done.append(one)
            bar.advance(task)
    return join(done)


def time_corrections(seed: int) -> list[Timing]:
    """Time both corrections at three sizes, 60 genera each."""
    found = []
    with Progress(transient=True) as bar:
        for sites in SIZES:
            task = bar.add_task(f"{sites} sites", total=2.0)
            found.append(_time_size(sites, seed, partial(_tell, bar, task)))
    return found


def _tell(bar: Progress, task: TaskID, done: float) -> None:
    """Move a bar."""
    bar.update(task, completed=done)


def _time_size(sites: int, seed: int, progress: Callable[[float], None]) -> Timing:
    """Time a survey of so many sites, one transect each."""
    rng = np.random.default_rng([seed, sites])
    first, second = round(0.4 * sites), round(0.35 * sites)
    reef = draw_reef(rng, Making(transects=(first, second, sites - first - second)))
    observers = draw_observers(reef, rng)
    survey = read_transects(reef, lay_transects(reef, rng), observers, rng)
    again = read_again(survey, rng)
    cover = transect_cover(survey)
    readings = pool_rare(again)
    by_readings = best_seconds(lambda: correct_cover(cover, readings, rng, progress=progress))
    cells = np.argwhere(again)
    records = np.repeat(cells, again[tuple(cells.T)], axis=0)
    # What practice tells: so many answers of each observer and genus, right on average.
    rows = PRACTISED * observers[:, : NOT_CORAL + 1] + 0.1
    counts = said_counts(survey.said, None, survey.observer, records)
    start = time.perf_counter()
    bayes = correct_by_errors(counts, rows, rng, progress=lambda done: progress(1 + done))
    by_errors = time.perf_counter() - start
    n = int(survey.searched.sum())
    return Timing(sites, n, by_readings, by_errors, bayes.sweeps)


def share_of(flags: Flags, among: Flags) -> Share:
    """Return the share of flags among some genera of each survey, surveys being the units."""
    n, hits = among.sum(axis=1), (flags & among).sum(axis=1)
    share = hits.sum() / n.sum()
    error = np.sqrt(((hits - share * n) ** 2).sum()) / n.sum()
    of_genus = among.sum(axis=0)
    often = of_genus >= len(flags) / 5
    if not often.any():
        return Share(int(n.sum()), 100 * share, 100 * error, -1, np.nan, 0)
    each = np.where(often, (flags & among).sum(axis=0) / np.maximum(of_genus, 1), np.nan)
    return Share(int(n.sum()), 100 * share, 100 * error, *_worst(each, of_genus, share))


def _worst(each: np.ndarray, n: np.ndarray, share: float) -> tuple[int, float, int]:
    """Genus with the lowest coverage, or the most false change."""
    at = int(np.nanargmin(each) if share > 0.5 else np.nanargmax(each))
    return at, 100 * float(each[at]), int(n[at])


def biases(found: Outcome, among: Flags) -> dict[str, float]:
    """Return mean errors in per cent of the mean truth, their standard errors and ratios.

    Errors are counted from what perfect names would have made of the same transects, which
    is right on average and takes the noise of the reef away.
    """
    told: dict[str, float] = {}
    size = found.truth[among].mean() * among.sum()
    for name in ESTIMATES:
        error = np.where(among, getattr(found, name) - found.perfect, 0).sum(axis=1)
        told[name] = float(100 * error.sum() / size)
        told[f"{name} error"] = float(100 * error.std(ddof=1) * np.sqrt(len(error)) / size)
    told["ratio"] = abs(told["corrected"] / told["uncorrected"])
    return told


def worst_bias(found: Outcome, among: Flags) -> tuple[int, float, int]:
    """Return the genus with the highest ratio of mean errors, the ratio, and its surveys."""
    n = among.sum(axis=0)
    often = np.flatnonzero(n >= len(among) / 5)
    ratios = []
    for g in often.tolist():
        own, other = (
            (getattr(found, k) - found.perfect)[among[:, g], g].mean()
            for k in ("corrected", "uncorrected")
        )
        ratios.append(abs(own / other))
    at = int(np.argmax(ratios))
    return int(often[at]), float(ratios[at]), int(n[often[at]])


def figures(found: Outcome) -> dict[str, object]:
    """Return all figures of a study."""
    names = [*COVERAGES, *CHANGES]
    bands: dict[str, object] = {}
    for low, high in BANDS:
        among = (found.share >= low) & (found.share < high)
        part: dict[str, object] = {
            name: asdict(share_of(getattr(found, name), among)) for name in names
        }
        if low:
            part["bias"] = biases(found, among)
        bands[f"{low:g} to {high:g}"] = part
    met = (found.share < BANDS[0][0]) & (found.corrected > 0)
    bands["below 0.02, found"] = {
        name: asdict(share_of(getattr(found, name), met)) for name in names
    }
    return bands


def _study_lines(found: Outcome, seed: int) -> list[str]:
    """Figures of the study."""
    common = found.common
    n = len(found.truth)
    lines = [
        f"{n} invented surveys, seed {seed}: genera of 2 % of corals or more, "
        f"{common.sum() / n:.1f} a survey (standard error over surveys)"
    ]
    for title, names in (("95 % intervals that hold the truth", COVERAGES),
                         ("change found though only observers changed", CHANGES)):  # fmt: skip
        lines.append(f"{title}:")
        lines += [
            _share_line(text, getattr(found, name), common, WANTED.get(name))
            for name, text in names.items()
        ]
    lines += _bias_lines(found, common)
    for low, high in BANDS[1:]:
        among = (found.share >= low) & (found.share < high)
        lines.append(
            _band_line(f"genera of {100 * low:g} to {100 * high:g} % of corals", found, among)
        )
    met = ~common & (found.corrected > 0)
    lines.append(_band_line("genera below 2 % that were found", found, met))
    return lines


def _bias_lines(found: Outcome, among: Flags) -> list[str]:
    """Mean errors."""
    bias = biases(found, among)
    lines = ["mean error in per cent of cover, from what perfect names had made of the transects:"]
    lines += [
        f"  {text}: {bias[name]:+.2f} % ({bias[f'{name} error']:.2f})"
        for name, text in ESTIMATES.items()
    ]
    genus, ratio, n = worst_bias(found, among)
    lines.append(
        f"  corrected {bias['ratio']:.3f} times the uncorrected (wanted below 0.2); "
        f"worst genus {ratio:.3f} times, genus {genus} of {n} surveys"
    )
    return lines


def _share_line(text: str, flags: Flags, among: Flags, wanted: str | None) -> str:
    """One share, its error and the worst genus."""
    one = share_of(flags, among)
    worst = f"; worst genus {one.worst:.1f} % of {one.worst_n}" if one.worst_n else ""
    goal = f" (wanted {wanted})" if wanted else ""
    return f"  {text}: {one.share:.1f} % ({one.error:.1f}) of {one.n:,}{worst}{goal}"


def _band_line(title: str, found: Outcome, among: Flags) -> str:
    """Figures of genera of one share of corals, nothing promised."""
    if not among.any():
        return f"{title}: none"
    one, other = share_of(found.holds, among), share_of(found.uncorrected_holds, among)
    change = share_of(found.same_transects, among)
    width = np.median(found.width[among] / found.truth[among])
    return (
        f"{title}, {one.n:,}: intervals hold {one.share:.1f} % corrected, {other.share:.1f} % "
        f"uncorrected; false change {change.share:.1f} %; median width {width:.2f} times the truth"
    )


def _speed_lines(found: list[Timing]) -> list[str]:
    """Table of times at three sizes."""
    lines = ["60 genera      records  by readings   times  by errors  sweeps  ms a sweep   times"]
    first = found[0]
    for one in found:
        sweep = 1000 * one.by_errors / one.sweeps
        own = sweep / (1000 * first.by_errors / first.sweeps)
        lines.append(
            f"{one.sites:>4} sites  {one.records:>10,} {one.by_readings:>10.2f} s "
            f"{one.by_readings / first.by_readings:>7.2f} {one.by_errors:>8.1f} s {one.sweeps:>7} "
            f"{sweep:>11.1f} {own:>7.2f}"
        )
    return lines


def main() -> None:
    """Read the command line and print figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--surveys", type=int, default=SURVEYS)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--no-speed", action="store_true", help="leave the timing out")
    parser.add_argument("--json", action="store_true", help="print figures as JSON")
    given = parser.parse_args()
    found = run_study(given.surveys, given.seed)
    times = [] if given.no_speed else time_corrections(given.seed)
    if given.json:
        told = {"seed": given.seed, "surveys": given.surveys, "shares": figures(found)}
        print(json.dumps({**told, "speed": [asdict(one) for one in times]}, indent=1))
        return
    for line in [*_study_lines(found, given.seed), *(_speed_lines(times) if times else [])]:
        print(line)


if __name__ == "__main__":
    main()
