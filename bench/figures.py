"""Write ``docs/figures.md``: every figure of the checks and benchmarks, with seed and commit."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from corallum.actions.references import Library, summarise
from run import all_lines

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "figures.md"
SEED = 20261125

REPORTS = (
    ("Which pairs the water cannot separate", ["limits", "--region", "indo_pacific"]),
    ("Where the reference fails, Indo-Pacific", ["assess", "--region", "indo_pacific"]),
    ("Where the reference fails, Atlantic", ["assess", "--region", "atlantic"]),
)


def main() -> None:
    """Run everything and write the page."""
    commit = _output(["git", "rev-parse", "--short", "HEAD"]).strip()
    tests = [sys.executable, "-m", "pytest", "-q", "-s", "-p", "no:randomly",
             "-m", "calibration or not calibration",
             "tests/published", "tests/calibration"]  # fmt: skip
    lines = _output(tests).splitlines()
    checks = [line for line in lines if ": " in line]
    summary = summarise(Library())
    parts = [
        "# Figures",
        "",
        f"Written by `make figures`, seed {SEED}, on top of commit {commit}, reference "
        f"{summary.hash[:12]}. Times swing with the machine: read the ratios.",
        "",
        "## The reference",
        "",
        f"- {summary.genera} genera, {summary.forms} forms, {summary.characters} characters, "
        f"{summary.values:,} values.",
        f"- Filled, seen in the water or with a lens: {summary.filled} of {summary.cells} cells.",
        f"- {len(summary.several_forms)} genera have several forms: "
        f"{', '.join(summary.several_forms)}.",
        "",
        "## Checks",
        "",
        "```text",
        *checks,
        "```",
        "",
        "## Speed",
        "",
        "```text",
        *all_lines(),
        "```",
    ]
    for title, command in REPORTS:
        full = [sys.executable, "-m", "corallum.cli", "reference", *command]
        text = _output(full).rstrip()
        parts += ["", f"## {title}", "", "```text", text, "```"]
    PAGE.write_text("\n".join(parts) + "\n", encoding="utf-8")
    print(f"wrote {PAGE.relative_to(ROOT)}")


def _output(command: list[str]) -> str:
    """Run a command in the checkout and return what it prints."""
    run = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True,
                         env={**os.environ, "COLUMNS": "100"})  # fmt: skip
    return run.stdout


if __name__ == "__main__":
    main()
