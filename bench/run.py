"""Print every benchmark: ratios within this run, seconds only beside them."""

from __future__ import annotations

from archive import bench_archive
from batch import bench_batch
from consensus import bench_consensus
from corallum.actions.references import Library
from learners import bench_learners
from one import bench_one
from photo import bench_photo
from report import bench_report
from store import bench_store
from survey_sums import bench_survey_sums
from surveys import bench_surveys
from web import bench_web

__all__ = ["all_lines"]


def all_lines() -> list[str]:
    """Run all benchmarks."""
    compiled = Library().compiled
    lines = [*bench_one(compiled), *bench_batch(compiled), *bench_photo()]
    lines += [*bench_consensus(), *bench_learners(50)]
    lines += [*bench_surveys(60), *bench_survey_sums(), *bench_archive(), *bench_report()]
    return [*lines, *bench_store(), *bench_web()]


if __name__ == "__main__":
    for line in all_lines():
        print(line)
