"""A report as an accessible PDF: tagged, with an outline, in words that can be searched."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from corallum.draw.plots import standalone
from corallum.report.report import Block, Facts, Notes, Paragraph, Picture, Report, Table, runs
from corallum.report.typeset import typeset

__all__ = ["report_pdf"]

_EMPTY = "—"
# Wider tables are set in smaller letters.
_MANY_COLUMNS = 6
# Letters that a column is as wide as, at the least and at the most.
_NARROWEST, _WIDEST = 8, 30
Runs = list[list[str | bool]]


def report_pdf(report: Report, made: datetime) -> bytes:
    """Return a report as a PDF.

    Parameters
    ----------
    report : Report
        What it says.
    made : datetime
        Moment written into the file.

    Returns
    -------
    bytes
        PDF/UA-1.
    """
    names = {id(one): f"picture{k}.svg" for k, one in enumerate(report.pictures, 1)}
    sections = [
        {
            "level": one.level,
            "title": _runs(one.title, report.italic),
            "blocks": [_block(block, report.italic, names) for block in one.blocks],
        }
        for one in report.sections
    ]
    data: dict[str, object] = {
        "title": _plain(report.title),
        "head": _runs(report.title, report.italic),
        "subtitle": _runs(report.subtitle, report.italic),
        "warning": _runs(report.warning, report.italic),
        "foot": _runs(report.foot, report.italic),
        "sections": sections,
    }
    pictures = {names[id(one)]: standalone(one.wide) for one in report.pictures}
    return typeset("report", data, pictures, made)


def _widths(table: Table) -> list[float]:
    """Return shares of the width: each column as its longest cell needs, within reason."""
    columns = [[row[k] for row in table.rows] for k in range(len(table.headers))]
    shares = []
    for header, cells in zip(table.headers, columns, strict=True):
        longest = max((len(line) for cell in cells for line in cell.split("\n")), default=1)
        word = max(map(len, header.split()), default=1)
        shares.append(float(min(max(longest, 1.15 * word, _NARROWEST), _WIDEST)))
    return shares


def _runs(text: str, italic: Collection[str]) -> Runs:
    """Return the pieces of a text; one that is empty is none."""
    return [[piece, slant] for piece, slant in runs(text, italic)]


def _plain(text: str) -> str:
    """Return a text on one line."""
    return " ".join("".join(piece for piece, _ in runs(text, ())).split()) or _EMPTY


def _block(block: Block, italic: Collection[str], names: dict[int, str]) -> dict[str, object]:
    """Return one block as the template reads it."""
    match block:
        case Paragraph():
            return {"is": "paragraph", "kind": block.kind, "text": _runs(block.text, italic)}
        case Facts():
            rows = [[_runs(a, italic), _runs(b or _EMPTY, italic)] for a, b in block.rows]
            return {"is": "facts", "rows": rows}
        case Table():
            return {
                "is": "table",
                "caption": _runs(block.caption, italic),
                "align": list(block.align),
                "dense": len(block.headers) >= _MANY_COLUMNS,
                "widths": _widths(block),
                "headers": [_runs(one, italic) for one in block.headers],
                "rows": [[_runs(cell, italic) for cell in row] for row in block.rows],
            }
        case Picture():
            return {
                "is": "picture",
                "file": names[id(block)],
                "says": _plain(block.says),
                "caption": _runs(block.caption, italic),
            }
        case Notes():
            items = [_runs(one, italic) for one in block.items]
            return {"is": "notes", "kind": block.kind, "items": items}
