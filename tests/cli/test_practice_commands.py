"""``corallum practice`` and ``corallum observers errors`` and ``qualify``, as people run them."""

from __future__ import annotations

import csv
import io
import json
from math import comb
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import support
from corallum.actions.practice_answers import AnswerItem, answer_item
from corallum.actions.practice_files import draw_item
from corallum.actions.practice_sets import MakeSet, make_set
from corallum.cli.practice import KindChoice, PurposeChoice
from corallum.draw.surface import ViewOptions, render_colony
from corallum.exchange.practice import set_from_text
from corallum.observers.study import Kind
from corallum.practice.making import item_surface
from corallum.practice.sets import PURPOSES
from invented import Team
from runs import Runner

HEAD = "observer,item,genera,confidence,seconds,corallite_arrangement"


@pytest.fixture
def folder(run: Runner, tmp_path: Path) -> Path:
    """A set of six drawn colonies of two genera."""
    path = tmp_path / "pair"
    options = ("--purpose", "pair", "--genus", "Favites", "--genus", "goniastrea", "--items", 6)
    assert run("practice", "make", *options, "--out", path).status == 0
    return path


def truth(folder: Path) -> list[str]:
    """What each item is."""
    made = set_from_text((folder / "set.json").read_text("utf-8"), "", support.compiled())
    return [item.genus for item in made.items]


def answers(folder: Path, *, wrong_of: str = "B") -> Path:
    """Two observers, one of whom takes each genus for the other."""
    other = {"Favites": "Goniastrea", "Goniastrea": "Favites"}
    rows = [HEAD]
    for number, genus in enumerate(truth(folder), start=1):
        rows += [f"A,{number},{genus},.9,10,", f"B,{number},{other[genus]},99 %,,plocoid"]
    path = folder / f"told_{wrong_of}.csv"
    path.write_text("\n".join(rows), encoding="utf-8-sig")
    return path


def test_choices_are_those_of_the_program() -> None:
    """Purposes and kinds that the commands offer are those that there are."""
    assert [one.value for one in PurposeChoice] == list(PURPOSES)
    assert [one.value for one in KindChoice] == [one.value for one in Kind]


def test_a_set_in_a_folder(run: Runner, folder: Path) -> None:
    """The folder holds the set, the questions and a table to fill in, and is made once."""
    assert sorted(path.name for path in folder.iterdir()) == [
        "answers.csv", "questions.csv", "set.json",
    ]  # fmt: skip
    assert sorted(set(truth(folder))) == ["Favites", "Goniastrea"]
    again = run("practice", "make", "--out", folder)
    assert again.status == 2
    assert again.faults == [
        f"{folder}: expected a new folder, found file exists. Choose another name."
    ]


def test_the_seed_makes_the_same_set(run: Runner, tmp_path: Path) -> None:
    """Two sets of one seed are the same, of another seed not; --json says what was made."""
    texts = []
    for name, seed in (("a", 5), ("b", 5), ("c", 6)):
        done = run("practice", "make", "--items", 3, "--seed", seed, "--region", "red_sea",
                   "--described", 1, "--out", tmp_path / name, "--json")  # fmt: skip
        (found,) = done.objects
        assert (found["items"], found["pictures"], found["region"]) == (3, 0, "red_sea")
        texts.append((tmp_path / name / "set.json").read_text("utf-8"))
    assert texts[0] == texts[1] != texts[2]


def test_pictures_say_that_they_are_drawings(run: Runner, tmp_path: Path) -> None:
    """A picture differs from the bare drawing by a label along its lower edge alone."""
    out = tmp_path / "set"
    done = run("practice", "make", "--items", 1, "--pictures", "--out", out)
    assert "1 drawing, not photos" in done.out
    raw = (out / "pictures" / "item-001.jpg").read_bytes()
    compiled = support.compiled()
    (item,) = set_from_text((out / "set.json").read_text("utf-8"), "", compiled).items
    assert draw_item(compiled, item) == raw
    labelled = np.asarray(Image.open(io.BytesIO(raw)).convert("RGB"), dtype=float)
    g = compiled.genera.index(item.genus)
    form = next(i for i, id_ in enumerate(compiled.form_ids)
                if id_ == item.form and compiled.form_genus[i] == g)  # fmt: skip
    bare = render_colony(
        item_surface(compiled, form, item.seed, item.scene),
        ViewOptions(width=1000, height=750, scale_bar=item.ruler, water=0.15, noise=0.01),
        np.random.default_rng(item.seed + 2),
    ).image
    rows = np.abs(labelled - bare).mean(axis=(1, 2))
    assert labelled.shape == (750, 1000, 3)
    assert rows[:650].mean() < 6
    assert rows[-12:].mean() > 3 * rows[:650].mean()


