"""The notebooks run, their pages show what they show, and their figures are true."""

from __future__ import annotations

import ast
import inspect
import json
import re
from collections.abc import Mapping
from html import unescape
from pathlib import Path
from typing import Any

import pytest

import corallum.notebook as public
import notebook_pages as pages

PAGE = Path(__file__).parents[2] / "docs/reference/python.md"


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Any]:
    """Every notebook, run in a process of its own."""
    return {
        name: pages.run_notebook(name, tmp_path_factory.mktemp("kernel")) for name in pages.NAMES
    }


def shown(notebook: Any, cell: str) -> str:  # noqa: ANN401  the notebook's class is untyped
    """What the cell that ends with a line shows, without tags."""
    (found,) = (one for one in notebook.cells if one.source.strip().endswith(cell))
    data = found.outputs[0]["data"]
    text: str = data.get("text/html", data["text/plain"])
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)))


def numbers(text: str, after: str, n: int) -> list[float]:
    """The first numbers after a word."""
    found = re.findall(r"−?\d+\.?\d*", text[text.index(after) + len(after) :])
    return [float(one.replace("−", "-")) for one in found[:n]]


@pytest.mark.parametrize("name", pages.NAMES)
def test_a_notebook_is_stored_without_what_it_shows(name: str) -> None:
    """No outputs and no counts: a change of a figure is no change of the notebook."""
    stored = json.loads((pages.FOLDER / f"{name}.ipynb").read_text(encoding="utf-8"))
    code = [cell for cell in stored["cells"] if cell["cell_type"] == "code"]
    assert code
    assert all(not cell["outputs"] and cell["execution_count"] is None for cell in code)


def test_every_notebook_is_run() -> None:
    """The notebooks that are run and shown are those that there are."""
    assert {path.stem for path in pages.FOLDER.glob("*.ipynb")} == set(pages.NAMES)


@pytest.mark.parametrize("name", pages.NAMES)
def test_a_page_holds_every_cell_and_what_it_shows(run: Mapping[str, Any], name: str) -> None:
    """No cell is left out of its page, nor what it shows; and invented data are said to be."""
    text = pages.page_of(name, run[name])
    cells = [cell for cell in run[name].cells if cell.cell_type == "code"]
    assert "invented" in text
    assert all(cell.source.strip() in text for cell in cells)
    shown_ = sum(len(cell.outputs) for cell in cells)
    assert shown_ > 5
    assert text.count('<div class="shown">') + text.count("```text") == shown_


def test_the_first_notebook_shows_kinds_of_answers(run: Mapping[str, Any]) -> None:
    """A free disc can't be told in the water: facts of the genera, common practice, no source."""
    notebook = run["from-colonies-to-genera"]
    assert "1 could not be read" in shown(notebook, "answers")
    disc = shown(notebook, 'answers.of("invented-2").sentence')
    assert "No look in the water tells these apart" in disc
    whole = shown(notebook, "weak.whole()")
    assert 0 < numbers(whole, "best genus is right", 1)[0] < 100


def test_the_second_notebook_prints_the_published_kappa(run: Mapping[str, Any]) -> None:
    """Cohen 1960: kappa .492, at most .831."""
    text = shown(run["from-slates-to-change"], "cohen")
    assert numbers(text, "Cohen's kappa", 1) == [0.492]
    assert "could be 0.831 at most" in text


def test_the_second_notebook_corrects_towards_the_truth(run: Mapping[str, Any]) -> None:
    """Corrected cover is nearer to what the reef was made of than what was said."""
    text = shown(run["from-slates-to-change"], '["said", "by_readings", "truth"]].round(2)')
    for genus in ("Favites", "Goniastrea"):
        said, corrected, truth = numbers(text, genus, 3)
        assert abs(corrected - truth) < abs(said - truth) / 3


def test_the_second_notebook_tells_a_change_of_observers_from_one_of_the_reef(
    run: Mapping[str, Any],
) -> None:
    """The invented storm broke Acropora only: of Favites nothing changed, whatever was said."""
    text = shown(run["from-slates-to-change"], "errors=False)\nchange")
    # before and after, each with both ends; then the change as said, and as corrected.
    favites = numbers(text, "Favites", 12)
    said, corrected = favites[6:9], favites[9:12]
    assert not said[1] <= 0 <= said[2]
    assert corrected[1] <= 0 <= corrected[2]
    acropora = numbers(text, "Acropora", 12)[9:12]
    assert acropora[2] < 0


def names() -> dict[str, set[str]]:
    """Public names of the package, and of its classes what each adds of its own."""
    found: dict[str, set[str]] = {"": set(public.__all__)}
    for name in public.__all__:
        made = getattr(public, name)
        if inspect.isclass(made):
            found[name] = {one for one in vars(made) if not one.startswith("_")}
            tree = ast.parse(inspect.getsource(inspect.getmodule(made) or public))
            own = next(n for n in ast.walk(tree) if isinstance(n, ast.ClassDef) and n.name == name)
            found[name] |= {
                n.attr for n in ast.walk(own)
                if isinstance(n, ast.Attribute) and isinstance(n.ctx, ast.Store)
                and isinstance(n.value, ast.Name) and n.value.id == "self"
                and not n.attr.startswith("_")
            }  # fmt: skip
    return found


def test_every_public_name_stands_in_the_page() -> None:
    """Functions, classes, methods and attributes are documented as code."""
    code = " ".join(re.findall(r"`([^`\n]+)`", PAGE.read_text(encoding="utf-8")))
    words = set(re.findall(r"\w+", code))
    absent = {f"{kind}.{name}" for kind, every in names().items() for name in every - words}
    assert absent == set()


def test_names_are_loaded_when_asked_for() -> None:
    """All that is public is there, and nothing else."""
    assert sorted(public.__all__) == dir(public)
    assert all(getattr(public, name).__name__ == name for name in public.__all__)
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = public.nothing  # type: ignore[attr-defined]
