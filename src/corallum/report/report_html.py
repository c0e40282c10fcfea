"""A report as one page: no other file, no request, nothing that runs."""

from __future__ import annotations

import hashlib
import re
from base64 import b64encode
from collections.abc import Collection, Sequence
from html import escape
from importlib.resources import files

from corallum.report.report import (
    Block,
    Facts,
    Notes,
    Paragraph,
    Picture,
    Report,
    Section,
    Table,
    clean,
    runs,
)

__all__ = ["report_html"]

# As many headings as make a list of them worth its room.
_LONG = 5
# Letters from which on a cell is words, not a figure.
_LONG_CELL = 23
_OPENING = re.compile(r"<svg\b[^>]*>")
_FIGURE = re.compile(r"([+−]?[\d,.]+)\s(\(.*\))")
_BOX = re.compile(r'viewBox="[^"]*"')


def report_html(report: Report) -> str:
    """Return a report as a page.

    Parameters
    ----------
    report : Report
        What it says.

    Returns
    -------
    str
        HTML; its policy lets nothing run and nothing be asked for.
    """
    style = files("corallum.report").joinpath("templates/report.css").read_text("utf-8")
    digest = b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    body = [
        f'<p class="warning" role="note">{_text(report.warning, report.italic)}</p>'
        if report.warning else "",
        _contents(report.sections, report.italic),
        *(_section(one, i, report.italic) for i, one in enumerate(report.sections, 1)),
    ]  # fmt: skip
    return _PAGE.format(
        policy=policy, style=style, title=escape(clean(report.title)),
        head=_text(report.title, report.italic), subtitle=_text(report.subtitle, report.italic),
        body="\n".join(one for one in body if one), foot=_text(report.foot, report.italic),
    )  # fmt: skip


_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<a class="skip" href="#main">Skip to the report</a>
<header><h1>{head}</h1><p class="subtitle">{subtitle}</p></header>
<main id="main" tabindex="-1">
{body}
</main>
<footer><p>{foot}</p></footer>
</body>
</html>
"""


def _text(text: str, italic: Collection[str]) -> str:
    """Return a text with its genera in italics, lines broken where it breaks them."""
    pieces = []
    for piece, slant in runs(text, italic):
        shown = escape(piece).replace("\n", "<br>")
        pieces.append(f"<i>{shown}</i>" if slant else shown)
    return "".join(pieces)


def _contents(sections: Sequence[Section], italic: Collection[str]) -> str:
    """List the headings, where there are many."""
    tops = [(i, one.title) for i, one in enumerate(sections, 1) if one.level == 1]
    if len(tops) < _LONG:
        return ""
    items = "".join(f'<li><a href="#s{i}">{_text(title, italic)}</a></li>' for i, title in tops)
    return f'<nav aria-label="Contents"><h2 class="quiet">Contents</h2><ol>{items}</ol></nav>'


def _section(section: Section, number: int, italic: Collection[str]) -> str:
    """Return a part with its heading."""
    level = section.level + 1
    head = f'<h{level} id="s{number}">{_text(section.title, italic)}</h{level}>'
    blocks = "\n".join(
        _block(one, italic, f"s{number}b{k}") for k, one in enumerate(section.blocks, 1)
    )
    return f'<section aria-labelledby="s{number}">\n{head}\n{blocks}\n</section>'


def _block(block: Block, italic: Collection[str], id_: str) -> str:
    """Return one block; what needs an id has this one."""
    match block:
        case Paragraph():
            kind = "" if block.kind == "plain" else f' class="{block.kind}"'
            return f"<p{kind}>{_text(block.text, italic)}</p>"
        case Facts():
            rows = (
                f"<div><dt>{_text(label, italic)}</dt><dd>{_text(value, italic)}</dd></div>"
                for label, value in block.rows
            )
            return f"<dl>{''.join(rows)}</dl>"
        case Table():
            return _table(block, italic, id_)
        case Picture():
            return _figure(block, italic)
        case Notes():
            items = "".join(f"<li>{_text(one, italic)}</li>" for one in block.items)
            return f'<ul class="{block.kind}">{items}</ul>'


def _table(table: Table, italic: Collection[str], id_: str) -> str:
    """Return a table that scrolls by itself where it is too wide, below its caption."""
    sides = [_side(table, k) for k in range(len(table.headers))]
    heads = "".join(
        f'<th scope="col"{side}>{_text(text, italic)}</th>'
        for text, side in zip(table.headers, sides, strict=True)
    )
    rows = []
    for first, *rest in table.rows:
        cells = "".join(
            f"<td{side}>{_cell(text, italic, below=not side)}</td>"
            for text, side in zip(rest, sides[1:], strict=True)
        )
        rows.append(f'<tr><th scope="row"{sides[0]}>{_text(first, italic)}</th>{cells}</tr>')
    return (
        f'<p class="caption" id="{id_}">{_text(table.caption, italic)}</p>'
        f'<div class="scroll" tabindex="0" role="group" aria-labelledby="{id_}">'
        f'<table aria-labelledby="{id_}"><thead><tr>{heads}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _cell(text: str, italic: Collection[str], *, below: bool) -> str:
    """Return a cell; a figure's interval stands below it, so that figures line up."""
    found = _FIGURE.fullmatch(text) if below else None
    if found is None:
        return _text(text, italic)
    return f'{_text(found[1], italic)} <span class="range">{_text(found[2], italic)}</span>'


def _side(table: Table, column: int) -> str:
    """Return the class of a column: right, or with room for its words."""
    if table.align[column] == "r":
        return ' class="r"'
    longest = max((len(row[column]) for row in table.rows), default=0)
    return ' class="words"' if longest > _LONG_CELL and column else ""


def _figure(picture: Picture, italic: Collection[str]) -> str:
    """Return a picture in both widths; the page shows one, and both say the same."""
    says = escape(clean(picture.says).replace("\n", " "), quote=True)
    drawn = "".join(
        _inline(svg, layout, says)
        for svg, layout in ((picture.narrow, "narrow"), (picture.wide, "wide"))
    )
    caption = (
        f"<figcaption>{_text(picture.caption, italic)}</figcaption>" if picture.caption else ""
    )
    return f"<figure>{drawn}{caption}</figure>"


def _inline(svg: str, layout: str, says: str) -> str:
    """Return a picture for the page: the page's own colours, and its words on it."""
    box = _BOX.search(svg)
    opening = f'<svg class="plot {layout}" {box[0] if box else ""} role="img" aria-label="{says}">'
    return _OPENING.sub(lambda _: opening, svg, count=1)
