"""``corallum reference ...``."""

from __future__ import annotations

import dataclasses
import json
import sys
from pathlib import Path
from typing import Annotated

import numpy as np
import typer

from corallum.actions import accounts
from corallum.actions import references as actions
from corallum.cli.progress import progress_bar
from corallum.errors import TableError

__all__ = ["reference"]

reference = typer.Typer(
    help="Ask the reference: what it holds, where it fails, what changed.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

AsJson = Annotated[bool, typer.Option("--json", help="JSON instead of tables.")]
Folder = Annotated[
    Path | None,
    typer.Option("--reference", help="Folder of a reference; the shipped one by default."),
]
Region = Annotated[
    str | None, typer.Option(help="Region id, such as red_sea; anywhere by default.")
]
Seed = Annotated[int, typer.Option(help="Seed of the simulation.")]


def _print_json(value: object) -> None:
    """Print a record, or records, as JSON."""
    print(json.dumps(_plain(value)))


def _plain(value: object) -> object:
    """Turn records into what JSON holds."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = dataclasses.fields(value)
        return {field.name: _plain(getattr(value, field.name)) for field in fields}
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return value


@reference.command()
def check(
    folder: Annotated[
        Path | None, typer.Argument(help="Folder; the shipped one by default.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Check every table and list every fault by file, row and column.

    Example: corallum reference check my_reference
    """
    try:
        summary = actions.summarise(actions.Library(folder))
    except TableError as error:
        if as_json:
            _print_json({"faults": [dataclasses.asdict(fault) for fault in error.faults]})
        print(error, file=sys.stderr)
        count = len(error.faults)
        print(f"{count} fault{'s' if count > 1 else ''}.", file=sys.stderr)
        raise typer.Exit(2) from error
    if as_json:
        _print_json(summary)
        return
    from corallum.cli.reference_pages import print_summary  # noqa: PLC0415  rich is slow to start

    print_summary(summary)


@reference.command()
def show(
    name: Annotated[str, typer.Argument(help="A genus, of today or older, or a character id.")],
    folder: Folder = None,
    as_json: AsJson = False,
) -> None:
    """Show the account of a genus, or the question, states and definition of a character.

    Example: corallum reference show Goniastrea
    """
    from corallum.cli import reference_pages as pages  # noqa: PLC0415  rich is slow to start

    library = actions.Library(folder)
    scheme = library.reference.scheme
    if name in scheme.characters or name in scheme.view_ids:
        account = accounts.character_account(library, name)
        _print_json(account) if as_json else pages.print_character(account)
        return
    genus = accounts.genus_account(library, name)
    _print_json(genus) if as_json else pages.print_genus(genus)


@reference.command()
def compare(
    a: Annotated[str, typer.Argument(help="A genus.")],
    b: Annotated[str, typer.Argument(help="Another genus.")],
    folder: Folder = None,
    as_json: AsJson = False,
) -> None:
    """Compare two genera, the deciding characters first.

    Example: corallum reference compare Favites Dipsastraea
    """
    comparison = accounts.compare_genera(actions.Library(folder), a, b)
    if as_json:
        _print_json(comparison)
        return
    from corallum.cli.reference_pages import print_comparison  # noqa: PLC0415  rich is slow to start

    print_comparison(comparison)


@reference.command()
def assess(
    region: Region = None,
    colonies: Annotated[int, typer.Option(min=2, help="Colonies simulated of each genus.")] = 50,
    lens: Annotated[bool, typer.Option(help="Report what a lens shows too.")] = False,
    seed: Seed = 1,
    folder: Folder = None,
    as_json: AsJson = False,
) -> None:
    """Say by simulation where the reference will fail, and what its parts are worth.

    Example: corallum reference assess --region red_sea
    """
    seen = ("w", "l") if lens else ("w",)
    with progress_bar("simulating colonies") as progress:
        result = actions.assess_reference(
            actions.Library(folder), region, np.random.default_rng(seed),
            per_genus=colonies, seen=seen, progress=progress,
        )  # fmt: skip
    if as_json:
        _print_json({"seed": seed, "assessment": _plain(result)})
        return
    from corallum.cli.reference_pages import print_assessment  # noqa: PLC0415  rich is slow to start

    print_assessment(result, seed)


@reference.command()
def limits(
    region: Region = None,
    below: Annotated[
        float | None, typer.Option(min=0.5, max=1, help="List pairs below this chance.")
    ] = None,
    colonies: Annotated[int, typer.Option(min=10, help="Colonies simulated of each genus.")] = 200,
    seed: Seed = 1,
    folder: Folder = None,
    as_json: AsJson = False,
) -> None:
    """List the pairs that the water cannot separate, and those that a skeleton can.

    Example: corallum reference limits --region indo_pacific
    """
    library = actions.Library(folder)
    with progress_bar("comparing genera") as progress:
        pairs = actions.limits_of(
            library, region, np.random.default_rng(seed), draws=colonies, progress=progress
        )
    threshold = library.compiled.settings.separable if below is None else below
    listed = tuple(pair for pair in pairs if pair.in_water < threshold)
    if as_json:
        _print_json(
            {"seed": seed, "below": threshold, "compared": len(pairs), "pairs": _plain(listed)}
        )
        return
    from corallum.cli.reference_pages import print_limits  # noqa: PLC0415  rich is slow to start

    print_limits(listed, len(pairs), threshold)


@reference.command()
def names(
    name: Annotated[str, typer.Argument(help="A genus name, of today or older.")],
    folder: Folder = None,
    as_json: AsJson = False,
) -> None:
    """Resolve a name to the genera of today; exit 1 where it may mean several.

    Example: corallum reference names Favia
    """
    resolved = actions.names_of(actions.Library(folder), name)
    if as_json:
        _print_json({"name": resolved.name, "current": resolved.current,
                     "genera": list(resolved.genera), "moved": _plain(resolved.moved)})  # fmt: skip
    else:
        from corallum.cli.reference_pages import print_names  # noqa: PLC0415  rich is slow to start

        print_names(resolved)
    raise typer.Exit(0 if len(resolved.genera) == 1 else 1)


@reference.command()
def changes(
    old: Annotated[Path, typer.Argument(help="Folder of the older reference.")],
    new: Annotated[Path | None, typer.Argument(help="Folder; the shipped one by default.")] = None,
    as_json: AsJson = False,
) -> None:
    """List what differs between two references; exit 1 where anything does.

    Example: corallum reference changes last_year this_year
    """
    found = actions.changes_between(actions.Library(old), actions.Library(new))
    if as_json:
        _print_json(list(found))
    else:
        from corallum.cli.reference_pages import print_changes  # noqa: PLC0415  rich is slow to start

        print_changes(found)
    raise typer.Exit(1 if found else 0)
