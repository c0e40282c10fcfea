"""Free text that no spreadsheet runs, by a rule that can be taken back.

A spreadsheet takes a cell that begins with ``=``, ``+``, ``-``, ``@``, a tab or a carriage
return for a formula. Such a text gets an apostrophe before it, and so does one that begins
with apostrophes and then such a sign; a reader takes one off. Numbers stay numbers.
"""

from __future__ import annotations

import re

__all__ = ["guarded", "unguarded"]

_RISKY = re.compile(r"'*[=+\-@\t\r]")
_GUARDED = re.compile(r"'+[=+\-@\t\r]")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula; see ``unguarded``."""
    if text[:1] not in "=+-@\t\r'" or not _RISKY.match(text) or _NUMBER.fullmatch(text):
        return text
    return f"'{text}"


def unguarded(text: str) -> str:
    """Return the text as it was before ``guarded``."""
    return text[1:] if text[:1] == "'" and _GUARDED.match(text) else text
