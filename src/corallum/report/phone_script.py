"""The page's script: its modules, kept apart for reading and testing, put into one."""

from __future__ import annotations

import re
from importlib import resources

__all__ = ["KERNEL", "PAGE", "bundle", "module_text"]

# In the order in which they need each other.
KERNEL = ("numbers.js", "reference.js", "evidence.js", "kernel.js", "looks.js", "limits.js",
          "answer.js")  # fmt: skip
PAGE = (*KERNEL, "words.js", "records.js", "parts.js", "genera.js", "chooser.js", "colony.js",
        "page.js")  # fmt: skip

_IMPORT = re.compile(r"^import [^;]*;\n", re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(async )?(const|function|class)\b)", re.MULTILINE)


def module_text(name: str) -> str:
    """Return the text of one module as it is shipped."""
    return (resources.files("corallum.report") / "phone" / name).read_text(encoding="utf-8")


def bundle(names: tuple[str, ...]) -> str:
    """Put modules into one script: no imports, and every name stated once.

    Raises
    ------
    ValueError
        Where an import or export is left that this does not know.
    """
    parts = [_EXPORT.sub("", _IMPORT.sub("", module_text(name))) for name in names]
    text = "\n".join(parts)
    left = re.search(r"^(import|export)\b.*", text, re.MULTILINE)
    if left is not None:
        raise ValueError(f"a line that the page can't hold: {left.group(0)}")
    return text
