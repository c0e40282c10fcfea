"""A small invented programme that holds a record of every kind, for tests of what is handed over.

Its texts are such as break tables: formulas, line breaks, quotes, other alphabets.
"""

from __future__ import annotations

import datetime as dt
import shutil
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from corallum.actions.colonies import (
    AddEvidence,
    AddNote,
    Undo,
    add_evidence,
    add_note,
    undo,
)
from corallum.actions.colony_answers import (
    Override,
    SaveDetermination,
    override_determination,
    save_determination,
)
from corallum.actions.colony_photos import (
    AddMeasurement,
    AttachPhoto,
    add_measurement,
    attach_photo,
)
from corallum.actions.permits import AddPermit, add_permit
from corallum.actions.photo_points import AddFrame, NamePoint, add_frame, name_point
from corallum.actions.places import AddSite, add_site
from corallum.actions.practice_answers import AnswerItem, answer_item
from corallum.actions.practice_sets import MakeSet, make_set
from corallum.actions.qualifications import BeginTest, begin_test
from corallum.actions.second_opinions import (
    AnswerReading,
    AskReading,
    SendVoucher,
    answer_reading,
    ask_reading,
    send_voucher,
)
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_flags import AnswerFlag, answer_flag, flags_of_survey
from corallum.records.survey import Effort, Line
from corallum.store.programme import Programme, open_folder
from invented import NOW, Team, picture
from invented_surveys import Made, laid_out

__all__ = ["FORMULA", "ODD", "PERMIT", "Exported", "exported_copy", "make_exported"]

FORMULA = "=HYPERLINK(1)"
ODD = '-5 "spurs",\nsecond line\twith a tab, Ünïcode, \u73ca\u745a'
PERMIT = "INVENTED-1"
_SIZE = "calice_diameter_mm"


@dataclass(frozen=True)
class Exported:
    """The folder of the programme, and what is in it."""

    folder: Path
    surveys: tuple[str, ...]
    first_colony: str
    bare_colony: str
    withdrawn: str

    def open(self) -> Programme:
        """Open the programme."""
        return open_folder(self.folder)


_KEPT = TemporaryDirectory(prefix="exported")  # removed when the tests end


@cache
def make_exported() -> Exported:
    """Make the programme once; it is to be read, never written to."""
    team = Team(Path(_KEPT.name) / "programme")
    add_site(team.programme, AddSite(FORMULA, "red_sea", -1.25, 35.5, ODD), *team.by())
    add_permit(
        team.programme,
        AddPermit(PERMIT, "Holder (invented)", NOW.date() + dt.timedelta(days=30), "any genus"),
        *team.by(team.lead),
    )
    surveys = _surveys(team)
    first, bare, withdrawn = _colonies(team, surveys[0])
    _practice(team)
    team.programme.close()
    ids = tuple(one.id for one in surveys)
    return Exported(team.programme.folder, ids, first, bare, withdrawn)


def exported_copy(folder: Path) -> Exported:
    """Copy the programme to a folder that may be written to."""
    found = make_exported()
    shutil.copytree(found.folder, folder)
    return Exported(folder, found.surveys, found.first_colony, found.bare_colony, found.withdrawn)


def _surveys(team: Team) -> tuple[Made, ...]:
    """One survey of each method, small; the first has a mended slate, a flag and readings."""
    lines = laid_out(team, "Tape: spring/26", "line_intercept", sites=2, transects=1, areas=(2.0,))
    a, b = lines.view.transects
    wrong = lines.write(a.id, ["Porites"], "1000 porites")
    write_slate(
        team.programme,
        WriteSlate(
            a.id, "400 porites cf.\n700-650 CB\n1000 sand", replaces=wrong.history, note=ODD
        ),
        *team.by(),
    )
    lines.write(b.id, ["Favites", "rock"], "300 favites\n1000 rock")
    lines.read_again(1.0, agree=True)
    for one in flags_of_survey(team.programme, lines.id)[:1]:
        command = AnswerFlag(one.flag.slate, one.flag.line, one.flag.rule, "left_out", "=odd")
        answer_flag(team.programme, command, *team.by(team.lead))
    return lines, *_other_surveys(team)


