"""Run the notebooks and write each as a page of the documentation, with what it shows.

Notebooks are stored without outputs, and their pages are not stored: building the
documentation writes those that are missing. To write them anew, from anywhere::

    python tools/notebook_pages.py
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from textwrap import fill
from typing import Any
from unittest import mock

import nbformat
from nbclient import NotebookClient

__all__ = ["FOLDER", "NAMES", "on_pre_build", "page_of", "run_notebook"]

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs/notebooks"
NAMES = ("from-colonies-to-genera", "from-slates-to-change")
SECONDS, _WIDE = 120, 72

_NOTE = """
!!! note ""
    This page is a notebook that was run: [{name}.ipynb]({name}.ipynb). Gray blocks are its \
cells, and below each is what it shows. Written by `tools/notebook_pages.py`.
"""


def run_notebook(name: str, home: Path) -> Any:  # noqa: ANN401  the notebook's class is untyped
    """Run a notebook and return it with its outputs.

    Parameters
    ----------
    name : str
        One of ``NAMES``.
    home : Path
        A folder for what the kernel writes of its own.
    """
    notebook = nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)
    own = {
        "IPYTHONDIR": str(home / "ipython"), "JUPYTER_RUNTIME_DIR": str(home / "runtime"),
        "JUPYTER_CONFIG_DIR": str(home / "config"), "JUPYTER_DATA_DIR": str(home / "data"),
        "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(ROOT / "src"),
    }  # fmt: skip
    with mock.patch.dict(os.environ, own):
        client = NotebookClient(
            notebook, timeout=SECONDS, kernel_name="python3",
            resources={"metadata": {"path": str(FOLDER)}},
            # The kernel listens on this machine only; it warns that it does so unencrypted.
            extra_arguments=["--IPKernelApp.log_level=40"],
        )  # fmt: skip
        client.execute()
    return notebook


def page_of(name: str, notebook: Any) -> str:  # noqa: ANN401  the notebook's class is untyped
    """Return the page of a notebook that was run.

    Parameters
    ----------
    name : str
        One of ``NAMES``.
    notebook : NotebookNode
        With its outputs.
    """
    parts = list(_parts(notebook))
    title, _, rest = parts[0].partition("\n")
    parts[0] = f"{title}\n{_NOTE.format(name=name)}{rest}"
    return "\n\n".join(part.strip() for part in parts) + "\n"


def _parts(notebook: Any) -> Iterator[str]:  # noqa: ANN401  the notebook's class is untyped
    """Yield cells and outputs as Markdown."""
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            yield cell.source
            continue
        yield f"```python\n{cell.source.strip()}\n```"
        for output in cell.outputs:
            yield _shown(output)


def _shown(output: Mapping[str, Any]) -> str:
    """Write one output: HTML as it is, without the blank lines that would end it; else as text."""
    data = output.get("data", {})
    if "text/html" in data:
        lines = data["text/html"].splitlines()
        return '<div class="shown">\n' + "\n".join(filter(str.strip, lines)) + "\n</div>"
    text = output.get("text") or data.get("text/plain", "")
    lines = [fill(line, _WIDE, subsequent_indent="    ") for line in text.rstrip().splitlines()]
    return "```text\n" + "\n".join(lines) + "\n```"


def on_pre_build(config: object) -> None:
    """Write the pages that are not there yet, before the documentation is built."""
    del config
    if not all((FOLDER / f"{name}.md").is_file() for name in NAMES):
        main()


def main() -> None:
    """Run all and write their pages."""
    for name in NAMES:
        with TemporaryDirectory() as home:
            text = page_of(name, run_notebook(name, Path(home)))
        (FOLDER / f"{name}.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
