"""The places of an invented programme for a map."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from corallum.actions.export_places import ExportPlaces, export_places
from corallum.actions.places import AddSite, add_site
from corallum.errors import InputError, NotFoundError
from corallum.exchange.coordinates import WITHHELD, parse_coordinate_rule
from corallum.exchange.transect_ends import TransectEnds
from invented import Team
from invented_surveys import Made, laid_out

HIDDEN = "Invented: the wreck at 1.234567 N."


def make(folder: Path) -> Made:
    """Two sites with positions and one without, a survey of two sites, and one colony."""
    team = Team(folder)
    add_site(team.programme, AddSite("Far", "red_sea", note=HIDDEN), *team.by())
    survey = laid_out(team, "Spring", sites=2, transects=1, areas=(3.0,))
    first = survey.view.transects[0]
    survey.write(first.id, ["Porites"], "1000 porites")
    team.colony(name="Big one", site=first.site)
    return survey


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    """What is made, to be looked at only."""
    survey = make(tmp_path_factory.mktemp("places") / "programme")
    yield survey
    survey.team.programme.close()


def places(made: Made, **about: Any) -> dict[str, dict[str, Any]]:  # noqa: ANN401  fields of ExportPlaces
    """Export and return features by kind and name."""
    found = export_places(made.team.programme, ExportPlaces(**about))
    return {
        f"{one['properties']['kind']} {one['properties']['name']}": one
        for one in json.loads(found.text)["features"]
    }


def test_everything_with_a_place_is_there(made: Made) -> None:
    """Sites, transects, strata and colonies; what has no position is kept and counted."""
    found = export_places(made.team.programme, ExportPlaces())

    assert found.placed == {"site": 2, "transect": 2, "stratum": 1, "colony": 1}
    assert found.unplaced == {"site": 1, "transect": 0, "stratum": 0, "colony": 0}


def test_a_transect_lies_at_its_site_and_says_so(made: Made) -> None:
    """Without its ends a transect is the point of its site."""
    transect = places(made, kinds=("transect",))["transect T1"]

    assert transect["geometry"]["type"] == "Point"
    assert transect["properties"]["position_of"] == "the site of the transect"
    assert transect["properties"]["survey"] == "Spring"
    assert transect["properties"]["stratum"] == "zone 1"


def test_a_stratum_is_the_points_of_its_sites(made: Made) -> None:
    """No outline is made up: the two sites lie 0.1 degree apart, as they were added."""
    stratum = places(made)["stratum zone 1"]

    assert stratum["geometry"] == {"type": "MultiPoint", "coordinates": [[35, 0], [35.1, 0.1]]}
    assert stratum["properties"]["area"] == 3.0
    assert stratum["properties"]["sites"] == ["Site 1", "Site 2"]


def test_a_transect_with_both_ends_is_a_line(made: Made) -> None:
    """Ends that are given make a line; rounded they make one point, for no such line was laid."""
    ends = (TransectEnds("Spring", "Site 2", "T1", ((0.1001, 35.1001), (0.1004, 35.1004)), 2),)
    exact = places(made, ends=ends, kinds=("transect",))["transect T1"]
    rounded = places(made, ends=ends, kinds=("transect",), rule=parse_coordinate_rule("0.01"))[
        "transect T1"
    ]

    assert exact["geometry"]["coordinates"] == [[35.1001, 0.1001], [35.1004, 0.1004]]
    assert exact["properties"]["position_of"] == "both ends of the transect"
    assert rounded["geometry"] == {"type": "Point", "coordinates": [35.1, 0.1]}


def test_ends_of_a_transect_that_is_not_there_are_refused(made: Made) -> None:
    """A slip in a name is a fault of its row."""
    ends = (TransectEnds("Spring", "Site 9", "T1", ((0, 0), (0, 1)), 7),)

    with pytest.raises(InputError, match=r"ends\.csv, row 7: expected a transect of this prog"):
        export_places(made.team.programme, ExportPlaces(ends=ends, file="ends.csv"))


def test_positions_are_withheld_with_the_notes_that_may_tell_them(made: Made) -> None:
    """Withheld tells no position, and neither rounding nor withholding tells notes."""
    assert HIDDEN in export_places(made.team.programme, ExportPlaces()).text
    for rule in (WITHHELD, parse_coordinate_rule("0.1")):
        text = export_places(made.team.programme, ExportPlaces(rule)).text
        assert HIDDEN not in text
        assert (rule.withheld or rule.generalised) in text
    withheld = places(made, rule=WITHHELD)
    assert {one["geometry"] for one in withheld.values()} == {None}


def test_a_rounded_position_says_how_far_it_may_lie_off(made: Made) -> None:
    """Half a cell of 0.1 degree at the equator is 7.8 km (WGS84); exact ones say nothing."""
    rounded = places(made, rule=parse_coordinate_rule("0.1")).values()
    assert {one["properties"]["kind"] for one in rounded if one["geometry"]} >= {"site", "stratum"}
    for one in rounded:
        off = one["properties"].get("uncertainty_m")
        assert (off is None) == (one["geometry"] is None)
        assert off is None or 7840 < off < 7850
    assert "uncertainty_m" not in export_places(made.team.programme, ExportPlaces()).text


def test_a_colony_carries_no_persons_name(made: Made) -> None:
    """Nobody is named on a map."""
    text = export_places(made.team.programme, ExportPlaces()).text

    assert "Big one" in text
    assert "Observer 1" not in text


def test_a_survey_alone_has_its_own_places_alone(tmp_path: Path) -> None:
    """Of one survey neither the sites, transects nor colonies of others are told."""
    made = make(tmp_path / "programme")
    other = laid_out(made.team, "Autumn", sites=1, transects=1, areas=(1.0,))
    made.team.colony(name="Of autumn", event=other.view.transects[0].id)

    found = places(made, survey=other.view.event.id)

    sites = {one.site for one in other.view.transects}
    assert {id_ for key, one in found.items() if key.startswith("site")
            for id_ in [one["id"].removeprefix("site ")]} == sites  # fmt: skip
    assert {one["properties"]["survey"] for key, one in found.items()
            if key.startswith(("transect", "stratum"))} == {"Autumn"}  # fmt: skip
    assert [key for key in found if key.startswith("colony")] == ["colony Of autumn"]
    with pytest.raises(NotFoundError):
        places(made, survey="nothing")
    made.team.programme.close()
