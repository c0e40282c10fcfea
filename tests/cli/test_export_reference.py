"""``corallum export sdd`` and ``nexus``, ``reference import``: files out, and a folder in."""

from __future__ import annotations

from pathlib import Path

import pytest

from corallum.actions.reference_exchange import import_reference
from corallum.errors import InputError
from invented import Team
from matrix_tables import small_rows, tables_of
from runs import Runner


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A folder of two invented genera."""
    folder = tmp_path / "small"
    folder.mkdir()
    for name, text in tables_of(small_rows()).items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return folder


def test_sdd_goes_out_and_comes_back(run: Runner, small: Path, tmp_path: Path) -> None:
    """What ``export sdd`` writes, ``reference import`` reads into the same reference."""
    out, back = tmp_path / "small.xml", tmp_path / "back"
    written = run("export", "sdd", "--reference", small, "--out", out)
    assert (written.status, written.err) == (0, "")
    assert written.out == f"{out}: 2 genera in 3 forms, 3 characters.\n"
    found = run("reference", "import", out, back)
    assert (found.status, found.err) == (0, "")
    assert found.out == (
        f"{back}: 2 genera in 3 forms, 3 characters, 5 values, read from SDD. "
        "The tables are sound.\n"
    )
    assert run("reference", "changes", small, back).status == 0
    assert run("reference", "check", back).status == 0


def test_nexus_says_what_it_leaves_out(run: Runner, small: Path, tmp_path: Path) -> None:
    """Sizes are named, for people and for machines, unless they become classes."""
    out = tmp_path / "small.nex"
    written = run("export", "nexus", "--reference", small, "--out", out)
    assert written.out.splitlines()[-1] == "Left out: width_mm."
    assert "Left out: width_mm." in out.read_text(encoding="utf-8")
    (told,) = run(
        "export", "nexus", "--reference", small, "--out", tmp_path / "c.nex", "--sizes", "classes",
        "--json",
    ).objects  # fmt: skip
    assert (told["characters"], told["left_out"]) == (3, [])


def test_nexus_comes_in_and_says_what_was_not_taken(run: Runner, tmp_path: Path) -> None:
    """What of a file has no place in the tables is listed with its number."""
    file = tmp_path / "other.nex"
    file.write_text(
        "#NEXUS\nBEGIN DATA;\nDIMENSIONS NTAX=2 NCHAR=2;\nFORMAT DATATYPE=STANDARD;\nMATRIX\n"
        "A 0{01}\nB 10\n;\nEND;\nBEGIN TREES;\nEND;\n",
        encoding="utf-8",
    )
    found = run("reference", "import", file, tmp_path / "new")
    assert found.status == 0
    assert found.out.splitlines()[1:] == [
        "Not taken:", "  blocks TREES: 1", "  uncertain scores, read as several states: 1",
    ]  # fmt: skip
    (told,) = run("reference", "import", file, tmp_path / "again", "--json").objects
    assert (told["kind"], told["genera"], told["left_out"]["blocks TREES"]) == ("NEXUS", 2, 1)
    determined = run(
        "determine", "-", "--reference", tmp_path / "new", stdin=b'{"id": "x", "observations": {}}'
    )
    assert determined.status == 0


def test_a_programme_exports_its_own_reference(run: Runner, team: Team, tmp_path: Path) -> None:
    """With the folder of a programme it is its own tables that are read, faults and all."""
    folder = team.programme.folder
    words = folder / "reference" / "words.csv"
    words.write_text(words.read_text(encoding="utf-8").replace("0.96", "2"), encoding="utf-8")
    found = run("export", "nexus", folder, "--out", tmp_path / "own.nex")
    assert (found.status, found.out) == (2, "")
    assert found.faults[0].startswith("words.csv, row 2, column probability: expected")
    found = run("export", "sdd", folder, "--reference", folder / "reference", "--out", "-")
    assert found.faults == [
        "--reference: expected a programme or a reference, found both. Leave one out."
    ]


def test_nothing_is_overwritten(run: Runner, small: Path, tmp_path: Path) -> None:
    """A file or folder that is there stays as it is, with one line and status 2."""
    out = tmp_path / "small.xml"
    out.write_text("mine", encoding="utf-8")
    found = run("export", "sdd", "--reference", small, "--out", out)
    assert (found.status, found.out, len(found.faults)) == (2, "", 1)
    assert out.read_text(encoding="utf-8") == "mine"
    run("export", "nexus", "--reference", small, "--out", tmp_path / "small.nex")
    found = run("reference", "import", tmp_path / "small.nex", small)
    assert (found.status, found.out) == (2, "")
    assert found.faults == [
        f"{small}: expected a new or empty folder, found something that is there. "
        "Choose another folder."
    ]


def test_a_refused_file_leaves_no_folder(run: Runner, tmp_path: Path) -> None:
    """Where a file has faults, each is a line, and nothing is written."""
    file = tmp_path / "broken.nex"
    file.write_text(
        "#NEXUS\nBEGIN DATA;\nDIMENSIONS NCHAR=2;\nMATRIX\nA 07\nB 0\n;\nEND;\n", encoding="utf-8"
    )
    found = run("reference", "import", file, tmp_path / "new")
    assert (found.status, found.out, len(found.faults)) == (2, "", 2)
    assert found.faults[0].startswith(f"{file}, line 5, taxon A, character 2: expected")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["broken.nex"]


@pytest.mark.parametrize(
    ("raw", "found"),
    [
        pytest.param(b"", "an empty file", id="empty"),
        pytest.param(b"genus,form\n", "'genus,form\\n'", id="a table"),
        pytest.param(b"\x89PNG\r\n", "'\ufffdPNG\\r\\n'", id="a picture"),
        pytest.param(b"#NEXUS\n\xe9;", "the byte 0xe9", id="another encoding"),
    ],
)
def test_another_kind_of_file_is_one_line(tmp_path: Path, raw: bytes, found: str) -> None:
    """What is neither SDD nor NEXUS in UTF-8 is said to be so."""
    with pytest.raises(InputError) as caught:
        import_reference(raw, "file", tmp_path / "new", lambda _: None)
    (fault,) = caught.value.faults
    assert fault.found == found


def test_faults_of_the_tables_name_the_file(tmp_path: Path) -> None:
    """What only the check of the tables finds is said of the file: one genus is too few."""
    text = b"#NEXUS BEGIN DATA; DIMENSIONS NCHAR=1; MATRIX A 0; END;"
    with pytest.raises(InputError) as caught:
        import_reference(text, "one.nex", tmp_path / "new", lambda _: None)
    assert str(caught.value) == (
        "one.nex, as table genera: expected two genera or more, found A. Mend it in the file."
    )
    assert not (tmp_path / "new").exists()


def test_a_file_too_large_or_not_there_is_one_line(run: Runner, tmp_path: Path) -> None:
    """Too large a file is not read; a path that leads nowhere is said."""
    file = tmp_path / "large.nex"
    file.write_bytes(b"#NEXUS" + b" " * 1_000_001)
    found = run("reference", "import", file, tmp_path / "new", "--most-mb", "1")
    assert (found.status, len(found.faults)) == (2, 1)
    assert "expected at most 1 MB" in found.err
    found = run("reference", "import", tmp_path / "none", tmp_path / "new")
    assert (found.status, len(found.faults)) == (2, 1)


def test_nexus_in_two_bytes_a_sign_is_told_from_xml(tmp_path: Path) -> None:
    """A NEXUS file saved as UTF-16 is to be saved as UTF-8; it is not taken for broken XML."""
    data = "#NEXUS\nBEGIN TAXA;\nEND;\n".encode("utf-16")
    with pytest.raises(InputError, match=r"expected UTF-8 text.*Save the file as UTF-8"):
        import_reference(data, "a.nex", tmp_path / "new", lambda _: None)
