"""``corallum observers agreement`` and ``corallum observers consensus``."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from anaesthetists import as_csv, patient_rows
from runs import Runner

COMMANDS = ("agreement", "consensus")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """The anaesthetists of Dawid and Skene 1979 as a file."""
    path = tmp_path / "patients.csv"
    path.write_text(as_csv(patient_rows()), encoding="utf-8-sig")
    return path


def test_agreement_as_json(run: Runner, file: Path) -> None:
    """Each coefficient is an object of value, low and high; one without value has a reason."""
    found = run("observers", "agreement", file, "--json")
    assert (found.status, found.err) == (0, "")
    (answer,) = found.objects
    for name in ("fleiss_kappa", "krippendorff_alpha", "gwet_ac1"):
        assert answer[name]["low"] < answer[name]["value"] < answer[name]["high"]
    assert answer["cohen_kappa"] == {
        "value": None, "low": None, "high": None, "reason": "needs two observers, found 5",
    }  # fmt: skip
    assert (answer["items"], answer["observers"], answer["repeats"]) == (45, 5, 90)
    assert len(answer["pairs"]) == 10


def test_two_observers_have_cohens_kappa(run: Runner) -> None:
    """Cohen 1960: 200 cases with kappa .492, standard error .051 (statsmodels)."""
    table = [[88, 14, 18], [10, 40, 10], [2, 6, 12]]
    cases = [(a, b) for a in range(3) for b in range(3) for _ in range(table[a][b])]
    rows = [(str(i), o, str(said)) for i, pair in enumerate(cases) for o, said in zip("AB", pair)]  # noqa: B905  of equal length
    found = run("observers", "agreement", "-", "--json", stdin=as_csv(rows).encode())
    kappa = found.objects[0]["cohen_kappa"]
    assert kappa["value"] == pytest.approx(0.492, abs=5e-4)
    assert (kappa["high"] - kappa["low"]) / 2 / 1.96 == pytest.approx(0.0510, abs=1e-4)
    assert found.objects[0]["most_kappa"] == pytest.approx(0.831, abs=5e-4)


def test_levels_and_weights(run: Runner) -> None:
    """Ordinal alpha of Krippendorff's table is .815; weights add weighted kappa."""
    lines = ("1 2 3 3 2 1 4 1 2 . . .", "1 2 3 3 2 2 4 1 2 5 . 3", ". 3 3 3 2 3 4 2 2 5 1 .",
             "1 2 3 3 2 4 4 1 2 5 1 .")  # fmt: skip
    rows = [
        (str(i), str(o), label.replace(".", ""))
        for o, line in enumerate(lines)
        for i, label in enumerate(line.split())
    ]
    text = as_csv(rows).encode()
    options = ("--level", "ordinal", "--order", "1,2,3,4,5", "--weights", "linear")
    found = run("observers", "agreement", "-", "--json", *options, stdin=text)
    assert found.objects[0]["krippendorff_alpha"]["value"] == pytest.approx(0.815, abs=6e-4)
    assert found.objects[0]["weighted_kappa"]["reason"] == "needs two observers, found 4"


def test_one_observer_alone_is_answered_with_a_reason(run: Runner) -> None:
    """Where nothing can be reckoned the exit status is 1, and each coefficient says why."""
    found = run("observers", "agreement", "-", "--json", stdin=as_csv([("1", "A", "x")]).encode())
    assert found.status == 1
    names = ("cohen_kappa", "fleiss_kappa", "krippendorff_alpha", "gwet_ac1")
    assert {found.objects[0][name]["reason"] for name in names} == {"one observer only"}


def test_agreement_for_people(run: Runner, file: Path) -> None:
    """The page shows the coefficients, the pairs, the labels and the repeats."""
    found = run("observers", "agreement", file)
    assert found.status == 0
    for text in ("45 items, 5 observers, 4 labels", "Gwet's AC1", "PTD", "1 / 4", "needs two"):
        assert text in found.out


def test_consensus_as_json(run: Runner, file: Path) -> None:
    """The answer has the promised keys, and the figures of Dawid and Skene 1979."""
    found = run("observers", "consensus", file, "--json")
    assert (found.status, found.err) == (0, "")
    (answer,) = found.objects
    assert answer["converged"] is True
    assert answer["log_likelihood"] == pytest.approx(-192.8909, abs=5e-5)
    assert answer["prevalence"] == pytest.approx(
        {"1": 0.400, "2": 0.422, "3": 0.112, "4": 0.067}, abs=6e-4
    )
    assert answer["observers"]["1"]["1"]["1"] == pytest.approx(0.889, abs=6e-4)
    assert answer["observers"]["1"]["1"]["2"] == pytest.approx(0.111, abs=6e-4)
    labels = {item["item"]: item["label"] for item in answer["items"]}
    assert (labels["2"], labels["3"]) == ("4", "2")
    assert answer["queue"] == ["35"]


