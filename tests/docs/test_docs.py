"""The documentation is complete, true to the program, and stands on its own."""

from __future__ import annotations

import ast
import csv
import importlib.util
import inspect
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
import typer

import corallum
from corallum import errors
from corallum.cli.main import app
from corallum.errors import Fault, InputError
from corallum.exchange.answers import answer_object, error_object
from corallum.model import verdict
from corallum.reference.genera import COLUMNS as GENERA_COLUMNS
from corallum.reference.genera import REGIONS
from corallum.reference.scheme_tables import COLUMNS as SCHEME_COLUMNS
from support import answer, library

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
TABLES = ROOT / "src/corallum/data/reference"
FRONT = ("README.md", "ARCHITECTURE.md", "CONTRIBUTING.md", "CHANGELOG.md")
MOST_LINES, MOST_COLUMNS = 70, 120


def _refresh() -> ModuleType:
    """``docs/refresh.py``, which is no part of a package."""
    spec = importlib.util.spec_from_file_location("refresh", DOCS / "refresh.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


REFRESH = _refresh()
PAGES = tuple(REFRESH.pages())
EVERYTHING = (*PAGES, *(ROOT / name for name in FRONT[1:]), TABLES / "README.md")


@cache
def read(path: Path) -> str:
    """Text of one page."""
    return path.read_text(encoding="utf-8")


def page(name: str) -> str:
    """Text of one page of the documentation."""
    return read(DOCS / name)


def name_of(path: Path) -> str:
    """A page's place in the checkout."""
    return path.relative_to(ROOT).as_posix()


def missing(words: Iterable[str], text: str) -> list[str]:
    """Words that do not stand in a text as code."""
    shown = {
        part for code in re.findall(r"`([^`\n]+)`", text) for part in re.split(r"[\s,|]+", code)
    }
    return [word for word in words if word not in shown]


def commands(
    command: Any,  # noqa: ANN401  the parser's class has no public name
    path: tuple[str, ...] = ("corallum",),
) -> Iterator[tuple[str, Any]]:
    """Every command of the command line with its full name."""
    yield " ".join(path), command
    for name, child in getattr(command, "commands", {}).items():
        yield from commands(child, (*path, name))


COMMANDS = dict(commands(typer.main.get_command(app)))


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The documentation, built in strict mode."""
    folder = tmp_path_factory.mktemp("site")
    done = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--strict", "--site-dir", str(folder)],
        cwd=ROOT, env=os.environ | {"NO_MKDOCS_2_WARNING": "1"}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return folder


def test_the_documentation_builds_in_strict_mode(site: Path) -> None:
    """Every page is built, in its place, and every link and anchor leads somewhere."""
    built = {path.relative_to(site).with_suffix("").as_posix() for path in site.rglob("*.html")}
    written = {path.relative_to(DOCS).with_suffix("").as_posix() for path in DOCS.rglob("*.md")}
    assert built - {"404"} == written


def test_pages_ask_nothing_of_the_outside(site: Path) -> None:
    """No page or style sheet loads anything from another address."""
    loads = re.compile(
        r"""<(?:script|img|iframe|source)[^>]*\ssrc=["']?(?:https?:)?//[^>]*>"""
        r"""|<link[^>]*\shref=["']?(?:https?:)?//[^>]*>"""
        r"""|@import\s+(?:url\()?["']?(?:https?:)?//[^;]*"""
        r"""|url\(["']?(?:https?:)?//[^)]*\)"""
    )
    pages = [path for path in site.rglob("*") if path.suffix in (".html", ".css")]
    found = {f"{path.name}: {hit}" for path in pages for hit in loads.findall(read(path))}
    assert pages
    assert not found


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_what_pages_show_is_what_the_program_prints(path: Path) -> None:
    """Terminal output and tables from the reference are as the program gives them today."""
    assert REFRESH.refreshed(read(path)) == read(path), "run: python docs/refresh.py"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_documented(name: str) -> None:
    """A command has a heading and its help, in which every option and argument stands."""
    text = page("reference/commands.md")
    found = re.search(rf"^#+ {name}\n(.*?)(?=^#|\Z)", text, re.MULTILINE | re.DOTALL)
    assert found, f"no heading for {name}"
    assert f"$ {name} --help" in found[1]
    for parameter in COMMANDS[name].params:
        spelt = [*parameter.opts, *parameter.secondary_opts]
        assert [opt for opt in spelt if not re.search(rf"(?<![\w-]){opt}(?![\w-])", found[1])] == []


def test_every_setting_is_documented() -> None:
    """Every setting stands in the page of the tables."""
    assert not missing(
        library().reference.scheme.settings.__dataclass_fields__, page("reference/tables.md")
    )


def test_every_character_is_documented() -> None:
    """Every id of a character or view and every state of it stands in the page of characters."""
    scheme = library().reference.scheme
    text = page("reference/characters.md") + page("reference/tables.md")
    ids = (*scheme.characters, *scheme.view_ids)
    assert not missing(ids, text)
    assert not missing({state for id_ in ids for state in scheme.report_states(id_)}, text)


def test_every_word_of_the_tables_is_documented() -> None:
    """Conditions, methods, regions, groups, words, cautions, sources and genera are there."""
    scheme, entries = library().reference.scheme, library().reference.entries
    text = "".join(map(read, PAGES))
    assert not missing(scheme.condition_ids, page("reference/colonies.md"))
    assert not missing(scheme.methods, page("reference/colonies.md"))
    assert not missing(REGIONS, page("reference/colonies.md"))
    assert not missing((*scheme.groups, *scheme.words, *entries.cautions, *entries.sources), text)
    assert [name for name in entries.genera if f"*{name}*" not in page("reference/genera.md")] == []


def headers() -> Mapping[str, set[str]]:
    """Columns of every shipped table, and those that the loader asks for, by table."""
    found = {name.removesuffix(".csv"): set(columns) for name, columns in SCHEME_COLUMNS.items()}
    found |= {name: set(columns) for name, columns in GENERA_COLUMNS.items()}
    for path in TABLES.rglob("*.csv"):
        name = path.relative_to(TABLES).parts[0].removesuffix(".csv")
        with path.open(newline="", encoding="utf-8") as stream:
            found[name] |= set(next(csv.reader(stream)))
    return found


@pytest.mark.parametrize("table", headers())
def test_every_table_and_column_is_documented(table: str) -> None:
    """A table has a heading, under which every column stands, and a paragraph in its README."""
    section = re.search(
        rf"^### {table}\n(.*?)(?=^##|\Z)", page("reference/tables.md"), re.MULTILINE | re.DOTALL
    )
    beside = re.search(
        rf"^\*\*{table}(?:\.csv|/)\*\*(.*?)(?=^\*\*|^##|\Z)",
        read(TABLES / "README.md"), re.MULTILINE | re.DOTALL,
    )  # fmt: skip
    assert section, f"no heading for {table}"
    assert beside, f"no paragraph for {table}"
    assert not missing(headers()[table], section[1])
    assert not missing(headers()[table] - {"source"}, beside[1])


def test_every_error_is_documented() -> None:
    """Every class of errors, and every field of a fault, stands in the page of errors."""
    classes = [
        name for name, _ in inspect.getmembers(errors, inspect.isclass) if name in errors.__all__
    ]
    assert classes
    assert not missing(classes, page("reference/errors.md"))
    assert not missing(Fault.__dataclass_fields__, page("reference/errors.md"))


def keys(value: object) -> set[str]:
    """Every key of a JSON value, at any depth."""
    if isinstance(value, dict):
        return set(value) | {key for item in value.values() for key in keys(item)}
    if isinstance(value, list):
        return {key for item in value for key in keys(item)}
    return set()


def test_every_key_of_the_answer_is_documented() -> None:
    """The page of the answer shows every key of an answer and of a bad colony, and no other."""
    found = answer_object(answer(region="atlantic", growth_form="massive", wall_groove="present"))
    assert all(found.values())
    bad = error_object("c", InputError([Fault("c", "", "", "", "")]))
    text = page("reference/answer.md")
    shown = [json.loads(block) for block in re.findall(r"```json\n(.*?)```", text, re.DOTALL)]
    listed = {
        key for row in re.findall(r"^\| `([\w.]+)`", text, re.MULTILINE) for key in row.split(".")
    }
    assert keys(found) | keys(bad) == keys(shown)
    assert set(found) <= listed
    assert not {key for key in keys(found) if f"`{key}`" not in text and key not in listed}


def returned(name: str) -> set[str]:
    """Texts that a function of the verdict may return."""
    tree = ast.parse(inspect.getsource(getattr(verdict, name)))
    returns = [node.value for node in ast.walk(tree) if isinstance(node, ast.Return) and node.value]
    parts: list[ast.AST] = []
    for value in returns:
        parts.extend([value.body, value.orelse] if isinstance(value, ast.IfExp) else [value])
    constants = [part.value for part in parts if isinstance(part, ast.Constant)]
    return {value for value in constants if isinstance(value, str) and value}


@pytest.mark.parametrize(
    "name", ["reference/answer.md", "methods/verdict.md", "how-to/read-an-answer.md"]
)
def test_every_status_and_need_is_documented(name: str) -> None:
    """What a verdict may say stands in the three pages that explain it."""
    statuses, needs = returned("_status"), returned("_needs")
    assert {"settled", "open"} < statuses
    assert {"nothing", "look"} < needs
    assert not missing(statuses | needs, page(name))


def test_readme_begins_with_exactly_two_commands() -> None:
    """The quick start of the README is ``make demo`` and ``make test``, nothing else."""
    start = re.search(r"^## Start\n(.*?)^## ", read(ROOT / "README.md"), re.MULTILINE | re.DOTALL)
    assert start
    blocks = re.findall(r"```\w*\n(.*?)```", start[1], re.DOTALL)
    assert blocks == ["make demo\nmake test\n"]


def test_architecture_is_one_screen() -> None:
    """The architecture is at most 70 lines of at most 120 characters."""
    lines = read(ROOT / "ARCHITECTURE.md").splitlines()
    assert len(lines) <= MOST_LINES
    assert [line for line in lines if len(line) > MOST_COLUMNS] == []


@pytest.mark.parametrize("path", EVERYTHING, ids=name_of)
def test_files_that_pages_name_are_there(path: Path) -> None:
    """Every file and link that a page names exists."""
    text = read(path)
    named = re.findall(r"`((?:src|tests|tools|docs|bench)/[\w./-]+\.\w+)`", text)
    named += [
        f"src/corallum/{part}" for part in re.findall(r"`((?:model|reference|cli)/\w+\.py)`", text)
    ]
    linked = re.findall(r"\]\((?!https?:|#)([^)#\s]+)", text)
    absent = [one for one in named if not (ROOT / one).exists()]
    absent += [one for one in linked if not (path.parent / one).exists()]
    assert absent == []


def test_make_targets_that_pages_name_are_there() -> None:
    """Every ``make`` target that a page names is one of the Makefile's."""
    targets = set(re.findall(r"^(\w+):", read(ROOT / "Makefile"), re.MULTILINE))
    named = {name for path in EVERYTHING for name in re.findall(r"`make (\w+)`", read(path))}
    assert {"demo", "test", "bench", "figures"} <= named <= targets


@pytest.mark.parametrize("name", ["colony.json", "free-disc.json"])
def test_invented_colonies_say_so(name: str) -> None:
    """A colony that the pages determine is invented by its id."""
    colony = json.loads(read(DOCS / "examples" / name))
    assert colony["id"].startswith("invented-")


def test_the_tutorial_shows_the_file_that_it_determines() -> None:
    """The colony printed in the tutorial is the one in the file."""
    shown = re.findall(r"```json\n(\{.*?)```", page("first-determination.md"), re.DOTALL)
    assert shown == [read(DOCS / "examples/colony.json")]


def test_the_changelog_begins_with_this_version() -> None:
    """The newest heading of the changelog is the version of the program."""
    first = re.search(r"^## (\S+?),", read(ROOT / "CHANGELOG.md"), re.MULTILINE)
    assert first
    assert first[1] == corallum.__version__


def test_what_is_not_documented_is_found() -> None:
    """Negative control: an invented column, and part of a real one, count as missing."""
    text = page("reference/tables.md")
    assert missing(["invented_column", "survey", "survey_share"], text) == [
        "invented_column",
        "survey",
    ]
