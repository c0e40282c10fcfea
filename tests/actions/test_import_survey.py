"""A survey that was exported comes in elsewhere as it was, once, or not at all."""

from __future__ import annotations

import json
import shutil
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from corallum.actions.export_survey import ExportSurvey, export_survey
from corallum.actions.import_survey import ImportSurvey, import_survey, look_at_survey
from corallum.actions.people import list_people
from corallum.actions.survey_plans import get_survey
from corallum.actions.survey_tables import survey_data
from corallum.errors import InputError, NotAllowedError
from corallum.exchange.archive.text_table import TAB, TableWriter, read_rows
from corallum.store import surveys
from corallum.store.programme import Programme
from corallum.store.verify import verify_folder
from exported import Exported, make_exported
from invented import NOW, Team

EVENT, OCCURRENCE, MEASURES = "event.txt", "occurrence.txt", "extendedmeasurementorfact.txt"


@pytest.fixture(scope="module")
def source() -> Exported:
    """A programme with a survey of every method, and texts that break tables."""
    return make_exported()


@pytest.fixture(scope="module")
def zips(source: Exported, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ...]:
    """Each survey of it as an archive."""
    folder = tmp_path_factory.mktemp("zips")
    programme = source.open()
    for survey in source.surveys:
        export_survey(programme, ExportSurvey(survey, folder / f"{survey}.zip"), NOW)
    programme.close()
    return tuple(folder / f"{survey}.zip" for survey in source.surveys)


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """Another programme, with people of the same names."""
    found = Team(tmp_path_factory.mktemp("there") / "programme", seed=7)
    yield found
    found.programme.close()


@pytest.fixture(scope="module")
def taken_in(there: Team, zips: tuple[Path, ...]) -> Team:
    """The other programme, with all surveys taken in."""
    for number, path in enumerate(zips):
        command = ImportSurvey(path, f"Brought {number}")
        import_survey(there.programme, command, *there.by(there.lead))
    return there


def told(programme: Programme, survey: str) -> dict[str, Any]:
    """All that a survey holds; entries of the history by their order, people by name."""
    names = {one.id: one.name for one in list_people(programme)}
    view = get_survey(programme, survey)
    with programme.read() as connection:
        slates = surveys.slates_of(connection, survey)
        at = {slate.history: i for i, slate in enumerate(slates)}
        readings = surveys.readings_of(connection, survey)
        answers = surveys.flag_answers_of(connection, survey)
        draws = surveys.draws_of(connection, survey)
    sites = {id_: one.name for id_, one in view.sites.items()}
    plan = replace(
        view.plan,
        observers=tuple(names[one] for one in view.plan.observers),
        strata=tuple(
            replace(one, sites=tuple(sites[site] for site in one.sites)) for one in view.plan.strata
        ),
    )
    return {
        "plan": plan,
        "date": view.event.date,
        "transects": [
            (one.id, one.parent, sites[one.site or ""], one.name, one.note)
            for one in view.transects
        ],
        "slates": [
            replace(one, history=0, replaces=None, observer=names[one.observer], person="", at=NOW)
            for one in slates
        ],
        "readings": [
            replace(one, history=0, slate=at[one.slate], person=names[one.person], at=NOW)
            for one in readings if one.slate in at
        ],
        "answers": [
            replace(one, history=0, slate=at[one.slate], person=names[one.person], at=NOW)
            for one in answers if one.slate in at
        ],
        "draws": [
            (one.share, one.asked_of, dict(one.strata),
             [(at[slate], line) for slate, line in one.records if slate in at])
            for one in draws
        ],
    }  # fmt: skip


@pytest.mark.parametrize("number", range(6))
def test_a_survey_comes_in_as_it_was(source: Exported, taken_in: Team, number: int) -> None:
    """Plan, transects, slates, lines, readings, draws and decisions are equal field by field."""
    survey = source.surveys[number]
    programme = source.open()
    before = told(programme, survey)
    programme.close()
    after = told(taken_in.programme, survey)
    for what, wanted in before.items():
        assert after[what] == wanted, what


