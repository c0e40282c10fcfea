"""Results as files to keep: how they are named and sent."""

from __future__ import annotations

from fastapi.responses import Response

from corallum.actions.result_plots import Layouts
from corallum.draw import plots

__all__ = ["csv_response", "file_name", "svg_response"]

_LONGEST = 80


def file_name(*parts: str) -> str:
    """Return a name of a file that every machine takes."""
    text = "-".join(parts).lower()
    kept = "".join(c if c.isascii() and c.isalnum() else "-" for c in text)
    return "-".join(piece for piece in kept.split("-") if piece)[:_LONGEST] or "results"


def csv_response(text: str, name: str) -> Response:
    """Return a table to be kept as a file."""
    headers = {
        "Content-Disposition": f'attachment; filename="{name}.csv"',
        "Cache-Control": "no-store",
    }
    return Response(text.encode("utf-8"), media_type="text/csv; charset=utf-8", headers=headers)


def svg_response(layouts: Layouts, name: str) -> Response:
    """Return a plot as a file of its own."""
    headers = {
        "Content-Disposition": f'attachment; filename="{name}.svg"',
        "Cache-Control": "no-store",
    }
    text = plots.standalone(layouts.wide)
    return Response(text.encode("utf-8"), media_type="image/svg+xml", headers=headers)
