"""Points on photos lie where anybody can find them again, and become a slate when all are named."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from corallum.actions.photo_points import (
    AddFrame,
    FinishPoints,
    FramePoint,
    NamePoint,
    PointWork,
    add_frame,
    finish_points,
    name_point,
    point_work,
)
from corallum.actions.record_readings import waiting_records
from corallum.actions.survey_tables import survey_data
from corallum.errors import (
    ConflictError,
    CorallumError,
    InputError,
    NotAllowedError,
    NotFoundError,
    UnknownNameError,
)
from corallum.records.survey import Effort
from invented import Team, picture
from invented_surveys import Made, laid_out


@pytest.fixture(scope="module")
def team(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """One programme for all tests here; each plans surveys of its own."""
    found = Team(tmp_path_factory.mktemp("reserve") / "programme")
    yield found
    found.programme.close()


def photos(team: Team, n: int = 1, points: int = 6, **about: Any) -> Made:  # noqa: ANN401  of the plan
    """A survey of one transect with photos."""
    effort = Effort(frames=n, points=points)
    made = laid_out(
        team, "", "photo_points", sites=1, transects=2, areas=(1.0,), effort=effort, **about
    )
    for seed in range(n):
        add_frame(
            team.programme, AddFrame(made.view.transects[0].id, picture(seed + 1)), *team.by()
        )
    return made


def work(made: Made, person: str | None = None, transect: int = 0) -> PointWork:
    """What somebody has named so far."""
    team = made.team
    return point_work(team.programme, made.view.transects[transect].id, person or team.observer)


def name(made: Made, one: FramePoint, said: str, person: str | None = None) -> PointWork:
    """Name one point."""
    transect = made.view.transects[0].id
    command = NamePoint(transect, one.frame, one.point, said)
    return name_point(made.team.programme, command, *made.team.by(person))


def places(found: PointWork) -> list[tuple[float, float]]:
    """Places of points, shares of their photo."""
    return [(one.x, one.y) for one in found.points]


@pytest.mark.parametrize("scatter", ["random", "stratified", "grid"])
def test_points_lie_on_their_photos(team: Team, scatter: str) -> None:
    """Each photo has exactly the points planned, all within it, for every way to scatter."""
    for points in (1, 7, 12):
        found = work(photos(team, 2, points, scatter=scatter))
        assert [(one.frame, one.point) for one in found.points] == [
            (frame, point) for frame in (1, 2) for point in range(1, points + 1)
        ]
        assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in places(found))


def test_points_are_the_same_again(team: Team) -> None:
    """Whoever asks, and whenever, a photo's points are where they were."""
    made = photos(team)
    first = places(work(made))
    add_frame(team.programme, AddFrame(made.view.transects[0].id, picture(50)), *team.by())
    assert places(work(made, team.second))[: len(first)] == first
    assert len(set(first)) == len(first)


def test_points_change_with_the_survey(team: Team) -> None:
    """Another survey's seed puts the points of the same photo elsewhere."""
    one, other = photos(team), photos(team)
    assert one.view.plan.seed != other.view.plan.seed
    assert work(one).frames[0].photo == work(other).frames[0].photo
    assert not set(places(work(one))) & set(places(work(other)))


def test_random_points_are_spread_evenly(team: Team) -> None:
    """Of 600 points of uniform chance a fourth lie in each quarter (binomial, 5 sd)."""
    spread = np.array(places(work(photos(team, 3, 200))))
    for low_x in (False, True):
        for low_y in (False, True):
            here = ((spread[:, 0] < 0.5) == low_x) & ((spread[:, 1] < 0.5) == low_y)
            assert abs(here.sum() - 150) < 5 * np.sqrt(600 * 0.25 * 0.75)


def test_names_are_kept_one_by_one(team: Team) -> None:
    """What is named stays; a later name counts instead; others don't see it."""
    made = photos(team)
    first, second = work(made).points[:2]
    assert work(made).next == first
    after = name(made, first, "por")
    assert (after.named, after.points[0].said) == (1, "Porites")
    assert after.next is not None
    assert after.next.point == second.point
    name(made, first, "sand")
    assert work(made).points[0].said == "sand"
    assert work(made, team.second).named == 0


def test_all_named_they_are_a_slate(team: Team) -> None:
    """Each line has its photo and place; the cover is the share of the points."""
    made = photos(team, 2, 5)
    said = ["porites"] * 4 + ["sand"] * 5 + ["unreadable"]
    for one, what in zip(work(made).points, said, strict=True):
        with pytest.raises(ConflictError, match="points have no name yet"):
            finish_points(team.programme, FinishPoints(made.view.transects[0].id), *team.by())
        name(made, one, what)
    command = FinishPoints(made.view.transects[0].id, 4.0, note="clear")
    slate = finish_points(team.programme, command, *team.by())
    assert (slate.source, slate.depth_m, slate.note) == ("photo points", 4.0, "clear")
    kept = [(one.frame, one.point, one.photo, one.x, one.y) for one in slate.lines]
    assert kept == [(p.frame, p.point, p.photo, p.x, p.y) for p in work(made).points]
    other = made.view.transects[1].id
    made.write(other, [], "porites x9\nsand")
    table = survey_data(team.programme, made.id).table
    row = table.transects.index(slate.transect)
    assert table.met[row, table.labels.index("Porites")] / table.searched[row] == 4 / 9