def test_the_hierarchical_answer_has_the_group(run: Runner, file: Path) -> None:
    """With --hierarchical the group's rows and strength come too; a strength can be set."""
    found = run("observers", "consensus", file, "--json", "--hierarchical", "--strength", 8)
    group = found.objects[0]["group"]
    assert group["strength"] == 8.0
    assert sum(group["rows"]["1"].values()) == pytest.approx(1.0)


def test_a_strength_without_a_group_is_bad_use(run: Runner, file: Path) -> None:
    """--strength alone is refused in one line."""
    found = run("observers", "consensus", file, "--strength", 8)
    assert found.status == 2
    assert len(found.faults) == 1
    assert "--hierarchical" in found.err


def test_what_did_not_converge_is_said(run: Runner, file: Path) -> None:
    """Where the rounds run out it is answered all the same, with exit status 1."""
    found = run("observers", "consensus", file, "--rounds", 2)
    assert found.status == 1
    assert "NOT converged" in found.out
    assert run("observers", "consensus", file, "--rounds", 2, "--json").objects[0][
        "converged"
    ] is False  # fmt: skip


def test_consensus_for_people(run: Runner, file: Path) -> None:
    """The page shows what is open, the shares, and what each observer errs on."""
    found = run("observers", "consensus", file)
    for text in ("Converged", "-192.8909", "look again at", "35", "42.2%", "--keep best"):
        assert text in " ".join(found.out.split())


def test_a_table_is_written_once(run: Runner, file: Path, tmp_path: Path) -> None:
    """--out writes one row per item, and never over a file that is there."""
    out = tmp_path / "agreed.csv"
    assert run("observers", "consensus", file, "--out", out).status == 0
    with out.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 45
    assert [row["item"] for row in rows if row["adjudicate"] == "yes"] == ["35"]
    again = run("observers", "consensus", file, "--out", out)
    assert again.status == 2
    assert again.faults == [
        f"{out}: expected a new file, found one that is there. Choose another name."
    ]


def test_the_seed_decides(run: Runner, file: Path) -> None:
    """The same seed gives the same answer to the last figure."""
    for command in COMMANDS:
        first, second = (
            run("observers", command, file, "--json", "--seed", 5).out for _ in range(2)
        )
        assert first == second


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("raw", "message"),
    [
        pytest.param(b"", "expected readings, found an empty file.", id="empty"),
        pytest.param(b"item,observer\n1,A\n", "expected one column label", id="no label"),
        pytest.param(b"item,observer,label\n1,A,\xe9\n", "line 2: expected UTF-8", id="latin-1"),
    ],
)
def test_a_bad_file_is_named(run: Runner, command: str, raw: bytes, message: str) -> None:
    """A file that can't be read is one line with exit status 2."""
    found = run("observers", command, "-", stdin=raw)
    assert (found.status, found.out, len(found.faults)) == (2, "", 1)
    assert message in found.err


@pytest.mark.parametrize("command", COMMANDS)
def test_a_large_file_is_refused(run: Runner, command: str) -> None:
    """A file above the limit is refused, with the option that raises it."""
    found = run("observers", command, "-", "--most-mb", 1, stdin=b"x" * 1_000_001)
    assert found.faults == [
        "standard input: expected at most 1 MB, found a larger file. Split it, or raise --most-mb."
    ]


def test_labels_that_are_no_numbers_have_no_interval_level(run: Runner) -> None:
    """Each label that is no number is named."""
    text = as_csv([("1", "A", "x"), ("1", "B", "2")]).encode()
    found = run("observers", "agreement", "-", "--level", "interval", stdin=text)
    assert found.status == 2
    assert found.faults == [
        "labels: expected a number for --level interval, found 'x'. Mend it, or use --level"
        " nominal."
    ]


def test_too_many_labels_are_refused(run: Runner) -> None:
    """A label column that holds an id of its own in each row is refused, not run out of memory."""
    rows = [(str(i), "A", f"label {i}") for i in range(15_000)]
    found = run("observers", "consensus", "-", stdin=as_csv(rows).encode())
    assert found.status == 2
    assert "Check that the label column holds names" in found.err
