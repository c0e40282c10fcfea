"""One answer for people: the sentence first, then the odds, then what to do."""

from __future__ import annotations

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from corallum.model.sentence import join_genera, sentence
from corallum.records.answer import Answer, Fragile, WhyEntry

__all__ = ["print_answer", "print_brief"]

_BAR = 24
_MOST_ROWS = 6
_LEAST_SHOWN = 0.005
_SEEN = {"w": "in the water", "l": "lens or close photo", "k": "cleaned skeleton"}


def print_answer(answer: Answer) -> None:
    """Print one answer."""
    console = Console(highlight=False)
    console.print(
        Text(f"{answer.id}  ", style="dim") + Text(sentence(answer.verdict), style="bold")
    )
    console.print(Padding(_odds(answer), (0, 0, 0, 2)))
    for title, table in (
        ("look next", _looks(answer)),
        ("check again", _fragile(answer)),
        ("why (decibans)", _why(answer)),
    ):
        if table is not None and table.row_count:
            console.print(Text(f"  {title}", style="bold"))
            console.print(Padding(table, (0, 0, 0, 4)))
    console.print(Padding(_limits(answer), (0, 0, 0, 2)))
    for caution in answer.cautions:
        console.print(Padding(Text(f"! {caution}"), (0, 0, 0, 2)))
    console.print()


def print_brief(answer: Answer) -> None:
    """Print one answer as one line: id, name, the leading genera, what to look at next."""
    shown = [c for c in answer.candidates[:3] if c.probability >= _LEAST_SHOWN]
    odds = ", ".join(f"{c.genus or 'something else'} {c.probability:.0%}" for c in shown)
    look = answer.next_looks[0].character if answer.next_looks else ""
    next_ = f"  next: {_words(look)}" if look and answer.verdict.status != "settled" else ""
    stings = "  ! may sting" if any("sting" in caution for caution in answer.cautions) else ""
    line = f"{answer.id:<16} {answer.verdict.name:<20} {odds}{next_}{stings}"
    Console(highlight=False, soft_wrap=True).print(Text(line))


def _plain() -> Table:
    """Return a table without lines."""
    return Table(box=None, show_header=False, pad_edge=False, padding=(0, 2, 0, 0))


def _odds(answer: Answer) -> Table:
    """Odds as bars."""
    table = _plain()
    for candidate in answer.candidates[:_MOST_ROWS]:
        if candidate.probability < _LEAST_SHOWN:
            break
        bar = "█" * max(1, round(candidate.probability * _BAR))
        name = candidate.genus or "something else"
        table.add_row(
            name, Text(bar.ljust(_BAR)), f"{candidate.probability:.1%}", candidate.family or ""
        )
    return table


def _words(id_: str) -> str:
    """Turn an id into words."""
    return id_.replace("_", " ")


def _looks(answer: Answer) -> Table:
    """What to look at next, with cost."""
    table = _plain()
    for look in answer.next_looks[:_MOST_ROWS]:
        cost = f"{look.seconds:.0f} s"
        table.add_row(_words(look.character), f"{look.gain_bits:.2f} bits", cost, _SEEN[look.seen])
    return table


def _fragile(answer: Answer) -> Table:
    """Reports the verdict hangs on."""
    table = _plain()
    for item in answer.fragile[: 2 * _MOST_ROWS]:
        table.add_row(_words(item.character), _changed(item), f"{item.probability:.0%}")
    return table


def _changed(item: Fragile) -> str:
    """Say what would follow."""
    change = "if left out" if item.change == "left_out" else f"if {_words(item.change)}"
    return f"{change}: {join_genera(item.verdict)}"


def _why(answer: Answer) -> Table | None:
    """Decibans for the leader against the next."""
    why = answer.why
    if why is None:
        return None
    table = _plain()
    rows = [*(_entry(entry) for entry in why.decibans), ("forms", why.form), ("region", why.prior)]
    for name, value in rows:
        side = why.for_ if value >= 0 else why.against
        table.add_row(name, f"{value:+.1f}", f"for {side}" if abs(value) >= 0.05 else "")
    table.add_row("in all", f"{why.total:+.1f}", f"{why.for_} against {why.against}", style="bold")
    return table


def _entry(entry: WhyEntry) -> tuple[str, float]:
    """Name a block by its characters."""
    return ", ".join(map(_words, (entry.character, *entry.with_))), entry.value


def _limits(answer: Answer) -> Text:
    """Say what could be known at best."""
    limits = answer.limits
    text = (
        f"With every look in the water made without error, the best genus would be right"
        f" {limits.best_in_water:.0%} of the time; with the cleaned skeleton,"
        f" {limits.best_with_skeleton:.0%}."
    )
    return Text(text, style="dim")
