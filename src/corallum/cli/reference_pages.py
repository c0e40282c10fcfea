"""The reference for people, as tables in a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from corallum.actions.accounts import CharacterAccount, Comparison, GenusAccount
from corallum.actions.references import Summary
from corallum.model.assess import Assessment, Figure
from corallum.model.separability import Pair
from corallum.reference.changes import Change
from corallum.reference.names import ResolvedName

__all__ = [
    "print_assessment",
    "print_changes",
    "print_character",
    "print_comparison",
    "print_genus",
    "print_limits",
    "print_names",
    "print_summary",
]

_SEEN = {"w": "water", "l": "lens", "k": "skeleton"}
_MOST = 20


def _console() -> Console:
    """Return a console that leaves numbers and words uncoloured."""
    return Console(highlight=False)


def _table(*columns: str, title: str = "") -> Table:
    """Return a table with a line under its head."""
    table = Table(
        box=None, title=title or None, title_justify="left", pad_edge=False, padding=(0, 2, 0, 0)
    )
    for column in columns:
        right = column.endswith(">")
        table.add_column(
            column.removesuffix(">"), justify="right" if right else "left", overflow="fold"
        )
    return table


def print_summary(summary: Summary) -> None:
    """Print what a sound reference holds."""
    console = _console()
    console.print(Text("The reference is sound.", style="bold"))
    table = _table("", ">")
    for name, value in (
        ("genera", f"{summary.genera}"),
        ("forms", f"{summary.forms}"),
        ("genera with several forms", f"{len(summary.several_forms)}"),
        ("characters", f"{summary.characters}"),
        ("values", f"{summary.values}"),
        (
            "filled, seen in water or with a lens",
            _share(summary.filled, summary.cells),
        ),
        (
            "filled, seen on the skeleton",
            _share(summary.skeleton_filled, summary.skeleton_cells),
        ),
        ("values from memory, to be checked", f"{summary.from_memory / summary.values:.0%}"),
        ("version", summary.hash[:12]),
    ):
        table.add_row(name, value)
    console.print(table)
    console.print("Genera with several forms: " + ", ".join(summary.several_forms))


def _share(part: int, whole: int) -> str:
    """Show a count with its share."""
    return f"{part} of {whole} ({part / max(whole, 1):.1%})"


def print_genus(account: GenusAccount) -> None:
    """Print the account of a genus."""
    console, genus = _console(), account.genus
    title = Text(genus.name, style="bold italic") + Text(
        f" {genus.authority}. {genus.family}, {genus.order}."
    )
    console.print(title)
    console.print(genus.description)
    console.print(
        "Regions: " + ", ".join(region.replace("_", " ") for region in genus.regions) + "."
    )
    for caution in account.cautions:
        console.print(f"! {caution}")
    forms = _table("form", "share>", "description")
    for form in account.forms:
        forms.add_row(form.id, f"{form.weight:.0%}", form.description)
    console.print(forms)
    values = _table("about", "character", "form", "value", "source")
    for row in account.values:
        text = f"{row.text} {row.unit}" if row.unit else row.text
        values.add_row(row.group, row.character, row.form, text, row.source)
    console.print(values)
    lookalikes = _table("taken for", "decides", "note")
    for item in account.lookalikes:
        other = item.other if item.genus == genus.name else item.genus
        lookalikes.add_row(other, ", ".join(item.characters), item.note)
    console.print(lookalikes)
    if account.older_names:
        names = (f"{item.older_name} ({item.which or 'all'})" for item in account.older_names)
        console.print("Older names: " + "; ".join(names))


def print_character(account: CharacterAccount) -> None:
    """Print one character."""
    console = _console()
    console.print(
        Text(account.id, style="bold") + Text(f" ({_SEEN[account.seen]}, {account.seconds:.0f} s)")
    )
    console.print(account.question)
    console.print(account.definition)
    if account.applies:
        console.print(f"Applies where {account.applies}; else report not_applicable.")
    if account.unit:
        console.print(f"In {account.unit}.")
    table = _table("state", "in words", "definition")
    for state, label, definition in account.states:
        table.add_row(state, label, definition)
    if account.states:
        console.print(table)


def print_comparison(comparison: Comparison) -> None:
    """Print two genera side by side."""
    console = _console()
    console.print(Text(f"{comparison.a} and {comparison.b}", style="bold"))
    for note in comparison.notes:
        console.print(note)
    table = _table("character", "seen", "right by it alone>", comparison.a, comparison.b)
    # Where one side is blank the base rate stands in: such rows come last.
    for row in sorted(comparison.rows, key=lambda row: not (row.a and row.b)):
        if row.a or row.b:
            table.add_row(
                row.character, _SEEN[row.seen], f"{row.right:.0%}", row.a or "–", row.b or "–"
            )
    console.print(table)


def _figure(figure: Figure) -> str:
    """Show an estimate with its standard error, in percent."""
    return f"{figure.value:.1%} ± {figure.se:.1%}"


def print_assessment(result: Assessment, seed: int) -> None:
    """Print an assessment."""
    console = _console()
    region = (result.region or "anywhere").replace("_", " ")
    console.print(
        Text(
            f"Assessed by {result.colonies} simulated colonies, {region}, seed {seed}.",
            style="bold",
        )
    )
    console.print(
        f"Reported: all {len(result.characters)} characters, with an unknown observer's errors."
    )
    table = _table("", "share ± standard error>")
    table.add_row("best genus is right", _figure(result.accuracy))
    table.add_row("settled", _figure(result.settled))
    table.add_row("settled but wrong", _figure(result.settled_wrong))
    table.add_row("named set holds the truth", _figure(result.coverage))
    table.add_row(
        "genera in the named set", f"{result.set_size.value:.2f} ± {result.set_size.se:.2f}"
    )
    console.print(table)
    lost = _table("most often lost", "share of colonies>", "named right>", "named instead")
    for fate in sorted(result.genera, key=lambda item: item.named_right.value)[:_MOST]:
        others = ", ".join(
            f"{name or 'something else'} {share:.0%}" for name, share in fate.lost_to
        )
        lost.add_row(fate.genus, f"{fate.prior:.1%}", _figure(fate.named_right), others)
    console.print(lost)
    worth = _table("character", "lost if dropped>", "gained on a first look>")
    for item in result.worth[:_MOST]:
        worth.add_row(item.character, _figure(item.dropped), _figure(item.added))
    console.print(worth)
    left = _table("genus left out", "others gain>", "its colonies settled as another>")
    for absent in sorted(result.left_out, key=lambda item: -item.misnamed.value)[:_MOST]:
        left.add_row(absent.genus, _figure(absent.others), _figure(absent.misnamed))
    console.print(left)


def print_limits(pairs: tuple[Pair, ...], compared: int, below: float) -> None:
    """Print pairs that the water cannot separate."""
    console = _console()
    console.print(
        Text(
            f"{len(pairs)} of {compared} pairs are told apart in less than {below:.0%} of cases,",
            style="bold",
        )
    )
    console.print("however well one looks, the two being equally probable:")
    table = _table("pair", "in water>", "with the skeleton>")
    for pair in pairs:
        table.add_row(f"{pair.a} / {pair.b}", f"{pair.in_water:.0%}", f"{pair.with_skeleton:.0%}")
    console.print(table)
    console.print(
        "A skeleton means a voucher: only under permit, never taken to settle a name by the way."
    )


def print_names(resolved: ResolvedName) -> None:
    """Print what a name means today."""
    console = _console()
    if resolved.current:
        console.print(f"{resolved.name} is in use.")
    table = _table("older name", "today", "which", "source")
    for older in resolved.moved:
        table.add_row(older.older_name, older.genus, older.which or "all", older.source)
    if resolved.moved:
        console.print(table)


def print_changes(changes: tuple[Change, ...]) -> None:
    """Print differences."""
    console = _console()
    if not changes:
        console.print("Nothing differs.")
        return
    table = _table("what", "", "before", "after")
    for change in changes:
        table.add_row(change.kind, change.what, change.old or "–", change.new or "–")
    console.print(table)
