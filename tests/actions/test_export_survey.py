"""An archive of a survey says what was met, where, how it was looked for, and no more."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from dwca.read import DwCAReader
from PIL import Image

from corallum.actions import export_survey as module
from corallum.actions.export_survey import ExportSurvey, SurveyWritten, export_survey
from corallum.errors import InputError
from corallum.exchange.archive.text_table import TAB, read_rows
from corallum.exchange.survey_archive.shape import DESCRIBED, VERIFICATION
from exported import FORMULA, Exported, make_exported
from invented import NOW

EVENT, OCCURRENCE, MEASURES = "event.txt", "occurrence.txt", "extendedmeasurementorfact.txt"
DWC = "http://rs.tdwg.org/dwc/terms/"
Rows = list[dict[str, str]]


@pytest.fixture(scope="module")
def source() -> Exported:
    """A programme with a survey of every method, and texts that break tables."""
    return make_exported()


@pytest.fixture(scope="module")
def zips(source: Exported, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ...]:
    """Each survey as an archive, positions exact; the first with figures, the last photos."""
    folder = tmp_path_factory.mktemp("zips")
    programme = source.open()
    for number, survey in enumerate(source.surveys):
        command = ExportSurvey(
            survey, folder / f"{number}.zip", estimates=number == 0, photos=number == 5
        )
        export_survey(programme, command, NOW)
    programme.close()
    return tuple(folder / f"{number}.zip" for number in range(len(source.surveys)))


def write(source: Exported, folder: Path, number: int = 0, **about: Any) -> SurveyWritten:  # noqa: ANN401
    """Export one survey."""
    programme = source.open()
    try:
        command = ExportSurvey(source.surveys[number], folder / "a.zip", **about)
        return export_survey(programme, command, NOW)
    finally:
        programme.close()


def rows(path: Path, file: str) -> Rows:
    """The rows of one table of an archive."""
    names = next(
        shape.names for shape in (DESCRIBED.core, *DESCRIBED.extensions) if shape.file == file
    )
    with zipfile.ZipFile(path) as archive, archive.open(file) as stream:
        found = list(read_rows(stream, file, len(names), TAB, []))
    return [dict(zip(names, cells, strict=True)) for _, cells in found]


@pytest.mark.parametrize("number", range(6))
def test_another_reader_finds_the_same_rows(zips: tuple[Path, ...], number: int) -> None:
    """python-dwca-reader reads core and extensions: types, terms and rows."""
    with DwCAReader(str(zips[number])) as reader:
        assert reader.descriptor.core.type == f"{DWC}Event"
        assert reader.descriptor.extensions_type == [one.row_type for one in DESCRIBED.extensions]
        core = reader.rows
        assert [row.id for row in core] == [row["eventID"] for row in rows(zips[number], EVENT)]
        inside = [one for row in core for one in row.extensions]
        wanted = rows(zips[number], OCCURRENCE) + rows(zips[number], MEASURES)
        assert len(inside) == len(wanted)
        kinds = [row.data[f"{DWC}eventType"] for row in core]
    assert kinds[:3] == ["Survey", "Site visit", "Transect"]


def pairs(row: dict[str, str], *names: str) -> bool:
    """Whether all of these are given, or none."""
    return len({bool(row[name]) for name in names}) == 1


def depths_fit(row: dict[str, str]) -> bool:
    """Whether depths are of the sea, the smallest first."""
    low, high = row["minimumDepthInMeters"], row["maximumDepthInMeters"]
    return not low or 0 <= float(low) <= float(high) <= 11000


EVENT_TESTS = {
    "size without unit": lambda row: pairs(row, "sampleSizeValue", "sampleSizeUnit"),
    "one depth": lambda row: pairs(row, "minimumDepthInMeters", "maximumDepthInMeters"),
    "depth": depths_fit,
    "no date": lambda row: bool(row["eventDate"]) or row["eventType"] != "Observation",
    "datum": lambda row: pairs(row, "decimalLatitude", "decimalLongitude", "geodeticDatum"),
}
OCCURRENCE_TESTS = {
    "status": lambda row: row["occurrenceStatus"] in {"present", "absent"},
    "basis": lambda row: row["basisOfRecord"] in {"HumanObservation", "MachineObservation"},
    "quantity without type": lambda row: pairs(row, "organismQuantity", "organismQuantityType"),
    "qualifier": lambda row: row["identificationQualifier"] in {"", "cf.", "aff.", "?"},
    "name": lambda row: re.fullmatch(r"[A-Z][a-z]+", row["scientificName"]) is not None,
    "rank": lambda row: row["taxonRank"] in {"genus", "family", "order"},
}


def faults(events: Rows, occurrences: Rows, measures: Rows) -> Iterator[str]:
    """What tests of data quality find wrong.

    After the core tests of the Biodiversity Data Quality group of Biodiversity Information
    Standards: VALIDATION_OCCURRENCESTATUS_STANDARD, _MINDEPTH_LESSTHAN_MAXDEPTH,
    _BASISOFRECORD_STANDARD, _GEODETICDATUM_NOTEMPTY, _EVENTDATE_NOTEMPTY,
    _OCCURRENCEID_NOTEMPTY; and the notes of Darwin Core on sampleSizeUnit, parentEventID and
    organismQuantityType.
    """
    for table, tests in ((events, EVENT_TESTS), (occurrences, OCCURRENCE_TESTS)):
        yield from (f"{row}: {what}" for row in table for what, good in tests.items()
                    if not good(row))  # fmt: skip
    ids = {row["eventID"] for row in events}
    known = {row["occurrenceID"] for row in occurrences} | {""}
    tops = {row["eventID"] for row in events if row["parentEventID"] not in ids}
    yield from tops - {row["eventID"] for row in events if row["eventType"] == "Survey"}
    yield from (row["measurementID"] for row in measures if row["occurrenceID"] not in known)
    for table, key in ((events, "eventID"), (occurrences, "occurrenceID"),
                       (measures, "measurementID")):  # fmt: skip
        found = [row[key] for row in table]
        if len(set(found)) < len(found) or "" in found:
            yield f"{key} twice or blank"
        if not {row["eventID"] for row in table} <= ids:
            yield f"{key} of an event that is not there"


@pytest.mark.parametrize("number", range(6))
def test_the_data_pass_tests_of_quality(zips: tuple[Path, ...], number: int) -> None:
    """Vocabularies, pairs, order of depths, ids and parents are as the standards want them."""
    path = zips[number]
    assert list(faults(rows(path, EVENT), rows(path, OCCURRENCE), rows(path, MEASURES))) == []


def test_quality_tests_can_fail(zips: tuple[Path, ...]) -> None:
    """The tests above find a size without its unit, a status and an id that is there twice."""
    events, occurrences = rows(zips[0], EVENT), rows(zips[0], OCCURRENCE)
    events[2]["sampleSizeUnit"] = ""
    occurrences[0]["occurrenceStatus"] = "seen"
    found = list(faults(events, [*occurrences, occurrences[0]], []))
    assert len(found) == 4


def test_open_nomenclature_is_taken_apart(zips: tuple[Path, ...]) -> None:
    """A doubted genus: plain name, the doubt beside it, and the entry as it was written."""
    (porites,) = [row for row in rows(zips[0], OCCURRENCE) if row["scientificName"] == "Porites"]
    assert porites["identificationQualifier"] == "cf."
    assert porites["verbatimIdentification"] == "porites cf."
    assert porites["taxonRank"] == "genus"


def test_coral_without_a_name_is_present_at_rank_order(zips: tuple[Path, ...]) -> None:
    """An unidentified stony coral is an occurrence of the order; its code stays verbatim."""
    found = [row for row in rows(zips[0], OCCURRENCE) if row["taxonRank"] == "order"]
    assert {(row["scientificName"], row["occurrenceStatus"]) for row in found} <= {
        ("Scleractinia", "present")
    }


def test_what_is_no_coral_is_no_occurrence(zips: tuple[Path, ...]) -> None:
    """Sand and rock stand among the measurements, with their length."""
    for path in zips:
        names = {row["verbatimIdentification"] for row in rows(path, OCCURRENCE)}
        assert not names & {"sand", "rock", "unreadable"}
    cover = [row for row in rows(zips[0], MEASURES) if row["measurementType"] == "bottom cover"]
    assert {row["measurementValue"] for row in cover} <= {"sand", "rock"}
    assert cover


def test_a_second_reading_stands_beside_the_record(zips: tuple[Path, ...]) -> None:
    """Records that were read again say so, by a list of our own, and by whom is told."""
    found = rows(zips[0], OCCURRENCE)
    assert {row["identificationVerificationStatus"] for row in found} <= set(VERIFICATION)
    again = [
        row for row in rows(zips[0], MEASURES)
        if row["measurementType"].startswith("second reading")
    ]  # fmt: skip
    assert again
    assert {row["measurementDeterminedBy"] for row in again} == {"Observer 2"}


def test_a_record_that_was_left_out_is_no_occurrence(zips: tuple[Path, ...]) -> None:
    """It stands among the measurements, with the decision and its reason."""
    measures = rows(zips[0], MEASURES)
    decided = [row for row in measures if row["measurementValue"] == "left_out"]
    assert [row["measurementRemarks"] for row in decided] == ["=odd"]
    left = [row for row in measures if row["measurementType"].startswith("left out")]
    assert left
    ids = {row["occurrenceID"] for row in rows(zips[0], OCCURRENCE)}
    assert not ids & {row["measurementID"] for row in left}


def test_figures_come_with_interval_and_method(zips: tuple[Path, ...]) -> None:
    """Cover as said and corrected are measurements of the survey, each with its interval."""
    found = [
        row for row in rows(zips[0], MEASURES) if row["measurementType"].startswith("cover of")
    ]
    assert {row["measurementUnit"] for row in found} == {"%"}
    assert all(row["measurementMethod"] for row in found)
    assert len({row["eventID"] for row in found}) == 1


def test_how_often_a_name_holds_is_told_by_genus(zips: tuple[Path, ...]) -> None:
    """Of each genus that was read again: the share confirmed, unit 1, its method and interval.

    The fixture's second reader agrees with every record: each share is 1 by construction.
    """
    found = [
        row for row in rows(zips[0], MEASURES)
        if row["measurementType"].startswith("identification probability")
    ]  # fmt: skip
    assert {(row["measurementValue"], row["measurementUnit"]) for row in found} == {("1", "1")}
    assert all("95 % interval" in row["measurementAccuracy"] for row in found)


def test_formulas_are_guarded_in_the_file(zips: tuple[Path, ...]) -> None:
    """No cell of any table begins as a formula does, but for numbers."""
    for path in zips:
        with zipfile.ZipFile(path) as archive:
            for name in (EVENT, OCCURRENCE, MEASURES):
                text = io.StringIO(archive.read(name).decode(), newline="")
                for cells in csv.reader(text, delimiter="\t"):
                    risky = [one for one in cells if one[:1] in tuple("=+-@\t\r") and one]
                    assert all(re.fullmatch(r"-?[0-9.]+", one) for one in risky)
    assert FORMULA.startswith("=")


def test_photos_carry_no_place_and_no_camera(source: Exported, zips: tuple[Path, ...]) -> None:
    """Packed photos are small copies without metadata, under the name that the records give."""
    named = {row["measurementValue"] for row in rows(zips[5], MEASURES)
             if row["measurementType"] == "photo"}  # fmt: skip
    media = {row["associatedMedia"] for row in rows(zips[5], OCCURRENCE)}
    with zipfile.ZipFile(zips[5]) as archive:
        packed = [one for one in archive.namelist() if one.startswith("photos/")]
        with Image.open(io.BytesIO(archive.read(packed[0]))) as picture:
            assert dict(picture.getexif()) == {}
    assert set(packed) == media
    assert {f"photos/{one}.jpg" for one in named} == media
    assert source.surveys


def test_creators_and_licence_are_what_was_said(source: Exported, tmp_path: Path) -> None:
    """Only names that were given stand in the description, with the licence that was chosen."""
    write(source, tmp_path, creators=("Ana Invented",), licence="CC-BY-4.0")
    with zipfile.ZipFile(tmp_path / "a.zip") as archive:
        text = archive.read("eml.xml").decode()
    assert text.count("<surName>") == 1
    assert "<identifier>CC-BY-4.0</identifier>" in text
    with pytest.raises(InputError, match=r"expected one of CC0-1\.0"):
        write(source, tmp_path, licence="mine", replace=True)


def test_the_list_of_hashes_is_right(zips: tuple[Path, ...]) -> None:
    """Every other file of the zip stands in the list with its SHA-256."""
    with zipfile.ZipFile(zips[0]) as archive:
        listed = dict(
            reversed(line.split("  ")) for line in archive.read("sha256.txt").decode().splitlines()
        )
        wanted = {
            name: hashlib.sha256(archive.read(name)).hexdigest()
            for name in archive.namelist() if name != "sha256.txt"
        }  # fmt: skip
    assert listed == wanted


def test_a_stop_is_taken_up_where_it_was(
    source: Exported, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Broken off after a page, the next run keeps what was done; the zip is the same."""
    monkeypatch.setattr(module, "_PAGE", 1)
    (tmp_path / "whole").mkdir()
    whole = write(source, tmp_path / "whole")
    programme = source.open()
    command = ExportSurvey(source.surveys[0], tmp_path / "a.zip")
    pages = iter((None, KeyboardInterrupt))

    def stop(_: float) -> None:
        if (error := next(pages)) is not None:
            raise error

    with pytest.raises(KeyboardInterrupt):
        export_survey(programme, command, NOW, stop)
    assert not (tmp_path / "a.zip").exists()
    found = export_survey(programme, command, NOW)
    programme.close()
    assert found.kept == 3
    assert found.sha256 == whole.sha256


def test_a_plan_is_among_the_properties_of_the_survey(zips: tuple[Path, ...]) -> None:
    """Method and strata of the plan can be read by a program."""
    about = json.loads(rows(zips[2], EVENT)[0]["dynamicProperties"])
    assert about["plan"]["method"] == "belt"
    assert [one["area"] for one in about["plan"]["strata"]] == [1.0]


def test_a_programme_without_qualified_observers_states_no_absence(
    zips: tuple[Path, ...],
) -> None:
    """Belts and quadrats were searched, but nobody passed a test: no absence is stated."""
    for path in zips:
        assert {row["occurrenceStatus"] for row in rows(path, OCCURRENCE)} <= {"present"}
