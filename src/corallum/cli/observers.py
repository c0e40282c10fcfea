"""``corallum observers ...``."""

from __future__ import annotations

import json
import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["observers"]

observers = typer.Typer(
    help="Ask how far observers agree, what each errs on, and what they say together.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


class LevelChoice(StrEnum):
    """What a difference between two labels means."""

    NOMINAL = "nominal"
    ORDINAL = "ordinal"
    INTERVAL = "interval"
    RATIO = "ratio"


class Weights(StrEnum):
    """How a disagreement counts by its steps."""

    NONE = "none"
    LINEAR = "linear"
    QUADRATIC = "quadratic"


class Keep(StrEnum):
    """Which end of several starts to keep."""

    VOTES = "votes"
    BEST = "best"


File = Annotated[
    str, typer.Argument(help="CSV with item, observer and label; - for standard input.")
]
AsJson = Annotated[bool, typer.Option("--json", help="JSON instead of tables.")]
Seed = Annotated[int, typer.Option(min=0, help="Seed of what is drawn.")]
MostMb = Annotated[int, typer.Option(min=1, help="Largest file to read, in MB.")]


@observers.command()
def agreement(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    file: File,
    as_json: AsJson = False,
    level: Annotated[
        LevelChoice, typer.Option(help="What a difference between labels means, for alpha.")
    ] = LevelChoice.NOMINAL,
    weights: Annotated[
        Weights, typer.Option(help="Weighted kappa of two observers, labels being in order.")
    ] = Weights.NONE,
    order: Annotated[
        str | None, typer.Option(help='Labels in their order: "low,middle,high"; else sorted.')
    ] = None,
    draws: Annotated[
        int, typer.Option(min=0, max=100_000, help="Samples of items for the interval of alpha.")
    ] = 1000,
    seed: Seed = 1,
    most_mb: MostMb = 64,
) -> None:
    """Tell how far observers agree; exit 1 where no coefficient can be reckoned.

    Example: corallum observers agreement readings.csv
    """
    import numpy as np  # noqa: PLC0415  scipy behind it is slow to start

    from corallum.actions import agreement as actions  # noqa: PLC0415  scipy is slow to start
    from corallum.cli.progress import progress_bar  # noqa: PLC0415  beside it

    readings = actions.open_readings(file, sys.stdin.buffer, most_mb)
    question = actions.AgreementQuestion(level.value, weights.value, order, draws)
    with progress_bar("drawing items anew") as step:
        found = actions.agreement_of(readings, question, np.random.default_rng(seed), step)
    if as_json:
        from corallum.exchange.observer_answers import agreement_object  # noqa: PLC0415

        print(json.dumps(agreement_object(found)))
    else:
        from corallum.cli.observers_page import print_agreement  # noqa: PLC0415  rich is slow

        print_agreement(found)
    values = [found.cohen.value, found.fleiss.value, found.alpha.value, found.ac1.value]
    raise typer.Exit(1 if values == [None] * 4 else 0)


@observers.command()
def consensus(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    file: File,
    as_json: AsJson = False,
    hierarchical: Annotated[
        bool, typer.Option("--hierarchical", help="Draw each observer's errors to the group's.")
    ] = False,
    strength: Annotated[
        float | None,
        typer.Option(min=1e-3, max=1e6, help="How strongly, in readings; estimated by default."),
    ] = None,
    sample: Annotated[
        int, typer.Option(min=0, max=1_000_000, help="Sweeps to sample, such as 1500.")
    ] = 0,
    starts: Annotated[
        int, typer.Option(min=0, max=1000, help="Random starts beside that from the votes.")
    ] = 5,
    keep: Annotated[
        Keep, typer.Option(help="Which end to keep: that of the votes, or the likeliest.")
    ] = Keep.VOTES,
    rounds: Annotated[
        int, typer.Option(min=1, max=1_000_000, help="Rounds after which to give up.")
    ] = 2000,
    below: Annotated[
        float, typer.Option(min=0, max=1, help="Queue items that are less probable.")
    ] = 0.95,
    out: Annotated[Path | None, typer.Option(help="New CSV file to write the items to.")] = None,
    seed: Seed = 1,
    most_mb: MostMb = 64,
) -> None:
    """Find what several observers say together; exit 1 where it did not converge.

    Example: corallum observers consensus readings.csv --out agreed.csv
    """
    import numpy as np  # noqa: PLC0415  scipy behind it is slow to start

    from corallum.actions import agreement as actions  # noqa: PLC0415  scipy is slow to start
    from corallum.cli.progress import progress_bar  # noqa: PLC0415  beside it

    if (strength is not None or sample) and not hierarchical:
        raise typer.BadParameter("--strength and --sample are for --hierarchical only")
    readings = actions.open_readings(file, sys.stdin.buffer, most_mb)
    question = actions.ConsensusQuestion(hierarchical, strength, starts, keep.value, rounds, sample)
    with progress_bar("looking for a consensus") as step:
        found = actions.consensus_of(readings, question, np.random.default_rng(seed), step)
    if out is not None:
        actions.write_consensus(found, out, below)
    if as_json:
        from corallum.exchange.observer_answers import consensus_object  # noqa: PLC0415

        print(json.dumps(consensus_object(found, below)))
    else:
        from corallum.cli.observers_page import print_consensus  # noqa: PLC0415  rich is slow

        print_consensus(found, below)
    raise typer.Exit(0 if found.fit.converged else 1)