def test_the_programme_is_sound_after_it(taken_in: Team) -> None:
    """Checks of the programme find its history, rows and sums sound."""
    assert verify_folder(taken_in.programme.folder, lambda _: None).faults == []


def test_figures_rest_on_the_same_numbers(source: Exported, taken_in: Team) -> None:
    """Amounts by transect and name are those of the programme that it came from."""
    programme = source.open()
    before = survey_data(programme, source.surveys[0]).table
    programme.close()
    after = survey_data(taken_in.programme, source.surveys[0]).table
    assert after.labels == before.labels
    assert (after.lines == before.lines).all()
    assert (after.readings == before.readings).all()


def test_sites_that_were_not_there_are_added(source: Exported, taken_in: Team) -> None:
    """A site comes with its region, position and note."""
    programme = source.open()
    first = get_survey(programme, source.surveys[0])
    wanted = {first.sites[one.site or ""] for one in first.transects}
    programme.close()
    here = get_survey(taken_in.programme, source.surveys[0])
    assert wanted <= set(here.sites.values())


def test_a_survey_comes_once(taken_in: Team, zips: tuple[Path, ...]) -> None:
    """A second time it is known by its id, under whatever name, and nothing is written."""
    with pytest.raises(InputError, match="found one that is here already, as 'Brought 0'"):
        import_survey(
            taken_in.programme, ImportSurvey(zips[0], "Another"), *taken_in.by(taken_in.lead)
        )


def test_where_it_came_from_knows_it_too(source: Exported, zips: tuple[Path, ...]) -> None:
    """The programme that exported a survey refuses to take it in again."""
    programme = source.open()
    with pytest.raises(InputError, match="found one that is here already"):
        look_at_survey(programme, ImportSurvey(zips[1], "Another"))
    programme.close()


def test_only_a_lead_takes_surveys_in(there: Team, zips: tuple[Path, ...]) -> None:
    """An observer may not."""
    with pytest.raises(NotAllowedError):
        import_survey(there.programme, ImportSurvey(zips[0], "Mine"), *there.by())


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """A programme with nothing taken in, to look at archives from."""
    found = Team(tmp_path_factory.mktemp("empty") / "programme", seed=9)
    yield found
    found.programme.close()


def altered(path: Path, folder: Path, changes: Mapping[str, bytes | None]) -> Path:
    """A copy of an archive with some files of other content, or left out."""
    found = folder / "altered.zip"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(found, "w") as new:
        for name in old.namelist():
            data = changes.get(name, old.read(name))
            if data is not None:
                new.writestr(name, data)
    return found


def edited(path: Path, file: str, edit: Mapping[tuple[int, str], str]) -> bytes:
    """A table with some cells, by row and column, of another text."""
    with zipfile.ZipFile(path) as archive:
        names = archive.read(file).decode().splitlines()[0].split("\t")
        with archive.open(file) as stream:
            rows = dict(read_rows(stream, file, len(names), TAB, []))
    import io  # noqa: PLC0415  beside its one use

    stream = io.BytesIO()
    writer = TableWriter(stream)
    writer.header(names)
    for number, cells in rows.items():
        for (row, column), text in edit.items():
            if row == number:
                cells[names.index(column)] = text
        writer.write(cells)
    writer.close()
    return stream.getvalue()


def faults_of(team: Team, path: Path, **about: Any) -> list[str]:  # noqa: ANN401
    """What is said against an archive, one line a fault."""
    with pytest.raises(InputError) as error:
        look_at_survey(team.programme, ImportSurvey(path, "New", **about))
    return str(error.value).splitlines()