@pytest.mark.parametrize(
    ("options", "wanted"),
    [
        (("--purpose", "pair", "--genus", "Favites"), "expected two different genera, found 1"),
        (("--purpose", "character"), "expected one to practise, found none"),
        (("--purpose", "person"), "expected --programme and --person with the purpose person"),
        (("--region", "mars"), "practice set, region: expected one of indo_pacific"),
        (("--region", "anywhere"), "practice set, region: expected one of indo_pacific"),
        (("--genus", "Favitess"), "unknown genus 'Favitess'. Did you mean Favites"),
        (("--title", "two\nlines"), "expected 1 to 120 characters on one line"),
        (("--items", 401), "Try corallum practice make --help."),
    ],
)
def test_a_wish_that_can_not_be_had(
    run: Runner, tmp_path: Path, options: tuple[object, ...], wanted: str
) -> None:
    """One line, status 2, and no folder."""
    done = run("practice", "make", *options, "--out", tmp_path / "set")
    assert (done.status, done.out, len(done.faults)) == (2, "", 1)
    assert wanted in done.err
    assert not (tmp_path / "set").exists()


def test_a_set_for_what_a_person_needs(run: Runner, team: Team, tmp_path: Path) -> None:
    """It comes from the programme's own region and reference, and says why each item is there."""
    home = team.programme.folder
    done = run("practice", "make", "--purpose", "person", "--programme", home, "--person",
               "observer 1", "--items", 4, "--out", tmp_path / "set", "--json")  # fmt: skip
    assert (done.status, done.objects[0]["region"]) == (0, "red_sea")
    items = json.loads((tmp_path / "set" / "set.json").read_text("utf-8"))["items"]
    assert {item["why"] for item in items} == {"Hardly tried yet."}
    nobody = run("practice", "make", "--purpose", "person", "--programme", home, "--person",
                 "Nobody", "--out", tmp_path / "none")  # fmt: skip
    assert nobody.faults == [
        "--person: expected one of Lead, Observer 1, Observer 2, Reader, found 'Nobody'."
        " Use one of these names."
    ]


def test_answers_are_marked(run: Runner, folder: Path, tmp_path: Path) -> None:
    """Who names every genus is right, who swaps them is not; --out has a row an answer."""
    table, out = answers(folder), tmp_path / "marks.csv"
    done = run("practice", "mark", folder, table, "--json", "--out", out)
    assert (done.status, done.err) == (0, "")
    (found,) = done.objects
    assert (found["observers"]["A"]["right"], found["observers"]["B"]["right"]) == (6, 0)
    assert found["observers"]["A"]["score"] > found["observers"]["B"]["score"]
    assert found["same_reference"] is True
    first, second = found["answers"][:2]
    assert (first["observer"], first["right"], first["seconds"]) == ("A", True, 10.0)
    assert {look["character"] for look in second["astray"]} == {"corallite_arrangement"}
    with out.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["right"] for row in rows] == ["yes", "no"] * 6
    assert run("practice", "mark", folder, table, "--out", out).status == 2


def test_marks_for_people(run: Runner, folder: Path) -> None:
    """The page shows each observer's sum, what decides, and what led astray."""
    table = answers(folder)
    text = run("practice", "mark", folder / "set.json", "-", stdin=table.read_bytes()).out
    shown = " ".join(text.split())
    for part in ("mean score", "B, item 6: wrong", "Said Favites (", "decides against",
                 "led astray: corallite arrangement: said plocoid"):  # fmt: skip
        assert part in shown


