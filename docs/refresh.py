# ruff: noqa: INP001  a script beside the pages it refreshes, not a package
"""Write again the parts of the documentation that come from running the program.

Two kinds of part are kept so: the lines under a command in a block marked
``console``, and what stands between ``<!-- from the reference: NAME -->`` and
``<!-- end -->``. Run from anywhere::

    python docs/refresh.py
"""

from __future__ import annotations

import contextlib
import csv
import io
import os
import re
import shlex
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from types import ModuleType
from unittest import mock

from corallum.actions.references import Library

# Loaded before any command runs: what a command imports is forgotten after it, and the
# compiled parts of it can't be loaded twice.
from corallum.cli import measure_page  # noqa: F401
from corallum.cli.main import main as corallum
from corallum.exchange.tables_out.dictionary import TABLES
from corallum.reference.scheme import Character, Scheme

__all__ = ["ROOT", "pages", "refreshed"]

ROOT = Path(__file__).resolve().parent.parent
_WIDTH = "80"
_CONSOLE = re.compile(r"```console\n\$ ([^\n]+)\n(.*?)```", re.DOTALL)
_PART = re.compile(r"<!-- from the reference: (\w+) -->\n(.*?)<!-- end -->", re.DOTALL)
_HEAD = re.compile(r"(.+?) \| head -(\d+)")
_SEEN = {"w": "water", "l": "lens", "k": "skeleton"}


def pages() -> Iterator[Path]:
    """Yield every page that may hold such parts."""
    yield ROOT / "README.md"
    yield from sorted((ROOT / "docs").rglob("*.md"))


def refreshed(text: str) -> str:
    """Return a page with every such part as it would be written today."""
    text = _CONSOLE.sub(lambda m: f"```console\n$ {m[1]}\n{_output(m[1])}```", text)
    return _PART.sub(
        lambda m: f"<!-- from the reference: {m[1]} -->\n\n{_PARTS[m[1]]()}\n<!-- end -->", text
    )


@cache
def _output(command: str) -> str:
    """Run one command line as a terminal 80 columns wide would show it."""
    piped = _HEAD.fullmatch(command)
    words = shlex.split(piped[1] if piped else command)
    shown = io.StringIO()
    with (
        mock.patch.object(sys, "argv", words),
        # The name in the help is that of the command, whoever runs this.
        mock.patch.dict(sys.modules, {"__main__": ModuleType("__main__")}),
        mock.patch.dict(os.environ, {"COLUMNS": _WIDTH}),
        contextlib.chdir(ROOT),
        contextlib.redirect_stdout(shown),
        contextlib.redirect_stderr(shown),
        contextlib.suppress(SystemExit),
    ):
        corallum()
    lines = [line.rstrip() for line in shown.getvalue().strip().splitlines()]
    return "".join(f"{line}\n" for line in (lines[: int(piped[2])] if piped else lines))


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    """Write a table."""
    lines = [head, tuple("---" for _ in head), *rows]
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


def _code(words: tuple[str, ...]) -> str:
    """Write ids as code, joined by commas."""
    return ", ".join(f"`{word}`" for word in words)


def _characters() -> str:
    """Write all characters by evidence group."""
    scheme = Library().reference.scheme
    parts = []
    for group in scheme.groups.values():
        act = " Conditions act on it." if group.conditions_act else ""
        parts.append(
            f"### {group.label.capitalize()}\n\n"
            f"Group `{group.id}`, misread in {group.misread:.0%} of looks.{act}\n"
        )
        own = [c for c in scheme.characters.values() if c.group == group.id]
        head = ("id", "question", "states, or unit and plausible range", "seen", "s")
        parts.append(_table(head, [_character(scheme, c) for c in own]))
    return "\n".join(parts)


def _character(scheme: Scheme, character: Character) -> tuple[str, ...]:
    """Write one character."""
    if character.is_size:
        what = f"{character.unit}, {character.least:g} to {character.most:g}"
    else:
        what = _code(scheme.report_states(character.id))
    if character.applies_to is not None:
        what += f". Applies in some states of `{character.applies_to[0]}`"
    return (
        f"`{character.id}`", character.question, what, _SEEN[character.seen],
        f"{character.seconds:g}",
    )  # fmt: skip


