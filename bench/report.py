"""A report of a large survey as a PDF, beside the estimate that it holds.

Run with ``python bench/report.py``, ``--sites 50`` for a look. Sites, observers and records are
invented: two surveys of the same transects by points, of 60 genera, a tenth read again.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

# As the command itself has it, which is too late once numpy is there.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np  # reads the number of threads when imported

from corallum.actions.people import AddPerson, add_person, list_people
from corallum.actions.places import AddSite, add_site
from corallum.actions.programme_reference import programme_library
from corallum.actions.programmes import CreateProgramme, create_programme, open_programme
from corallum.actions.record_readings import (
    DrawReadings,
    ReadRecord,
    draw_readings,
    read_record,
    reading_state,
)
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_estimates import EstimateQuestion, estimate_survey
from corallum.actions.survey_plans import PlanSurvey, SurveyView, plan_survey
from corallum.cli.main import app
from corallum.records.survey import Effort, Line, Stratum
from corallum.store.programme import Programme

__all__ = ["bench_report"]

SEED = 46
SITES, GENERA, TRANSECTS, POINTS = 200, 60, 2, 50
AGAIN = 0.1
WANTED_S = 20
REGION = "indo_pacific"
NOW = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)


class _Maker:
    """Writes an invented programme through the program's own actions."""

    def __init__(self, folder: Path, sites: int) -> None:
        self.rng = np.random.default_rng(SEED)
        self.ticks = 0
        command = CreateProgramme("Invented reserve", (REGION,), "Lead")
        self.programme: Programme = create_programme(folder, command, NOW, self.rng)
        self.lead = list_people(self.programme)[0].id
        self.people = [
            add_person(self.programme, AddPerson(f"Observer {k}", "observer"), *self._by()).id
            for k in range(1, 5)
        ]
        self.sites = [
            add_site(
                self.programme,
                AddSite(f"Site {k}", REGION, 0.05 * (k % 20), 150 + 0.05 * (k // 20)),
                *self._by(),
            ).id
            for k in range(1, sites + 1)
        ]  # fmt: skip
        every = programme_library(self.programme).reference.entries.genera
        listed = [name for name, one in every.items() if REGION in one.regions]
        self.genera = listed[:GENERA]
        self.shares = self.rng.dirichlet(np.full(GENERA, 0.6))

    def _by(self, person: str = "") -> tuple[datetime, np.random.Generator, str]:
        self.ticks += 1
        return NOW + timedelta(seconds=self.ticks), self.rng, person or self.lead

    def survey(self, name: str, follows: str | None) -> SurveyView:
        """Plan a survey, write all its slates, and have a tenth read again."""
        cuts = np.array_split(np.array(self.sites), 3)
        strata = tuple(
            Stratum(f"Stratum {k}", float(4 - k), tuple(part.tolist()))
            for k, part in enumerate(cuts, 1)
        )
        plan = PlanSurvey(
            name, "point_intercept", strata, TRANSECTS, Effort(points=POINTS), tuple(self.people),
            follows=follows, same_transects=follows is not None,
        )  # fmt: skip
        view = plan_survey(self.programme, plan, *self._by())
        for k, transect in enumerate(view.transects):
            command = WriteSlate(transect.id, self._lines(), depth_m=5.0)
            write_slate(self.programme, command, *self._by(self.people[k % 2]))
        drawn = draw_readings(self.programme, DrawReadings(view.event.id, AGAIN), *self._by())
        lines = reading_state(self.programme, view.event.id).lines
        for slate, line in drawn.records:
            true = lines[slate, line].label
            if true in self.genera and self.rng.random() < 0.1:
                true = self.genera[int(self.rng.integers(GENERA))]
            read = ReadRecord(slate, line, true)
            read_record(self.programme, read, *self._by(self.people[3]))
        return view

    def _lines(self) -> tuple[Line, ...]:
        """Return the points of one transect, a third of them coral."""
        coral = self.rng.random(POINTS) < 0.35
        named = self.rng.choice(GENERA, POINTS, p=self.shares)
        return tuple(
            Line(self.genera[g], self.genera[g], "genus", point=k) if c
            else Line("sand", "sand", "other", point=k)
            for k, (c, g) in enumerate(zip(coral.tolist(), named.tolist(), strict=True), 1)
        )  # fmt: skip


def bench_report(sites: int = SITES) -> list[str]:
    """Return lines of seconds and ratios."""
    with tempfile.TemporaryDirectory() as parent:
        folder = Path(parent) / "p"
        start = time.perf_counter()
        maker = _Maker(folder, sites)
        before = maker.survey("Before (invented)", None)
        after = maker.survey("After (invented)", before.event.id)
        maker.programme.close()
        made = time.perf_counter() - start
        lines = []
        for errors in (False, True):
            target = Path(parent) / f"report{errors}.pdf"
            whole = _command(folder, target, errors=errors)
            alone = _estimate(folder, after.event.id, errors=errors)
            kind = "second readings and observers' errors" if errors else "second readings"
            size = target.stat().st_size / 1000
            lines.append(
                f"report as PDF, {sites} sites, {GENERA} genera, corrected by {kind}, with the "
                f"change since the survey before: {whole[0]:.1f} s, {whole[1]:.1f} s of processor "
                f"(wanted {WANTED_S} at most); the estimate alone {alone[0]:.2f} s, "
                f"{alone[1]:.2f} s of processor, ratio {whole[1] / alone[1]:.1f}; {size:.0f} kB; "
                f"surveys written in {made:.0f} s"
            )
    return lines


def _command(folder: Path, target: Path, *, errors: bool) -> tuple[float, float]:
    """Time the whole command in this process."""
    words = ["report", str(folder), "--survey", "After (invented)", "--out", str(target)]
    return _timed(lambda: app(words + ["--errors"] * errors, standalone_mode=False))


def _estimate(folder: Path, survey: str, *, errors: bool) -> tuple[float, float]:
    """Time the estimate of the survey, its strata and sites alone."""
    programme = open_programme(folder)
    question = EstimateQuestion(survey, errors=errors)
    spent = _timed(lambda: estimate_survey(programme, question))
    programme.close()
    return spent


def _timed(work: Callable[[], object]) -> tuple[float, float]:
    """Return seconds, and seconds of processor: the machine may be busy with other work."""
    start, used = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - start, time.process_time() - used


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=SITES)
    for line in bench_report(parser.parse_args().sites):
        print(line)
