"""A small report with one block of each kind, and names that look like markup."""

from __future__ import annotations

from corallum.draw import plots
from corallum.report.report import Facts, Notes, Paragraph, Picture, Report, Section, Table

__all__ = ["ODD", "small_report"]

# Names that would run, break a page or set a style, were they markup.
ODD = (
    "<script>alert(1)</script>", "#panic()", "*x*", "_y_", "$1^2$", "`raw`", "@ref", "<label>",
    "[a]", "= Head", "// no comment", "~", '"quoted"', "it's", "a & b", "{{ x }}", "\\",
    '#import("x")', "--", "…",
)  # fmt: skip


def _picture(says: str) -> Picture:
    rows = [plots.Row("Porites", plots.Span(12, 8, 16), plots.Span(14, 9, 18))]
    wide, narrow = (
        plots.plot_pairs(rows, "% cover", width, what=says) for width in (plots.WIDE, plots.NARROW)
    )
    return Picture(wide, narrow, plots.spoken(wide), "How to read it.")


def small_report(*, warning: str = "All invented.", sections: int = 6) -> Report:
    """Return a report in which every odd name stands in every kind of place."""
    odd = "; ".join(ODD)
    blocks = (
        Paragraph(f"Lead: {odd}", "lead"),
        Paragraph("First line\nsecond line of Porites"),
        Facts(tuple((f"Label {one}", one) for one in ODD)),
        Table(odd, ("Genus", *ODD[:2]), tuple(("Porites", one, "12 (8 to 16)") for one in ODD)),
        _picture(odd),
        Notes(ODD, "caution"),
    )
    rest = tuple(Section(f"Part {k}", (Paragraph("Text."),), 1) for k in range(1, sections))
    return Report(
        ODD[0], odd, warning, (Section(ODD[1], blocks), *rest), "foot", frozenset({"Porites"}),
        {"kind": "small"},
    )  # fmt: skip
