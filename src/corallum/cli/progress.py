"""A bar on standard error while work goes on."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol

__all__ = ["Step", "progress_bar"]


class Step(Protocol):
    """Is told the share done, 0 to 1."""

    def __call__(self, share: float, /) -> None:
        """Take the share done."""


@contextmanager
def progress_bar(title: str) -> Iterator[Step]:
    """Show a bar, only where a person looks."""
    from rich.console import Console  # noqa: PLC0415  rich is slow to start
    from rich.progress import Progress  # noqa: PLC0415

    console = Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(title, total=1.0)
        yield lambda share: bar.update(task, completed=share)
