"""A survey of a million records as an archive of Darwin Core: seconds, and memory as it grows.

Run with ``python bench/archive.py``, ``--records 100000`` for a look. The survey is invented
and written in bulk. Each size is exported by a process of its own, whose peak is its own.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import resource
import sqlite3
import tempfile
import time
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from corallum.actions.export_survey import ExportSurvey, export_survey
from corallum.actions.people import list_people
from corallum.actions.places import AddSite, add_site
from corallum.actions.programmes import CreateProgramme, create_programme, open_programme
from corallum.actions.survey_plans import PlanSurvey, find_survey, plan_survey
from corallum.records.survey import Effort, Stratum
from corallum.store.programme import Programme

__all__ = ["bench_archive"]

SEED = 45
RECORDS = 1_000_000
WANTED_S, WANTED_GROWTH = 90.0, 1.5
NOW = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
_GENERA = ("Acropora", "Porites", "Favites", "Montipora", "Pocillopora", "Dipsastraea")
_OTHER = ("rock", "sand", "turf algae")
_SITES, _TRANSECTS, _PER_SLATE = 20, 20, 100
_KILOBYTE = 1024


def _lines(rng: np.random.Generator) -> str:
    """Return the lines of one slate: two in three are coral."""
    ends = np.cumsum(rng.integers(2, 40, _PER_SLATE))
    starts = np.concatenate([[0], ends[:-1]])
    coral = rng.random(_PER_SLATE) < 2 / 3
    genus = rng.integers(len(_GENERA), size=_PER_SLATE)
    other = rng.integers(len(_OTHER), size=_PER_SLATE)
    return json.dumps([
        {"said": _GENERA[g], "label": _GENERA[g], "kind": "genus", "from_cm": a, "to_cm": b,
         "diameter_cm": b - a}
        if met else
        {"said": _OTHER[o], "label": _OTHER[o], "kind": "other", "from_cm": a, "to_cm": b}
        for g, o, a, b, met in zip(
            genus.tolist(), other.tolist(), starts.tolist(), ends.tolist(), coral.tolist(),
            strict=True,
        )
    ])  # fmt: skip


def _make(folder: Path, records: int) -> None:
    """Make a programme with one survey, its slates written in bulk, without their history."""
    rng = np.random.default_rng(SEED)
    by = (NOW, rng)
    programme = create_programme(folder, CreateProgramme("Bench", ("red_sea",), "Lead"), *by)
    lead = list_people(programme)[0].id
    sites = tuple(
        add_site(programme, AddSite(f"Site {i}", "red_sea", 0.1, 150.1), *by, lead).id
        for i in range(_SITES)
    )
    plan = PlanSurvey("Bench", "line_intercept", (Stratum("all", 1.0, sites),), _TRANSECTS,
                      Effort(2000))  # fmt: skip
    view = plan_survey(programme, plan, *by, lead)
    _fill(programme, view.event.id, [one.id for one in view.transects], lead, records)
    programme.close()


def _fill(programme: Programme, survey: str, transects: list[str], lead: str, records: int) -> None:
    """Write slates and their lines in bulk."""
    rng = np.random.default_rng(SEED)
    kinds = [_lines(rng) for _ in range(50)]
    with closing(sqlite3.connect(programme.folder / "corallum.db")) as database:
        database.execute("PRAGMA foreign_keys = OFF")
        (first,) = database.execute("SELECT max(id) FROM history").fetchone()
        for i in range(records // _PER_SLATE):
            slate, text = first + 1 + i, kinds[i % len(kinds)]
            database.execute(
                "INSERT INTO history VALUES (?, ?, ?, 'write slate', NULL, '{}', NULL, '', '')",
                (slate, "2026-06-01T08:00:00.000000Z", lead),
            )
            database.execute(
                "INSERT INTO slate (history, survey, transect, method, observer, date, depth_m, "
                "effort, lines, source, note) VALUES (?, ?, ?, 'line_intercept', ?, "
                "'2026-06-01', 7.5, '{\"length_cm\": 2000}', ?, 'typed', '')",
                (slate, survey, transects[i % len(transects)], lead, text),
            )
            database.executemany(
                "INSERT INTO survey_record (slate, line, survey, site, transect, year, label, "
                "kind, form, amount, count, stands) VALUES (?, ?, ?, '', ?, 2026, ?, ?, '', 1, "
                "1, 1)",
                [(slate, n, survey, transects[i % len(transects)], one["label"], one["kind"])
                 for n, one in enumerate(json.loads(text), start=1)],
            )  # fmt: skip
        database.commit()


def _export(
    folder: Path, target: Path, answer: multiprocessing.Queue[tuple[float, float, int]]
) -> None:
    """Export once; tell seconds, those of the processor, and the peak of memory, kilobytes."""
    programme = open_programme(folder)
    start, busy = time.perf_counter(), time.process_time()
    export_survey(programme, ExportSurvey(find_survey(programme, "Bench"), target), NOW)
    seconds, cpu = time.perf_counter() - start, time.process_time() - busy
    programme.close()
    answer.put((seconds, cpu, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))


def bench_archive(records: int = RECORDS) -> list[str]:
    """Return lines of seconds and peaks, at a tenth, a third and all of the records."""
    context = multiprocessing.get_context("spawn")
    lines, peaks = [], []
    for n in (records // 10, records // 3, records):
        with tempfile.TemporaryDirectory() as folder:
            _make(Path(folder) / "p", n)
            target = Path(folder) / "bench.zip"
            answer: multiprocessing.Queue[tuple[float, float, int]] = context.Queue()
            run = context.Process(target=_export, args=(Path(folder) / "p", target, answer))
            run.start()
            seconds, cpu, peak = answer.get()
            run.join()
            size = target.stat().st_size
        peaks.append(peak)
        lines.append(
            f"archive of {n:,} records: {seconds:.1f} s ({seconds / n * 1e6:.1f} s a million), "
            f"{cpu:.1f} s of them the processor's, peak {peak / _KILOBYTE:.0f} MB, zip "
            f"{size / 1e6:.0f} MB"
        )
    lines.append(
        f"wanted: {WANTED_S:.0f} s a million at most; peak of all over a tenth: "
        f"{peaks[-1] / peaks[0]:.2f} (wanted {WANTED_GROWTH} at most)"
    )
    return lines


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--records", type=int, default=RECORDS)
    for line in bench_archive(parser.parse_args().records):
        print(line)
