"""One colony: an answer with everything in it, and the command from a cold start."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np

from corallum.model.answer import Determiner
from corallum.model.compiled import CompiledReference
from corallum.model.evidence import batch, read_colony
from corallum.model.posterior import posterior
from corallum.model.prior import genus_prior
from corallum.records.colony import Colony, SizeReport, StateReport
from measure import best_seconds, median_seconds

__all__ = ["bench_one"]

EXAMPLE = Path(__file__).resolve().parent.parent / "docs" / "examples" / "colony.json"

COLONIES = {
    "nothing reported": {},
    "two reports": {
        "growth_form": StateReport(("massive",)),
        "corallite_arrangement": StateReport(("cerioid",)),
    },
    "ten reports": {
        "growth_form": StateReport(("massive", "encrusting")),
        "corallite_arrangement": StateReport(("plocoid",)),
        "calice_diameter_mm": SizeReport(7.5, 5, "ruler"),
        "columella": StateReport(("spongy",), sure=False),
        "septal_teeth": StateReport(("fine",)),
        "corallite_relief": StateReport(("conical",)),
        "budding": StateReport(("within_calice",)),
        "tissue": StateReport(("moderate",)),
        "day_expansion": StateReport(("retracted",)),
        "depth_m": SizeReport(12, 1, "ruler"),
    },
}


def bench_one(compiled: CompiledReference) -> list[str]:
    """Return lines of figures."""
    determiner = Determiner(compiled)
    lines = []
    for name, observations in COLONIES.items():
        colony = Colony("c", observations, "indo_pacific")
        determiner.determine(colony)
        whole = median_seconds(lambda colony=colony: determiner.determine(colony))
        evidence = batch(compiled, [read_colony(compiled, colony)])
        prior = genus_prior(compiled, "indo_pacific")
        bare = median_seconds(
            lambda evidence=evidence, prior=prior: posterior(determiner.kernel, evidence, prior)
        )
        lines.append(
            f"one answer, {name}: {1000 * whole:.1f} ms median (wanted 50), "
            f"{whole / bare:.0f} times its bare posterior"
        )
    return lines + _cold_start()


def _cold_start() -> list[str]:
    """Time the command from nothing, beside an interpreter that only imports numpy."""
    command = [sys.executable, "-m", "corallum.cli", "determine", str(EXAMPLE), "--json"]
    cold = best_seconds(lambda: subprocess.run(command, check=True, capture_output=True), 5)
    bare = [sys.executable, "-c", "import numpy"]
    numpy = best_seconds(lambda: subprocess.run(bare, check=True), 5)
    version = np.__version__
    return [
        f"cold start of corallum determine: {cold:.2f} s (wanted 1.5), "
        f"{cold / numpy:.1f} times an interpreter that imports numpy {version}"
    ]