def test_people_must_be_known(source: Exported, zips: tuple[Path, ...], tmp_path: Path) -> None:
    """Everybody who is not here is named at once, and may be somebody of another name."""
    other = Team(tmp_path / "other")
    programme = other.programme
    data = edited(zips[0], EVENT, {})
    renamed = altered(zips[0], tmp_path, {EVENT: data.replace(b"Observer 1", b"Ana")})
    (fault,) = faults_of(other, renamed)
    assert fault.endswith("Add them, or say who it is: --person 'Ana=NAME'.")
    known = ImportSurvey(renamed, "New", {"Ana": "Observer 1"})
    assert look_at_survey(programme, known).survey.id == source.surveys[0]
    programme.close()


FAULTS = {
    "a genus with its doubt": (
        OCCURRENCE, "scientificName", "cf. Porites", "without signs, found 'cf. Porites'"
    ),
    "a doubt of another word": (
        OCCURRENCE, "identificationQualifier", "sp. stet.", "cf., aff., ?, found 'sp. stet.'"
    ),
    "a status of another word": (
        OCCURRENCE, "occurrenceStatus", "seen", "expected present or absent, found 'seen'"
    ),
    "a rank of another word": (
        OCCURRENCE, "taxonRank", "species", "genus, family or order, found 'species'"
    ),
    "a name that nobody knows": (
        OCCURRENCE, "scientificName", "Nosuchgenus", "of the reference here, found 'Nosuchgenus'"
    ),
    "a type of event": (EVENT, "eventType", "Cruise", "found 'Cruise'"),
    "an event of no parent": (EVENT, "parentEventID", "nothing", "found 'nothing'"),
    "a day": (EVENT, "eventDate", "2026-13-01", "found '2026-13-01'"),
    "a depth": (EVENT, "maximumDepthInMeters", "-1", "at least the smallest depth"),
    "a size without a unit": (EVENT, "sampleSizeUnit", "", "size and unit, or neither"),
    "properties": (EVENT, "dynamicProperties", "[1]", "an object of JSON, found '[1]'"),
    "a number": (MEASURES, "measurementValue", "many", "a number, found 'many'"),
    "a number below 0": (MEASURES, "measurementValue", "-5", "a number not below 0, found -5"),
    "no number": (MEASURES, "measurementValue", "nan", "a number, found 'nan'"),
    "a measurement": (
        MEASURES, "measurementType", "age", "a measurement of a line, found 'age'"
    ),
    "a record of no event": (
        MEASURES, "measurementID", "a:b:c", "the id of a line of its event, found 'a:b:c'"
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", FAULTS)
def test_a_cell_that_is_wrong_is_named(
    empty: Team, zips: tuple[Path, ...], tmp_path: Path, what: str
) -> None:
    """A fault names the file, the row and the column of the cell."""
    file, column, text, said = FAULTS[what]
    belt = zips[2]
    # The slate with a line: the sixth row of events, the only occurrence, its first number.
    row = {EVENT: 6, OCCURRENCE: 2, MEASURES: 2}[file]
    path = altered(belt, tmp_path, {file: edited(belt, file, {(row, column): text})})
    found = faults_of(empty, path)
    assert any(said in one for one in found), found


def test_all_faults_come_at_once(empty: Team, zips: tuple[Path, ...], tmp_path: Path) -> None:
    """Three wrong cells in a table are three faults."""
    wrong = {
        (2, "occurrenceStatus"): "seen", (3, "scientificName"): "Porites sp.",
        (4, "identificationQualifier"): "perhaps",
    }  # fmt: skip
    path = altered(zips[4], tmp_path, {})
    data = edited(zips[0], OCCURRENCE, wrong)
    path = altered(zips[0], tmp_path, {OCCURRENCE: data})
    places = [one.partition(": ")[0] for one in faults_of(empty, path)]
    assert places[:2] == [
        "occurrence.txt, row 2, occurrenceStatus", "occurrence.txt, row 3, scientificName",
    ]  # fmt: skip


def test_an_id_that_stands_twice_is_refused(
    empty: Team, zips: tuple[Path, ...], tmp_path: Path
) -> None:
    """The second row of an id is named."""
    data = edited(zips[0], MEASURES, {})
    lines = data.splitlines(keepends=True)
    path = altered(zips[0], tmp_path, {MEASURES: data + lines[1]})
    (fault,) = faults_of(empty, path)
    assert f"row {len(lines) + 1}, measurementID" in fault
    assert "again" in fault


def test_a_row_with_a_cell_too_few_is_named(
    empty: Team, zips: tuple[Path, ...], tmp_path: Path
) -> None:
    """The number of cells that a row should have is said, and what it has."""
    data = edited(zips[0], OCCURRENCE, {}) + b"one\ttwo\n"
    path = altered(zips[0], tmp_path, {OCCURRENCE: data})
    (fault,) = faults_of(empty, path)
    assert "expected 24 cells, found 2." in fault


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        pytest.param({"meta.xml": None}, "expected a file meta.xml, found none", id="meta.xml"),
        pytest.param({MEASURES: None}, "found no file", id="a table"),
        pytest.param({"meta.xml": b"<archive"}, "meta.xml: expected XML", id="broken XML"),
        pytest.param({EVENT: "x\u00fc\n".encode("utf-16")}, "UTF-16", id="UTF-16"),
        pytest.param({OCCURRENCE: b"h\nr\xff\n"}, "found", id="not UTF-8"),
    ],
)
def test_an_archive_that_is_not_whole_is_refused(
    empty: Team,
    zips: tuple[Path, ...],
    tmp_path: Path,
    changes: Mapping[str, bytes | None],
    said: str,
) -> None:
    """What is missing or can't be read is named, without a traceback."""
    assert said in "\n".join(faults_of(empty, altered(zips[0], tmp_path, changes)))


