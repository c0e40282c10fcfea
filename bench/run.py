"""Print every benchmark: ratios within this run, seconds only beside them."""

from __future__ import annotations

from batch import bench_batch
from corallum.actions.references import Library
from one import bench_one
from photo import bench_photo

__all__ = ["all_lines"]


def all_lines() -> list[str]:
    """Run all benchmarks."""
    compiled = Library().compiled
    return [*bench_one(compiled), *bench_batch(compiled), *bench_photo()]


if __name__ == "__main__":
    for line in all_lines():
        print(line)
