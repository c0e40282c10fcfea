"""Millions of survey records added up by genus, site and year, beside the bare query.

Run with ``python bench/survey_sums.py``, ``--records 500000`` for a look. The records are
invented and written in bulk, in shuffled order.
"""

from __future__ import annotations

import argparse
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from corallum.actions.programmes import CreateProgramme, create_programme
from corallum.actions.survey_sums import sum_surveys
from corallum.store.programme import Programme
from measure import median_seconds

__all__ = ["bench_survey_sums"]

SEED = 44
RECORDS = 5_000_000
GENERA, SITES, YEARS = 60, 200, 12
WANTED = 1.5
NOW = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
_AT_ONCE = 200_000
_PER_SLATE = 100
_BARE = (
    "SELECT label, site, year, sum(amount), count(*) FROM survey_record WHERE stands = 1 "
    "GROUP BY label, site, year"
)


def _rows(records: int, rng: np.random.Generator) -> Iterator[list[tuple[object, ...]]]:
    """Yield invented records, a batch at a time."""
    genera = [f"Genus{i:02d}" for i in range(GENERA)]
    shares = rng.dirichlet(np.full(GENERA, 0.3))
    for start in range(0, records, _AT_ONCE):
        n = min(_AT_ONCE, records - start)
        label = rng.choice(GENERA, n, p=shares)
        amount = rng.exponential(12.0, n).round(1)
        slate = np.arange(start, start + n) // _PER_SLATE
        line = np.arange(start, start + n) % _PER_SLATE + 1
        # A slate is of one site and year, as on the reef, but sites come in any order.
        site, year = (slate * 7919) % SITES, 2010 + (slate * 104729 // 7) % YEARS
        yield [
            (s, k, "survey", f"site{p:03d}", f"transect{s}", y, genera[g], "genus", "", a, 1, 1)
            for s, k, p, y, g, a in zip(
                slate.tolist(), line.tolist(), site.tolist(), year.tolist(), label.tolist(),
                amount.tolist(), strict=True,
            )
        ]  # fmt: skip


def _fill(programme: Programme, records: int) -> None:
    """Write records in bulk: the slates they are of are left out."""
    rng = np.random.default_rng(SEED)
    with closing(sqlite3.connect(programme.folder / "corallum.db")) as database:
        database.execute("PRAGMA foreign_keys = OFF")
        for batch in _rows(records, rng):
            database.executemany(
                "INSERT INTO survey_record (slate, line, survey, site, transect, year, label, "
                "kind, form, amount, count, stands) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                batch,
            )
            database.commit()
        database.execute("ANALYZE")
        database.commit()


def _bare(database: sqlite3.Connection) -> list[tuple[object, ...]]:
    """Run the query as the engine's own shell would."""
    return database.execute(_BARE).fetchall()


def bench_survey_sums(records: int = RECORDS) -> list[str]:
    """Return lines of seconds and ratios, at a tenth, a third and all of the records."""
    lines = []
    for n in (records // 10, records // 3, records):
        with tempfile.TemporaryDirectory() as folder:
            command = CreateProgramme("Invented reserve", ("red_sea",), "Lead")
            rng = np.random.default_rng(SEED)
            programme = create_programme(Path(folder) / "p", command, NOW, rng)
            start = time.perf_counter()
            _fill(programme, n)
            filled = time.perf_counter() - start
            path = programme.folder / "corallum.db"
            # Both keep their connection, and what it has read.
            with closing(sqlite3.connect(path)) as database:
                same = sorted(map(tuple, sum_surveys(programme))) == sorted(_bare(database))
                ours = median_seconds(lambda p=programme: sum_surveys(p), 7)
                bare = median_seconds(lambda d=database: _bare(d), 7)
            programme.close()
        lines.append(
            f"survey sums, {n:,} records by genus, site and year: {ours:.2f} s, bare query "
            f"{bare:.2f} s, ratio {ours / bare:.2f} (wanted {WANTED} at most); "
            f"{ours / n * 1e6:.2f} s a million; the same sums: {'yes' if same else 'NO'}; "
            f"written in {filled:.0f} s"
        )
    return lines


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--records", type=int, default=RECORDS)
    for line in bench_survey_sums(parser.parse_args().records):
        print(line)
