"""``corallum reference``: check, show, compare, names and changes, for people and for machines."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
import typer

import support
from corallum.cli.main import app
from runs import Runner

Write = Callable[..., Path]
COMMANDS = (
    ("determine",), ("measure",), ("reference", "check"), ("reference", "show"),
    ("reference", "compare"),
    ("reference", "assess"), ("reference", "limits"), ("reference", "names"),
    ("reference", "changes"), ("demo",), ("new",), ("serve",), ("sheet",), ("report",),
    ("redetermine",),
    ("backup",),
    ("restore",), ("verify",), ("practice", "make"), ("practice", "mark"),
    ("practice", "simulate"), ("observers", "agreement"), ("observers", "consensus"),
    ("observers", "errors"), ("observers", "qualify"), ("survey", "plan"), ("survey", "import"),
    ("survey", "check"), ("survey", "estimate"), ("survey", "change"),
    ("export", "sdd"), ("export", "nexus"), ("reference", "import"),
    ("export", "darwin-core"), ("export", "geojson"), ("export", "tables"),
)  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_every_command_has_help_with_an_example(run: Runner, command: tuple[str, ...]) -> None:
    """``--help`` says what a command does and shows it used."""
    found = run(*command, "--help")
    assert (found.status, found.err) == (0, "")
    assert f"Example: corallum {' '.join(command)}" in found.out


def test_no_command_goes_untested() -> None:
    """The commands tested here are the commands there are."""
    top = typer.main.get_command(app)
    found = set()
    for name, one in top.commands.items():  # type: ignore[attr-defined]  # a group
        inner = getattr(one, "commands", None)
        found |= {(name, other) for other in inner} if inner else {(name,)}
    assert found == set(COMMANDS)


def test_check_finds_the_shipped_reference_sound(run: Runner) -> None:
    """The shipped reference is sound: status 0, and how much is in it."""
    found = run("reference", "check")
    assert (found.status, found.err) == (0, "")
    assert found.out.startswith("The reference is sound.")
    assert f"{len(support.compiled().genera)}" in found.out


def test_check_counts_for_machines(run: Runner) -> None:
    """With --json the counts and the version come as one object."""
    (summary,) = run("reference", "check", "--json").objects
    assert summary["genera"] == len(support.compiled().genera)
    assert summary["hash"] == support.compiled().hash
    assert 0 < summary["filled"] <= summary["cells"]


def test_check_lists_every_fault(run: Runner, write_tables: Write, tables: dict[str, str]) -> None:
    """An unsound reference gives a line for each fault, their number, and status 2."""
    tables["words.csv"] = tables["words.csv"].replace("always,0.96", "always,2")
    tables["methods.csv"] = tables["methods.csv"].replace("eye,0.24", "eye,24")
    found = run("reference", "check", write_tables(tables))
    assert (found.status, found.out) == (2, "")
    assert found.faults[-1] == f"{len(found.faults) - 1} faults."
    assert (
        "methods.csv, row 2, column observer_sd_trained: expected a number from 0 to 2, found '24'."
        " Write it with a point." in found.faults
    )
    assert any(line.startswith("words.csv, row 2, column probability") for line in found.faults)


def test_check_gives_faults_to_machines(
    run: Runner, write_tables: Write, tables: dict[str, str]
) -> None:
    """With --json each fault is an object of file, place, expected, found and remedy."""
    tables["methods.csv"] = tables["methods.csv"].replace("eye,0.24", "eye,24")
    found = run("reference", "check", write_tables(tables), "--json")
    assert found.status == 2
    assert found.objects == [
        {
            "faults": [
                {
                    "where": "methods.csv",
                    "place": "row 2, column observer_sd_trained",
                    "expected": "a number from 0 to 2",
                    "found": "'24'",
                    "remedy": "Write it with a point.",
                }
            ]
        }
    ]
    assert found.faults[-1] == "1 fault."


@pytest.mark.parametrize(
    "command",
    [
        ("check",), ("show", "Porites", "--reference"), ("names", "Porites", "--reference"),
        ("compare", "Porites", "Acropora", "--reference"), ("changes",),
        ("limits", "--reference"), ("assess", "--reference"),
    ],
    ids=lambda command: command[0],
)  # fmt: skip
def test_a_folder_that_is_not_there_is_one_line(
    run: Runner, tmp_path: Path, command: tuple[str, ...]
) -> None:
    """Every command names a folder that is not there, with status 2 and no traceback."""
    found = run("reference", *command, tmp_path / "nowhere")
    assert (found.status, found.out.strip()) == (2, "")
    folder = tmp_path / "nowhere"
    assert f"{folder}: expected a folder of tables, found no such folder." in found.err
    assert "Traceback" not in found.err


def test_show_tells_all_of_a_genus(run: Runner) -> None:
    """The account of a genus begins with its name and holds cautions, forms and look-alikes."""
    found = run("reference", "show", "Goniastrea")
    assert (found.status, found.err) == (0, "")
    assert found.out.startswith("Goniastrea ")
    for text in ("! Look, do not touch", "taken for", "corallite_arrangement", "Older names: "):
        assert text in found.out


def test_show_answers_by_an_older_name(run: Runner) -> None:
    """An older name of one genus shows that genus (Barabattoia, Huang et al. 2014)."""
    assert run("reference", "show", "barabattoia").out.startswith("Dipsastraea ")


def test_show_gives_a_genus_to_machines(run: Runner) -> None:
    """With --json the account is one object."""
    (account,) = run("reference", "show", "Millepora", "--json").objects
    assert account["genus"]["name"] == "Millepora"
    assert account.keys() >= {"forms", "values", "lookalikes", "older_names", "cautions"}
    assert any("sting" in text for text in account["cautions"])
    assert sum(form["weight"] for form in account["forms"]) == pytest.approx(1, abs=0.01)


def test_show_tells_how_to_look_at_a_character(run: Runner) -> None:
    """The account of a character holds its question and its states."""
    found = run("reference", "show", "corallite_arrangement")
    assert found.status == 0
    assert found.out.startswith("corallite_arrangement (water, 10 s)")
    assert all(state in found.out for state in ("plocoid", "cerioid", "meandroid"))


@pytest.mark.parametrize("id_", ["shared_wall", "calice_diameter_mm", "branch_habit"])
def test_show_gives_a_character_to_machines(run: Runner, id_: str) -> None:
    """A view, a size and a character that applies at times are each one object."""
    (account,) = run("reference", "show", id_, "--json").objects
    assert account["id"] == id_
    assert account.keys() >= {"question", "definition", "seen", "seconds", "states", "applies"}


@pytest.mark.parametrize(
    ("command", "message"),
    [
        pytest.param(
            ("show", "Lobofyllia"), "unknown genus 'Lobofyllia'. Did you mean Lobophyllia",
            id="show",
        ),
        pytest.param(("show", "Symphyllia"), "unknown genus of today 'Symphyllia'.", id="several"),
        pytest.param(
            ("compare", "Favites", "Zzz"), "unknown genus 'Zzz'.", id="compare second"
        ),
        pytest.param(
            ("compare", "Zzz", "Favites"), "unknown genus 'Zzz'.", id="compare first"
        ),
        pytest.param(("names", "Zzz"), "unknown genus 'Zzz'.", id="names"),
        pytest.param(("names", ""), "unknown genus ''.", id="no name"),
        pytest.param(("limits", "--region", "mars"), "unknown region 'mars'.", id="limits"),
        pytest.param(("assess", "--region", "mars"), "unknown region 'mars'.", id="assess"),
    ],
)  # fmt: skip
def test_an_unknown_name_is_one_line(run: Runner, command: tuple[str, ...], message: str) -> None:
    """A name that the reference does not hold is one line, with status 2."""
    found = run("reference", *command)
    lines = [line for line in found.faults if line.strip()]
    assert (found.status, found.out.strip()) == (2, "")
    assert len(lines) == 1
    assert lines[0].startswith(message)


def test_compare_puts_the_deciding_characters_first(run: Runner) -> None:
    """Two genera side by side, by how well each character alone tells them apart."""
    (found,) = run("reference", "compare", "Favites", "Dipsastraea", "--json").objects
    rights = [row["right"] for row in found["rows"]]
    assert (found["a"], found["b"]) == ("Favites", "Dipsastraea")
    assert rights == sorted(rights, reverse=True)
    assert all(0.5 - 1e-9 <= right <= 1 for right in rights)
    # Shared walls against walls of one's own (Huang et al. 2014); colour is weak evidence
    # (common practice, no source).
    order = [row["character"] for row in found["rows"]]
    assert order.index("corallite_arrangement") < order.index("living_colour")


def test_compare_reads_well(run: Runner) -> None:
    """The page for people names both genera and the words of each."""
    found = run("reference", "compare", "favites", "Dipsastraea")
    assert (found.status, found.err) == (0, "")
    assert found.out.startswith("Favites and Dipsastraea")
    assert "cerioid" in found.out


def test_compare_is_the_same_either_way_round(run: Runner) -> None:
    """Swapping the two genera swaps the columns and nothing else."""
    (forth,) = run("reference", "compare", "Favites", "Dipsastraea", "--json").objects
    (back,) = run("reference", "compare", "Dipsastraea", "Favites", "--json").objects
    ahead = {row["character"]: (row["a"], row["b"]) for row in forth["rows"]}
    assert ahead == {row["character"]: (row["b"], row["a"]) for row in back["rows"]}
    assert sorted(forth["notes"]) == sorted(back["notes"])


NAMES = (
    # Huang et al. 2014, Gittenberger et al. 2011, Budd et al. 2012.
    pytest.param("Barabattoia", 0, False, ["Dipsastraea"], id="moved as a whole"),
    pytest.param("Dipsastraea", 0, True, ["Dipsastraea"], id="in use"),
    pytest.param("favia", 1, True, ["Favia", "Dipsastraea", "Goniastrea"], id="split"),
)


@pytest.mark.parametrize(("name", "status", "current", "genera"), NAMES)
def test_names_says_whether_a_name_is_clear(
    run: Runner, name: str, status: int, *, current: bool, genera: list[str]
) -> None:
    """Status 0 where a name means one genus, 1 where it may mean several."""
    found = run("reference", "names", name, "--json")
    (resolved,) = found.objects
    assert (found.status, found.err) == (status, "")
    assert resolved["name"] == name.capitalize()
    assert resolved["current"] == current
    assert set(genera) <= set(resolved["genera"])


def test_names_reads_well(run: Runner) -> None:
    """The page for people says where each part of a name went, and by which source."""
    found = run("reference", "names", "Favia")
    assert found.status == 1
    assert found.out.startswith("Favia is in use.")
    assert "Goniastrea" in found.out
    assert "huang2014" in found.out


def test_changes_finds_none_where_there_are_none(
    run: Runner, write_tables: Write, shipped_tables: Mapping[str, str]
) -> None:
    """A copy of the shipped reference differs in nothing: status 0."""
    folder = write_tables(shipped_tables)
    people, machines = (run("reference", "changes", folder, *o) for o in ((), ("--json",)))
    assert (people.status, people.out) == (0, "Nothing differs.\n")
    assert (machines.status, json.loads(machines.out)) == (0, [])


def test_changes_lists_what_differs(
    run: Runner, write_tables: Write, shipped_tables: Mapping[str, str]
) -> None:
    """An edited copy differs in what was edited: status 1, before and after."""
    text = shipped_tables["settings.csv"]
    after = {**shipped_tables, "settings.csv": text.replace("set_mass,0.9", "set_mass,0.95")}
    old, new = write_tables(shipped_tables, "old"), write_tables(after, "new")
    people, machines = (run("reference", "changes", old, new, *o) for o in ((), ("--json",)))
    assert (people.status, machines.status) == (1, 1)
    assert ["setting", "set_mass", "0.9", "0.95"] in [
        line.split() for line in people.out.splitlines()
    ]
    assert json.loads(machines.out) == [
        {"kind": "setting", "what": "set_mass", "old": "0.9", "new": "0.95"}
    ]


def test_changes_of_an_unsound_reference_is_refused(
    run: Runner, write_tables: Write, shipped_tables: Mapping[str, str]
) -> None:
    """Two references can be compared only where both are sound: status 2."""
    broken = {name: text for name, text in shipped_tables.items() if name != "words.csv"}
    found = run("reference", "changes", write_tables(shipped_tables, "a"), write_tables(broken))
    assert (found.status, found.out) == (2, "")
    assert (
        "words.csv: expected this table, found no such file."
        " Copy it back from the shipped reference." in found.faults
    )
