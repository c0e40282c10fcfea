"""Second readings are a random share of the records, blind, and by somebody else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from corallum.actions.reading_agreement import reading_agreement
from corallum.actions.record_readings import (
    DrawReadings,
    ReadRecord,
    draw_readings,
    read_record,
    reading_state,
    waiting_records,
)
from corallum.actions.slates import WriteSlate, write_slate
from corallum.errors import (
    ConflictError,
    CorallumError,
    InputError,
    NotAllowedError,
    NotFoundError,
    UnknownNameError,
)
from invented import Team
from invented_surveys import Made, laid_out, make_survey


@pytest.fixture(scope="module")
def team(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """One programme for all tests here; each plans surveys of its own."""
    found = Team(tmp_path_factory.mktemp("reserve") / "programme")
    yield found
    found.programme.close()


def small(team: Team, text: str = "300 porites\n600 acropora\n1000 sand") -> Made:
    """A survey of one slate."""
    made = laid_out(team, "", sites=1, transects=1, areas=(1.0,))
    made.write(made.view.transects[0].id, [], text)
    return made


def read(made: Made, record: tuple[int, int], said: str, person: str | None = None) -> None:
    """Read one record again."""
    team = made.team
    read_record(team.programme, ReadRecord(*record, said), *team.by(person or team.second))


def test_every_name_is_drawn_from(team: Team) -> None:
    """A draw has at least ten of each said name, or all, and about the share that was asked."""
    made = make_survey(team)
    drawn = made.draw(0.3)
    said = Counter(line.label for line in made.lines.values())
    assert {name: size for name, (size, _) in drawn.strata.items()} == said
    picked = Counter(made.lines[record].label for record in drawn.records)
    assert {name: n for name, (_, n) in drawn.strata.items()} == picked
    assert all(n >= min(10, said[name]) for name, n in picked.items())
    assert len(set(drawn.records)) == len(drawn.records)
    assert 0.25 * len(made.lines) <= len(drawn.records) <= 0.45 * len(made.lines)


def test_a_draw_is_random_over_records(team: Team) -> None:
    """Over many draws every record of a name is drawn as often as any other."""
    text = "\n".join(f"{10 * i} porites" for i in range(1, 41))
    made = small(team, text)
    hits: Counter[int] = Counter()
    rng = np.random.default_rng(5)
    from corallum.actions.record_readings import _pick  # noqa: PLC0415  the draw by itself

    names = {"Porites": list(made.lines)}
    for _ in range(400):
        hits.update(line for _, line in _pick(names, 0.25, 10, rng)[0])
    # 400 draws of 10 in 40: 100 each, binomial sd 8.7; six of them are allowed.
    assert set(hits) == set(range(1, 41))
    assert max(abs(n - 100) for n in hits.values()) < 52


def test_the_second_reader_is_not_told_what_was_said(team: Team) -> None:
    """What waits says where to look, and holds no name of what was said there."""
    made = make_survey(team)
    made.draw()
    waiting = waiting_records(team.programme, made.id, team.second, most=1000)
    assert len(waiting) == len(made.lines)
    names = {line.said.casefold() for line in made.lines.values()}
    names |= {line.label.casefold() for line in made.lines.values()}
    for one in waiting:
        told = repr(one).casefold()
        assert not [name for name in names if name in told]
    line = made.lines[waiting[0].slate, waiting[0].line]
    assert f"tape {line.from_cm:g} to {line.to_cm:g} cm" in waiting[0].where


@pytest.mark.parametrize("method", ["belt", "quadrat", "quadrat_cover", "point_intercept"])
def test_records_of_every_method_are_blind(team: Team, method: str) -> None:
    """Names stay out of what waits, however the transect is read."""
    made = make_survey(team, "", method, sites=1, areas=(1.0,))
    made.draw()
    for one in waiting_records(team.programme, made.id, team.second, most=1000):
        line = made.lines[one.slate, one.line]
        assert line.label.casefold() not in repr(one).casefold()
        assert one.where


def test_who_said_it_first_does_not_read_it(team: Team) -> None:
    """Nothing waits for the observer, who is refused; nor for readers, who may not read."""
    made = small(team)
    drawn = made.draw()
    assert waiting_records(team.programme, made.id, team.observer) == ()
    with pytest.raises(ConflictError, match="a second reading is somebody else's"):
        read(made, drawn.records[0], "porites", team.observer)
    with pytest.raises(NotAllowedError, match="read records again"):
        read(made, drawn.records[0], "porites", team.reader)


def test_records_asked_of_one_person_wait_for_them_alone(team: Team) -> None:
    """A draw may be asked of somebody, from whose own slates it takes nothing."""
    made = laid_out(team, "", sites=1, transects=2, areas=(1.0,))
    first, second = made.view.transects
    made.write(first.id, [], "1000 porites")
    made.write(second.id, [], "1000 acropora", observer=team.second)
    drawn = made.draw(asked_of=team.second)
    assert [made.lines[one].label for one in drawn.records] == ["Porites"]
    assert len(waiting_records(team.programme, made.id, team.second)) == 1
    assert waiting_records(team.programme, made.id, team.lead) == ()
    with pytest.raises(ConflictError, match="was asked of somebody else"):
        read(made, drawn.records[0], "porites", team.lead)
    read(made, drawn.records[0], "porites")
    assert reading_state(team.programme, made.id).waiting == ()


def test_a_record_is_drawn_once_and_read_once(team: Team) -> None:
    """A second draw takes from what is left; when nothing is left it says so."""
    made = make_survey(team, sites=1, areas=(1.0,))
    first = made.draw(0.2, least=2)
    second = made.draw(1.0)
    assert not set(first.records) & set(second.records)
    assert set(first.records) | set(second.records) == set(made.lines)
    with pytest.raises(ConflictError, match="no record is left"):
        made.draw(1.0)
    read(made, first.records[0], "porites")
    with pytest.raises(ConflictError, match="was read again already"):
        read(made, first.records[0], "porites")
    state = reading_state(team.programme, made.id)
    assert len(state.waiting) == len(made.lines) - 1


@pytest.mark.parametrize(
    ("record", "said", "error"),
    [((0, 1), "porites", NotFoundError), ((10**30, 1), "porites", NotFoundError),
     (("x", 1), "porites", NotFoundError), ((None, 99), "porites", ConflictError),
     ((None, 0), "porites", ConflictError), ((None, "1"), "porites", ConflictError),
     ((None, 1), "", InputError), ((None, 1), "zzz", UnknownNameError),
     ((None, 1), "a\nb", InputError), ((None, 1), "<script>", UnknownNameError)],
)  # fmt: skip
def test_readings_that_can_not_be(
    team: Team, record: tuple[Any, Any], said: str, error: type[CorallumError]
) -> None:
    """A record that was not drawn, and a name that is none, are refused; nothing is written."""
    made = small(team)
    made.draw()
    slate = made.slates[0].history if record[0] is None else record[0]
    with pytest.raises(error):
        read(made, (slate, record[1]), said)
    assert reading_state(team.programme, made.id).readings == {}


@pytest.mark.parametrize(
    ("about", "error"),
    [({"share": 2.0}, InputError), ({"share": float("nan")}, InputError),
     ({"asked_of": "nobody"}, CorallumError), ({"survey": "x"}, CorallumError)],
)  # fmt: skip
def test_draws_that_can_not_be(
    team: Team, about: dict[str, Any], error: type[CorallumError]
) -> None:
    """A share above 1, a reader or a survey that is not there are refused."""
    made = small(team)
    command = DrawReadings(**({"survey": made.id} | about))
    with pytest.raises(error):
        draw_readings(team.programme, command, *team.by(team.lead))
    assert reading_state(team.programme, made.id).draws == ()


def test_only_a_lead_draws(team: Team) -> None:
    """Observers and readers may not."""
    made = small(team)
    for person in (team.observer, team.reader):
        with pytest.raises(NotAllowedError, match="draw second readings"):
            draw_readings(team.programme, DrawReadings(made.id), *team.by(person))


def test_readings_of_a_mended_slate_are_of_the_old_one(team: Team) -> None:
    """Once a slate is mended, its readings count no more and its lines wait no more."""
    made = small(team)
    drawn = made.draw()
    read(made, drawn.records[0], "porites")
    slate = made.slates[0]
    command = WriteSlate(slate.transect, "1000 sand", replaces=slate.history)
    write_slate(team.programme, command, *team.by())
    state = reading_state(team.programme, made.id)
    assert (state.lines, state.readings, state.waiting) == ({}, {}, ())
    assert waiting_records(team.programme, made.id, team.second) == ()
    assert reading_agreement(team.programme, made.id) is None


def test_what_could_not_be_read_is_not_drawn(team: Team) -> None:
    """A line that nobody could read holds nothing to read again."""
    made = small(team, "300 porites\n1000 unreadable")
    drawn = made.draw()
    assert [made.lines[one].label for one in drawn.records] == ["Porites"]


def test_agreement_is_counted_by_hand(team: Team) -> None:
    """Of four records read twice three agree: percent taxonomic disagreement is 25."""
    made = small(team, "100 porites\n200 porites\n300 acropora\n400 favites\n500 sand")
    assert reading_agreement(team.programme, made.id) is None
    made.draw()
    (slate,) = made.slates
    truth = ("Porites", "Porites", "Acropora", "Dipsastraea", "unreadable")
    for line, said in enumerate(truth, start=1):
        read(made, (slate.history, line), said)
    found = reading_agreement(team.programme, made.id)
    assert found is not None
    assert (found.n, found.unreadable) == (4, 1)
    assert found.ptd == pytest.approx(25.0)
    assert found.pde == pytest.approx(0.0)
    assert found.table[0] == ("Favites", "Dipsastraea", 1)
    assert "25 % disagree, more than 15 %" in found.said[0]


def test_the_share_right_weighs_names_by_all_their_records(team: Team) -> None:
    """With 30 Porites of which few are read, two draws weigh as one: 30 right of 40 is .75."""
    text = "\n".join(f"{20 * (i + 1)} {'porites' if i < 30 else 'favites'}" for i in range(40))
    made = small(team, text)
    for share in (0.25, 0.5):
        for record in made.draw(share, least=5).records:
            right = made.lines[record].label == "Porites"
            read(made, record, "porites" if right else "Dipsastraea")
    found = reading_agreement(team.programme, made.id)
    assert found is not None
    assert found.right == pytest.approx(0.75)
