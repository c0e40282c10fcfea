"""Photos of a colony, and sizes measured on them that become evidence."""

from __future__ import annotations

import pytest

from corallum.actions.colonies import Undo, undo
from corallum.actions.colony_answers import Override, override_determination
from corallum.actions.colony_lists import get_colony
from corallum.actions.colony_photos import (
    AddMeasurement,
    AttachPhoto,
    add_measurement,
    attach_photo,
    photo_file,
    photos_of_genus,
)
from corallum.errors import InputError, NotFoundError
from corallum.records.colony import SizeReport
from invented import Team, picture


def test_a_photo_is_kept_and_shown(team: Team) -> None:
    """The original comes back byte by byte, with two small copies."""
    colony = team.colony({})
    data = picture()
    kept = attach_photo(team.programme, AttachPhoto(colony.id, data, "from above"), *team.by())
    assert (kept.caption, kept.person) == ("from above", team.observer)
    sha256 = kept.photo.sha256
    original = photo_file(team.programme, sha256, "original")
    assert (original.path.read_bytes(), original.media_type) == (data, "image/jpeg")
    for size in ("thumb", "page"):
        assert photo_file(team.programme, sha256, size).path.read_bytes()[:2] == b"\xff\xd8"


def test_one_photo_may_show_two_colonies(team: Team) -> None:
    """The same bytes are kept once, for both."""
    for _ in range(2):
        attach_photo(team.programme, AttachPhoto(team.colony({}).id, picture()), *team.by())
    assert len(list(team.programme.photo_folder.glob("??/*"))) == 1


def test_what_is_no_photo_leaves_nothing(team: Team) -> None:
    """A refused file leaves neither a file nor an entry."""
    colony = team.colony({})
    with pytest.raises(InputError):
        attach_photo(team.programme, AttachPhoto(colony.id, b"no photo"), *team.by())
    with pytest.raises(NotFoundError):
        attach_photo(team.programme, AttachPhoto("000000000000", picture()), *team.by())
    assert list(team.programme.photo_folder.rglob("*")) == []
    assert get_colony(team.programme, colony.id) == colony


@pytest.mark.parametrize("text", ["0" * 64, "../../../../etc/passwd", "", "\x00", "a" * 63 + "G"])
def test_photos_that_are_not_there(team: Team, text: str) -> None:
    """Only the hash of a photo of this programme leads to a file."""
    with pytest.raises(NotFoundError):
        photo_file(team.programme, text, "original")
    with pytest.raises(InputError):
        photo_file(team.programme, text, "../x")


def test_a_measurement_becomes_evidence(team: Team) -> None:
    """A size measured on a photo is the colony's report, by photo, and names its measurement."""
    colony = team.colony()
    photo = attach_photo(team.programme, AttachPhoto(colony.id, picture()), *team.by()).photo
    command = AddMeasurement(
        colony.id, photo.sha256, "calice_diameter_mm", 6.2, n=9, low=5.9, high=6.5,
        mm_per_pixel=0.05, relative=0.01, marks=[[1, 2], [3, 4]],
    )  # fmt: skip
    record = add_measurement(team.programme, command, *team.by())
    entry = record.reports["calice_diameter_mm"]
    assert entry.report == SizeReport(6.2, 9, "photo")
    assert [item.history for item in record.measurements] == [entry.measurement]
    assert record.measurements[0].marks == [[1, 2], [3, 4]]
    back = undo(team.programme, Undo(colony.id), *team.by())
    assert back.reports["calice_diameter_mm"].report == SizeReport(7.5, 5, "ruler")
    assert back.measurements == record.measurements


@pytest.mark.parametrize(
    "wrong",
    [{"value": -1.0}, {"value": float("nan")}, {"low": 9.0}, {"high": 1.0}, {"n": 0},
     {"mm_per_pixel": 0.0}, {"relative": 0.9}, {"by": "magic"}, {"character": "growth_form"},
     {"character": "width"}, {"value": 10**6}, {"marks": "x" * 300_000}],
)  # fmt: skip
def test_measurements_that_make_no_sense(team: Team, wrong: dict[str, object]) -> None:
    """A size, interval, scale or character that can't be is refused, and nothing is written."""
    colony = team.colony({})
    photo = attach_photo(team.programme, AttachPhoto(colony.id, picture()), *team.by()).photo
    before = get_colony(team.programme, colony.id)
    fields = {"character": "calice_diameter_mm", "value": 6.0, **wrong}
    command = AddMeasurement(colony.id, photo.sha256, **fields)  # type: ignore[arg-type]
    with pytest.raises(InputError):
        add_measurement(team.programme, command, *team.by())
    assert get_colony(team.programme, colony.id) == before


def test_a_photo_of_another_colony_measures_nothing(team: Team) -> None:
    """A measurement is on a photo of its own colony."""
    photo = attach_photo(
        team.programme, AttachPhoto(team.colony({}).id, picture()), *team.by()
    ).photo
    command = AddMeasurement(team.colony({}).id, photo.sha256, "calice_diameter_mm", 6.0)
    with pytest.raises(NotFoundError):
        add_measurement(team.programme, command, *team.by())


def test_photos_of_a_genus_are_of_colonies_that_were_named_so(team: Team) -> None:
    """A genus shows photos of colonies settled or overridden as it, and of no others."""
    colonies = [team.colony() for _ in range(2)]
    for i, colony in enumerate(colonies):
        attach_photo(team.programme, AttachPhoto(colony.id, picture(i)), *team.by())
    command = Override(colonies[0].id, "Favites", "seen again")
    override_determination(team.programme, command, *team.by(team.lead))
    found = photos_of_genus(team.programme, "Favites")
    assert [one.colony for one in found] == [colonies[0].id]
    assert photos_of_genus(team.programme, "Porites") == ()
