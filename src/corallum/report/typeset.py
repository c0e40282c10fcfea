"""Text, tables and pictures set as an accessible PDF.

What a person wrote reaches a page as data, never as markup, so no name can change a layout.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib.resources import files
from typing import Any

import typst

__all__ = ["typeset"]

_FOLDER = "templates"
# What the typesetter says of a letter that no font holds, and what stands for it then.
_LACKING = re.compile(r'the text `"(.+?)"` could not be displayed')
_CODE = re.compile(r"\\u\{([0-9a-f]+)\}")
_SHOWN = "\N{REPLACEMENT CHARACTER}"


def typeset(
    template: str, data: Mapping[str, object], pictures: Mapping[str, str], made: datetime
) -> bytes:
    """Set a template with its data and pictures as a PDF.

    Parameters
    ----------
    template : str
        Name of a template beside this module, such as ``page_sheet``.
    data : mapping
        What the template reads as ``data.json``; as JSON can hold it.
    pictures : mapping of str to str
        SVG text by the file name that the template or the data ask for.
    made : datetime
        Moment written into the file, so that the same question gives the same bytes.

    Returns
    -------
    bytes
        A PDF tagged for readers that speak it (PDF/UA-1), with its fonts in it.

    Notes
    -----
    Letters that its own fonts lack are taken from the machine's; one that no font holds is
    shown as a replacement character, since such a PDF may not leave a gap.
    """
    folder = files("corallum.report") / _FOLDER
    sources = {
        part.name: part.read_bytes() for part in folder.iterdir() if part.name.endswith(".typ")
    }
    sources["main.typ"] = sources.pop(f"{template}.typ")
    sources["data.json"] = json.dumps(data, ensure_ascii=False).encode()
    sources |= {name: text.encode() for name, text in pictures.items()}
    moment = made.astimezone(UTC).replace(microsecond=0)
    try:
        return _compile(sources, moment, own=True)
    except typst.TypstError as error:
        if not _lacking(error):
            raise
    try:
        return _compile(sources, moment, own=False)
    except typst.TypstError as error:
        lacking = _lacking(error)
        if not lacking:
            raise
    return _compile(_without(sources, lacking), moment, own=False)


def _lacking(error: typst.TypstError) -> str:
    """Return the letters that no font holds, where that is what went wrong."""
    found = _LACKING.findall(f"{error} {getattr(error, 'diagnostic', '')}")
    return "".join({_CODE.sub(_letter, one) for one in found})


def _compile(sources: Mapping[str, bytes], made: datetime, *, own: bool) -> bytes:
    """Set a PDF with its own fonts alone, or with those of the machine too."""
    files_: Any = dict(sources)  # its types know of one file only
    found: bytes = typst.compile(
        files_, format="pdf", pdf_standards=["ua-1"], timestamp=made, ignore_system_fonts=own
    )
    return found


def _letter(code: re.Match[str]) -> str:
    """Return the letter that a code means."""
    return chr(int(code[1], 16))


def _without(sources: Mapping[str, bytes], lacking: str) -> dict[str, bytes]:
    """Return data and pictures with letters that no font holds replaced."""
    table = {ord(letter): _SHOWN for letter in lacking}
    return {
        name: text if name.endswith(".typ") else text.decode().translate(table).encode()
        for name, text in sources.items()
    }