def test_finished_again_the_slate_is_mended(team: Team) -> None:
    """A name that is changed later makes a slate that replaces the first."""
    made = photos(team, 1, 2)
    for one in work(made).points:
        name(made, one, "sand")
    command = FinishPoints(made.view.transects[0].id)
    first = finish_points(team.programme, command, *team.by())
    name(made, work(made).points[0], "acropora")
    second = finish_points(team.programme, command, *team.by())
    assert second.replaces == first.history
    assert [one.history for one in made.slates] == [second.history]
    assert [one.label for one in second.lines] == ["Acropora", "sand"]


def test_a_point_that_is_read_again_shows_its_photo_and_no_name(team: Team) -> None:
    """The second reader is told the photo and the place on it, and nothing that was said."""
    made = photos(team, 1, 2)
    for one in work(made).points:
        name(made, one, "acropora")
    finish_points(team.programme, FinishPoints(made.view.transects[0].id), *team.by())
    made.draw()
    waiting = waiting_records(team.programme, made.id, team.second)
    assert {(w.point.photo, w.point.x, w.point.y) for w in waiting if w.point} == {
        (p.photo, p.x, p.y) for p in work(made).points
    }
    assert all("acropora" not in repr(one).casefold() for one in waiting)


def test_a_transect_without_photos_makes_no_slate(team: Team) -> None:
    """There is nothing to finish before the first photo."""
    made = photos(team)
    command = FinishPoints(made.view.transects[1].id)
    with pytest.raises(ConflictError, match="there is no photo yet"):
        finish_points(team.programme, command, *team.by())


def test_a_photo_is_a_frame_once(team: Team) -> None:
    """The same picture twice on one transect is refused; on another it is another frame."""
    made = photos(team)
    command = AddFrame(made.view.transects[0].id, picture(1))
    with pytest.raises(ConflictError, match="has that photo already"):
        add_frame(team.programme, command, *team.by())
    again = AddFrame(made.view.transects[1].id, picture(1))
    assert add_frame(team.programme, again, *team.by()).frame == 1


@pytest.mark.parametrize(
    ("frame", "point", "said", "error"),
    [(1, 99, "sand", InputError), (2, 1, "sand", InputError), (0, 0, "sand", InputError),
     (None, "1", "sand", InputError), (1, 1, "zzz", UnknownNameError), (1, 1, "", InputError),
     (1, 1, "a\nb", InputError), (1, 1, "<img src=x>", UnknownNameError)],
)  # fmt: skip
def test_names_that_can_not_be(
    team: Team,
    frame: Any,  # noqa: ANN401
    point: Any,  # noqa: ANN401
    said: str,
    error: type[CorallumError],
) -> None:
    """A point that is not there, and a name that is none, are refused."""
    made = photos(team)
    command = NamePoint(made.view.transects[0].id, frame, point, said)
    with pytest.raises(error):
        name_point(team.programme, command, *team.by())
    assert work(made).named == 0


@pytest.mark.parametrize("data", [b"", b"x" * 100, picture(3)[:200], b"<svg></svg>"])
def test_what_is_no_picture_is_no_frame(team: Team, data: bytes) -> None:
    """Bytes that are no whole picture are refused, and nothing is kept."""
    made = photos(team)
    with pytest.raises(InputError):
        add_frame(team.programme, AddFrame(made.view.transects[1].id, data), *team.by())
    assert work(made, transect=1).frames == ()


def test_only_photo_transects_have_points(team: Team) -> None:
    """A line transect, and one that is not there, have no points."""
    made = laid_out(team)
    with pytest.raises(InputError, match="expected one read by photo points, found line intercept"):
        work(made)
    with pytest.raises(InputError):
        add_frame(team.programme, AddFrame(made.view.transects[0].id, picture()), *team.by())
    for id_ in ("", "nowhere"):
        with pytest.raises((InputError, NotFoundError)):
            point_work(team.programme, id_, team.observer)


def test_readers_add_and_name_nothing(team: Team) -> None:
    """A reader may look at points, but not write."""
    made = photos(team)
    transect = made.view.transects[0].id
    assert work(made, team.reader).named == 0
    for action, command in (
        (add_frame, AddFrame(transect, picture(9))),
        (name_point, NamePoint(transect, 1, 1, "sand")),
        (finish_points, FinishPoints(transect)),
    ):  # fmt: skip
        with pytest.raises(NotAllowedError):
            action(team.programme, command, *team.by(team.reader))  # type: ignore[arg-type]
