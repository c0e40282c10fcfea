"""What a report says, apart from how it looks: pages and PDFs are made from this alone.

Every figure enters as text, written once, so that a page and a PDF can't differ. Nothing
here is markup: what a person wrote is text in every block.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field

__all__ = [
    "Block", "Facts", "Notes", "Paragraph", "Picture", "Report", "Section", "Table", "clean",
    "report_object", "runs",
]  # fmt: skip

_WORD = re.compile(r"[A-Z][a-z]+")
# A number and its sign stay on one line.
_PERCENT = re.compile(r"(?<=\d) %")


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A text; ``kind`` is plain, lead (what matters most) or small (how to read a table)."""

    text: str
    kind: str = "plain"


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels and what stands to each."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a row of headers; the first cell of each row is its header.

    Parameters
    ----------
    caption : str
        What it shows.
    headers : tuple of str
        Of the columns.
    rows : tuple of tuple of str
        Each as long as the headers.
    align : str
        One letter a column: l, or r for what is read by size.
    """

    caption: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: str = ""

    def __post_init__(self) -> None:
        """Refuse rows that do not fit, which would shift figures under other headers."""
        if any(len(row) != len(self.headers) for row in self.rows):
            msg = f"a row of the table {self.caption!r} is not as long as its headers"
            raise ValueError(msg)
        if not self.align:
            object.__setattr__(self, "align", "l" * len(self.headers))


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture, what it shows in words for who can't see it, and its caption.

    Parameters
    ----------
    wide, narrow : str
        SVG texts as ``draw.plots`` makes them, for paper and for a phone.
    says : str
        All that it tells, in words.
    caption : str
        How to read it.
    """

    wide: str
    narrow: str
    says: str
    caption: str


@dataclass(frozen=True, slots=True)
class Notes:
    """A list of sentences; ``kind`` is plain or caution."""

    items: tuple[str, ...]
    kind: str = "plain"


Block = Paragraph | Facts | Table | Picture | Notes


@dataclass(frozen=True, slots=True)
class Section:
    """A part with its heading; ``level`` is 1 to 3."""

    title: str
    blocks: tuple[Block, ...]
    level: int = 1


@dataclass(frozen=True, slots=True)
class Report:
    """A report.

    Parameters
    ----------
    title, subtitle : str
        Head of the first page.
    warning : str
        What must be known before all else, such as that the data are invented; may be empty.
    sections : tuple of Section
        In order.
    foot : str
        Runs along every page.
    italic : frozenset of str
        Words that are set in italics wherever they stand: names of genera.
    facts : mapping, as JSON can hold it
        The same figures for a program.
    """

    title: str
    subtitle: str
    warning: str
    sections: tuple[Section, ...]
    foot: str
    italic: frozenset[str] = frozenset()
    facts: dict[str, object] = field(default_factory=dict)

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """Return all pictures in order."""
        return tuple(
            block
            for section in self.sections
            for block in section.blocks
            if isinstance(block, Picture)
        )


def clean(text: str) -> str:
    """Return a text without what no page can show: control characters, except a new line."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ").split("\n")
    return "\n".join("".join(c for c in line if c.isprintable() or c in "\u00a0\u202f")
                     for line in lines)  # fmt: skip


def runs(text: str, italic: Collection[str]) -> Iterator[tuple[str, bool]]:
    """Split a text into pieces, each with whether it is in italics.

    Parameters
    ----------
    text : str
        Any text.
    italic : collection of str
        Words that are.
    """
    text = _PERCENT.sub("\u00a0%", clean(text))
    at = 0
    for found in _WORD.finditer(text):
        if found[0] not in italic:
            continue
        if found.start() > at:
            yield text[at : found.start()], False
        yield found[0], True
        at = found.end()
    if at < len(text):
        yield text[at:], False


def report_object(report: Report) -> dict[str, object]:
    """Return a report as JSON can hold it: its facts, and all its words without pictures."""
    return {
        "title": report.title,
        "subtitle": report.subtitle,
        "warning": report.warning,
        "facts": report.facts,
        "sections": [
            {"title": one.title, "blocks": _blocks(one.blocks)} for one in report.sections
        ],
    }


def _blocks(blocks: Sequence[Block]) -> list[dict[str, object]]:
    """Return blocks as JSON can hold them."""
    found: list[dict[str, object]] = []
    for block in blocks:
        match block:
            case Paragraph():
                found.append({"text": block.text})
            case Facts():
                found.append({"facts": dict(block.rows)})
            case Table():
                rows = [dict(zip(block.headers, row, strict=True)) for row in block.rows]
                found.append({"table": block.caption, "rows": rows})
            case Picture():
                found.append({"picture": block.says, "caption": block.caption})
            case Notes():
                found.append({"notes": list(block.items)})
    return found