def test_another_reference_is_said(run: Runner, folder: Path) -> None:
    """Where the set was drawn from another reference, the page and the object say so."""
    path = folder / "set.json"
    value = json.loads(path.read_text("utf-8"))
    path.write_text(json.dumps(value | {"reference": "0" * 64}), encoding="utf-8")
    table = answers(folder)
    assert "drawn from another reference" in run("practice", "mark", folder, table).out
    found = run("practice", "mark", folder, table, "--json").objects[0]
    assert found["same_reference"] is False


def test_bad_answers_are_lines(run: Runner, folder: Path) -> None:
    """Each fault is one line with exit status 2, and nothing is marked."""
    text = f"{HEAD}\nA,9,Favites,.9,,\nA,1,Favites,80,,cerioidd\n"
    done = run("practice", "mark", folder, "-", stdin=text.encode())
    assert (done.status, done.out, len(done.faults)) == (2, "", 3)
    assert "row 2, item: expected an item from 1 to 6, found '9'" in done.err
    assert "Did you mean cerioid?" in done.err
    large = run("practice", "mark", folder, "-", "--most-mb", 1, stdin=b"x" * 1_000_001)
    assert "raise --most-mb" in large.err


def test_a_small_study(run: Runner) -> None:
    """The study tells intervals, gains with their errors, and who loses; it can be repeated."""
    options = ("--observers", 4, "--answers", 60, "--fresh", 100, "--region", "red_sea")
    first = run("practice", "simulate", *options, "--kind", "mixed", "--json")
    (found,) = first.objects
    assert first.status == (0 if found["gain"]["own"]["mean"] > 0 else 1)
    assert set(found["intervals_hold"]) == {"states", "right_states", "eye_bias", "eye_spread"}
    assert set(found["log_loss"]) == {"unknown", "own", "true", "swapped"}
    assert 0 <= found["share_losing"] <= 1
    shown = run("practice", "simulate", *options, "--kind", "mixed").out
    assert f"{found['gain']['own']['mean']:+.4f}" in shown
    assert "(control)" in shown


def test_a_study_of_nowhere(run: Runner) -> None:
    """An unknown region is one line."""
    done = run("practice", "simulate", "--region", "mars")
    assert (done.status, len(done.faults)) == (2, 1)


def test_errors_from_files(run: Runner, folder: Path) -> None:
    """Who swaps two genera has them as worst pair, and is overconfident at 99 %."""
    table = answers(folder)
    done = run("observers", "errors", folder, table, "--json")
    assert (done.status, done.err) == (0, "")
    (found,) = done.objects
    good, poor = found["observers"]["A"], found["observers"]["B"]
    assert found["region"] == "indo_pacific"
    assert (good["answers"], good["right"], good["worst_pair"]) == (6, 6, None)
    assert sorted(poor["worst_pair"]["genera"]) == ["Favites", "Goniastrea"]
    assert poor["worst_pair"]["times"] == 6
    assert poor["confidence"]["word"] == "overconfident"
    assert poor["confidence"]["stated"] == pytest.approx(0.99)
    assert poor["accuracy"]["mean"] < good["accuracy"]["mean"]
    said = {row["said"] for row in poor["misjudged"]}
    assert said <= {"plocoid"}
    for row in poor["misjudged"]:
        assert 0 <= row["low"] <= row["mean"] <= row["high"] <= 1
        assert row["mean"] > row["group"]


def test_two_sets_say_more_than_one(run: Runner, folder: Path) -> None:
    """Several sets are given in turn, each with its answers; an odd number is refused."""
    table = answers(folder)
    twice = run("observers", "errors", folder, table, folder, table, "--json").objects[0]
    assert twice["observers"]["B"]["worst_pair"]["times"] == 12
    odd = run("observers", "errors", folder)
    assert (odd.status, len(odd.faults)) == (2, 1)
    assert "SET ANSWERS SET ANSWERS, found 1 files" in odd.err


def test_errors_for_people(run: Runner, folder: Path) -> None:
    """The page names each observer, confidence and the genera mixed up most."""
    shown = " ".join(run("observers", "errors", folder, answers(folder)).out.split())
    for part in ("A: 6 of 6 right", "B: 0 of 6 right", "overconfident", "Sizes by eye: none",
                 "Mixed up most: Favites and Goniastrea, in 6 answers."):  # fmt: skip
        assert part in shown