def _other_surveys(team: Team) -> tuple[Made, ...]:
    """Surveys of the other methods."""
    points = laid_out(team, "Points", "point_intercept", sites=1, transects=1, areas=(1.0,),
                      effort=Effort(points=3, interval_cm=50, length_cm=150))  # fmt: skip
    points.write(points.view.transects[0].id, [], "porites\nsand\nunreadable")
    belt = laid_out(team, "Belt", "belt", sites=1, transects=2, areas=(1.0,))
    full, empty = belt.view.transects
    row = (Line("Porites", "Porites", "genus", "massive", 12.5, None, diameter_cm=33.25,
                off_line_cm=-40.5, colony="A7", note="-5 -> left"),)  # fmt: skip
    write_slate(team.programme, WriteSlate(full.id, row, depth_m=4.2), *team.by())
    note = "searched, nothing met"
    write_slate(team.programme, WriteSlate(empty.id, (), depth_m=5.0, note=note), *team.by())
    quadrat = laid_out(team, "Quadrats", "quadrat", sites=1, transects=1, areas=(1.0,))
    quadrat.write(quadrat.view.transects[0].id, [], "1 porites\n3 favites x3")
    cover = laid_out(team, "Cover", "quadrat_cover", sites=1, transects=1, areas=(1.0,))
    cover.write(cover.view.transects[0].id, [], "1 porites 12.5\n2 sand 100")
    photos = laid_out(team, "Photos", "photo_points", sites=1, transects=2, areas=(1.0,),
                      effort=Effort(frames=1, points=2))  # fmt: skip
    done, begun = photos.view.transects
    frame = add_frame(team.programme, AddFrame(begun.id, picture(9)), *team.by())
    name_point(team.programme, NamePoint(begun.id, frame.frame, 1, "Porites"), *team.by())
    read = tuple(
        Line(said, said, kind, "", None, None, 1, point, x, 0.5, photo=frame.photo)
        for point, said, kind, x in ((1, "Porites", "genus", 0.125), (2, "sand", "other", 0.75))
    )
    write_slate(team.programme, WriteSlate(done.id, read), *team.by())
    return points, belt, quadrat, cover, photos


def _colonies(team: Team, survey: Made) -> tuple[str, str, str]:
    """A colony of which everything is kept, one of which nothing is, and one taken back."""
    transect = survey.view.transects[0]
    first = team.colony(name="Tag 7", site=transect.site, event=transect.id)
    by, programme = team.by, team.programme
    add_note(programme, AddNote(first.id, "=1+1\nline two, \u73ca\u745a"), *by())
    add_evidence(programme, AddEvidence(first.id, "condition", "shaded", value=True), *by())
    save_determination(programme, SaveDetermination(first.id), *by())
    shown = attach_photo(programme, AttachPhoto(first.id, picture(), '-close, "up"'), *by())
    marks = {"scale": "ruler", "scale_points": [[1.5, 2.25], [30, 2.25]]}
    add_measurement(
        programme,
        AddMeasurement(first.id, shown.photo.sha256, _SIZE, 7.25, 6, 7.0, 7.5,
                       "hand", 0.05, 0.01, marks),
        *by(),
    )  # fmt: skip
    team.see(first.id, "columella", "absent")
    undo(programme, Undo(first.id), *by())
    save_determination(programme, SaveDetermination(first.id), *by())
    asked = ask_reading(programme, AskReading(first.id, "wall?", team.second), *by())
    answer = AnswerReading(asked.history, ("Favites", "Goniastrea"), 0.7, "walls, shared\n?")
    answer_reading(programme, answer, *by(team.second))
    override_determination(programme, Override(first.id, "Favites", "walls shared"), *by(team.lead))
    send_voucher(
        programme, SendVoucher(first.id, PERMIT, "INV-1", "Invented museum"), *by(team.lead)
    )
    bare = team.colony({}, site=transect.site)
    gone = team.colony()
    save_determination(programme, SaveDetermination(gone.id), *by())
    undo(programme, Undo(gone.id, gone.history[0].id), *by())
    return first.id, bare.id, gone.id


def _practice(team: Team) -> None:
    """A set with an answer, and a test that was begun."""
    found = make_set(team.programme, MakeSet("Invented set", size=2), *team.by())
    answer = AnswerItem(found.id, 0, (found.items[0].genus,), 0.8, {}, seconds=12.5)
    answer_item(team.programme, answer, *team.by())
    begin_test(team.programme, BeginTest(team.observer, "red_sea"), *team.by(team.lead))