def test_another_core_is_refused(empty: Team, zips: tuple[Path, ...], tmp_path: Path) -> None:
    """An archive whose core is of another type is told so."""
    with zipfile.ZipFile(zips[0]) as archive:
        meta = archive.read("meta.xml").replace(b'terms/Event"', b'terms/Taxon"')
    (fault, *_) = faults_of(empty, altered(zips[0], tmp_path, {"meta.xml": meta}))
    assert "expected a core of Event" in fault


def test_an_archive_of_another_make_is_refused(
    empty: Team, zips: tuple[Path, ...], tmp_path: Path
) -> None:
    """Events without a plan as it is written here can't be read back, and that is said."""
    about = json.dumps({"archive": "another"})
    data = edited(zips[0], EVENT, {(2, "dynamicProperties"): about})
    found = faults_of(empty, altered(zips[0], tmp_path, {EVENT: data}))
    assert "Only surveys as corallum writes them can be read back." in found[0]


def test_a_line_that_is_missing_is_named(
    empty: Team, zips: tuple[Path, ...], tmp_path: Path
) -> None:
    """A slate whose lines are not all there is refused: a gap is no slate."""
    data = edited(zips[0], OCCURRENCE, {}).splitlines(keepends=True)
    kept = [one for one in data if b"Favites" not in one]
    path = altered(zips[0], tmp_path, {OCCURRENCE: b"".join(kept)})
    assert any("line 1 of the slate" in one for one in faults_of(empty, path))


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_a_broken_zip_is_refused(
    empty: Team, zips: tuple[Path, ...], tmp_path: Path, share: float
) -> None:
    """A zip that was cut off, or whose middle was written over, is one fault."""
    data = bytearray(zips[0].read_bytes())
    cut = tmp_path / "cut.zip"
    cut.write_bytes(data[: int(len(data) * share)])
    assert "expected a zip that can be read" in faults_of(empty, cut)[0]
    at = int(len(data) * share * 0.5)
    data[at : at + 40] = b"\x00" * 40
    shutil.copy(zips[0], cut)
    cut.write_bytes(data)
    assert faults_of(empty, cut)