def test_errors_of_a_programme(run: Runner, team: Team) -> None:
    """Observers go by their names; without answers there is one line."""
    home = team.programme.folder
    empty = run("observers", "errors", "--programme", home)
    assert empty.faults == [
        f"{home}: expected practice answers, found none at all. Let observers practise first."
    ]
    found = make_set(team.programme, MakeSet("Invented", size=2), *team.by())
    command = AnswerItem(found.id, 0, (found.items[0].genus,), 0.9)
    answer_item(team.programme, command, *team.by())
    (told,) = run("observers", "errors", "--programme", home, "--json").objects
    assert (told["region"], list(told["observers"])) == ("red_sea", ["Observer 1"])
    both = run("observers", "errors", "set.json", "a.csv", "--programme", home)
    assert (both.status, len(both.faults)) == (2, 1)


def test_a_plan_in_numbers(run: Runner) -> None:
    """Both error rates hold, and a quiz of 20 with 17 right passes .80 by the binomial tail."""
    (found,) = run("observers", "qualify", "--json").objects
    at = {row["accuracy"]: row for row in found["at"]}
    assert at[0.9]["passes"] >= 0.95
    assert at[0.8]["passes"] <= 0.05
    tail = sum(comb(20, k) * 0.8**k * 0.2 ** (20 - k) for k in range(17, 21))
    assert at[0.8]["quiz_passes"] == pytest.approx(tail, abs=1e-12)
    assert at[0.9]["expected_items"] < found["fixed"]["items"]
    assert found["observers"] == {}


def test_how_observers_stand(run: Runner, tmp_path: Path) -> None:
    """Long runs of right and wrong decide; repeats and what came after do not count."""
    rows = [f"P,{i},yes" for i in range(200)] + [f"F,{i},no" for i in range(30)]
    rows += ["N,1,yes", "N,1,no", "N,2,yes"]
    path = tmp_path / "right.csv"
    path.write_text("observer,item,right\n" + "\n".join(rows), encoding="utf-8")
    done = run("observers", "qualify", "--answers", path, "--json")
    assert done.status == 0
    told = done.objects[0]["observers"]
    assert [told[who]["state"] for who in "PFN"] == ["passed", "failed", "go on"]
    assert told["P"]["counted"] + told["P"]["after_decision"] == 200
    assert (told["N"]["counted"], told["N"]["right"], told["N"]["repeats"]) == (2, 2, 1)
    shown = run("observers", "qualify", "--answers", path, "--require-pass")
    assert shown.status == 1
    assert "N: 1 not counted, answered before." in shown.out
    only = "observer,item,right\n" + "\n".join(rows[:200])
    passed = run("observers", "qualify", "--answers", "-", "--require-pass", stdin=only.encode())
    assert passed.status == 0


@pytest.mark.parametrize(
    ("options", "wanted"),
    [
        (("--good", 0.7), "expected 0 < poor < good < 1, found 0.8 and 0.7"),
        (("--errors", 0.5), "expected between 0 and .5, found 0.5"),
        (("--require-pass",), "--require-pass is for --answers only"),
        (("--answers", "none.csv"), "none.csv: expected a file that can be read"),
    ],
)
def test_a_plan_that_means_nothing(run: Runner, options: tuple[object, ...], wanted: str) -> None:
    """What can't be is refused with exit status 2."""
    done = run("observers", "qualify", *options)
    assert (done.status, done.out) == (2, "")
    assert wanted in done.err


@pytest.mark.parametrize("command", [("practice", "make"), ("practice", "mark"),
                                     ("practice", "simulate"), ("observers", "errors"),
                                     ("observers", "qualify")])  # fmt: skip
def test_help_has_an_example(run: Runner, command: tuple[str, str]) -> None:
    """Every command shows how it is called."""
    done = run(*command, "--help")
    assert done.status == 0
    assert f"Example: corallum {' '.join(command)}" in " ".join(done.out.split())