def _views() -> str:
    """Write the views."""
    scheme = Library().reference.scheme
    rows = [
        (f"`{view.id}`", f"`{view.state}`", f"`{view.of}`", _code(view.states))
        for view in scheme.views
    ]
    return _table(("id", "state", "means, of", "one of"), rows)


def _settings() -> str:
    """Write the settings with their values."""
    text = Library().reference.scheme.settings
    meanings = _meanings()
    rows = [
        (f"`{name}`", f"{getattr(text, name):g}", meanings[name])
        for name in type(text).__dataclass_fields__
    ]
    return _table(("setting", "value", "meaning"), rows)


def _meanings() -> Mapping[str, str]:
    """Return the meaning of each setting."""
    return {row["setting"]: row["meaning"] for row in _shipped("settings.csv")}


def _shipped(name: str) -> list[dict[str, str]]:
    """Return the rows of one shipped table."""
    path = ROOT / "src/corallum/data/reference" / name
    with path.open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def _words() -> str:
    """Write the frequency words."""
    words = Library().reference.scheme.words
    return _table(("word", "probability"), [(f"`{w}`", f"{p:g}") for w, p in words.items()])


def _methods() -> str:
    """Write the methods of judging a size."""
    rows = [
        (f"`{row['method']}`", row["definition"], row["observer_sd_trained"],
         row["observer_sd_new"], row["each_sd"], row["bias_trained"], row["bias_new"])
        for row in _shipped("methods.csv")
    ]  # fmt: skip
    head = (
        "method", "meaning", "sd of a trained observer", "of a new one", "sd of each reading",
        "bias of a trained observer", "of a new one",
    )  # fmt: skip
    return _table(head, rows)


def _conditions() -> str:
    """Write the conditions with what they act on."""
    scheme = Library().reference.scheme
    rows = []
    for id_ in scheme.condition_ids:
        acts = dict.fromkeys(e.character for e in scheme.conditions if e.condition == id_)
        rows.append((f"`{id_}`", _code(tuple(acts))))
    return _table(("condition", "acts on"), rows)


def _cautions() -> str:
    """Write the cautions as they show."""
    texts = Library().reference.entries.cautions.values()
    return _table(("id", "text"), [(f"`{caution.id}`", caution.text) for caution in texts])


def _sources() -> str:
    """Write the sources."""
    rows = [(f"`{row['source']}`", row["kind"], row["citation"]) for row in _shipped("sources.csv")]
    return _table(("key", "kind", "source"), rows)


def _genera() -> str:
    """Write the genera by family."""
    reference = Library().reference
    genera = sorted(reference.entries.genera.values(), key=lambda g: (g.order, g.family, g.name))
    rows = [
        (
            genus.order,
            genus.family,
            f"*{genus.name}*",
            genus.authority,
            _code(tuple(form.id for form in reference.forms_of(genus.name))),
            ", ".join(region.replace("_", " ") for region in genus.regions),
        )
        for genus in genera
    ]
    return _table(("order", "family", "genus", "authority", "forms", "regions"), rows)


def _plain_tables() -> str:
    """Write every plain table and its columns."""
    head = ("column", "meaning", "unit", "type", "allowed", "may be blank")
    parts = []
    for table in TABLES:
        rows = [
            (
                f"`{one.name}`", one.meaning.replace("|", "\\|"), one.unit, one.kind,
                one.values.replace("_", "\\_"), "yes" if one.blank else "",
            )
            for one in table.columns
        ]  # fmt: skip
        parts.append(f"## {table.file}\n\n{table.meaning}\n\n{_table(head, rows)}")
    return "\n".join(parts)


_PARTS: Mapping[str, Callable[[], str]] = {
    "cautions": _cautions,
    "characters": _characters,
    "conditions": _conditions,
    "genera": _genera,
    "methods": _methods,
    "plain_tables": _plain_tables,
    "settings": _settings,
    "sources": _sources,
    "views": _views,
    "words": _words,
}


def main() -> None:
    """Refresh every page."""
    for page in pages():
        page.write_text(refreshed(page.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
