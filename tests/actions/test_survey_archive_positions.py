"""Positions go out as exactly as was asked for, and come in as what they are."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from corallum.actions.export_survey import ExportSurvey, export_survey
from corallum.actions.import_survey import ImportSurvey, import_survey
from corallum.actions.places import list_sites
from corallum.actions.survey_plans import find_survey, get_survey
from corallum.exchange.archive.text_table import TAB, read_rows
from corallum.exchange.coordinates import EXACT, CoordinateRule, parse_coordinate_rule
from corallum.exchange.survey_archive.shape import EVENTS
from invented import NOW, Team
from placed_survey import AT, TELLTALE, make_placed


@pytest.fixture(scope="module")
def placed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """A programme with a survey at a site of known position."""
    found = Team(tmp_path_factory.mktemp("placed") / "programme", seed=3)
    make_placed(found)
    yield found
    found.programme.close()


def events(path: Path) -> list[dict[str, str]]:
    """The events of an archive."""
    with zipfile.ZipFile(path) as archive, archive.open("event.txt") as stream:
        found = list(read_rows(stream, "event.txt", len(EVENTS), TAB, []))
    return [dict(zip(EVENTS, cells, strict=True)) for _, cells in found]


def test_rounded_positions_say_what_was_done(placed: Team, tmp_path: Path) -> None:
    """Rounded to 0.1 degree: the position, its uncertainty, the words for it, and no notes.

    -1.23456 and 85.54321 round to -1.2 and 85.5; half a step there is
    5529 m north and 5565 m east on WGS84, 7845 m across.
    """
    survey = find_survey(placed.programme, "Placed")
    target = tmp_path / "a.zip"
    rule = parse_coordinate_rule("0.1")
    export_survey(placed.programme, ExportSurvey(survey, target, rule), NOW)
    for row in events(target)[1:]:
        assert (row["decimalLatitude"], row["decimalLongitude"]) == ("-1.2", "85.5")
        assert row["coordinateUncertaintyInMeters"] == "7845"
        assert row["dataGeneralizations"] == "coordinates rounded to 0.1 degree"
        assert "notes withheld" in row["informationWithheld"]
        assert row["eventRemarks"] == row["locationRemarks"] == ""


@pytest.mark.parametrize(
    ("rule", "off", "note"),
    [
        pytest.param(EXACT, 0.0, TELLTALE, id="exact"),
        pytest.param(
            CoordinateRule(1), 0.05, "Position rounded before it came here: within 7845 m.",
            id="rounded",
        ),
        pytest.param(CoordinateRule(told=False), None, "", id="withheld"),
    ],
)  # fmt: skip
def test_a_site_comes_as_exactly_as_it_was_told(
    placed: Team, tmp_path: Path, rule: CoordinateRule, off: float | None, note: str
) -> None:
    """A rounded position says so in the note of the site, and does not pass for an exact one.

    Half of 0.1 degree is 5529 m north and 5565 m east there (WGS84), so 7845 m across.
    """
    survey, target = find_survey(placed.programme, "Placed"), tmp_path / "a.zip"
    export_survey(placed.programme, ExportSurvey(survey, target, rule), NOW)
    fresh = Team(tmp_path / "fresh", seed=11)
    import_survey(fresh.programme, ImportSurvey(target, "Here"), *fresh.by(fresh.lead))
    (site,) = list_sites(fresh.programme)
    (slate,) = next(iter(get_survey(fresh.programme, survey).slates.values()))
    fresh.programme.close()
    assert site.note == note
    assert slate.note == (TELLTALE if rule.exact else "")
    if off is None:
        assert (site.latitude, site.longitude) == (None, None)
    else:
        assert abs(site.latitude - AT[0]) <= off
        assert abs(site.longitude - AT[1]) <= off


def test_withheld_positions_leave_no_trace(placed: Team, tmp_path: Path) -> None:
    """Where positions are withheld, neither they nor any note is in any file of the archive."""
    target = tmp_path / "withheld.zip"
    command = ExportSurvey(
        find_survey(placed.programme, "Placed"), target, CoordinateRule(told=False)
    )
    export_survey(placed.programme, command, NOW)
    with zipfile.ZipFile(target) as archive:
        text = b"".join(archive.read(name) for name in archive.namelist())
    for telltale in (b"mooring", b"1.2345", b"85.5", b"boundingCoordinates", b"EPSG"):
        assert telltale not in text
    assert b"coordinates withheld" in text
