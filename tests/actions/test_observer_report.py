"""Reports of an observer and of the reference: the figures of the pages, in fair words."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import timedelta
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from corallum.actions.observer_findings import find_observer
from corallum.actions.observer_report import observer_report
from corallum.actions.people import get_person
from corallum.actions.practice_answers import AnswerItem, answer_item
from corallum.actions.practice_sets import MakeSet, make_set
from corallum.actions.qualifications import BeginTest, begin_test
from corallum.actions.reference_report import ReferenceQuestion, reference_report
from corallum.actions.references import summarise
from corallum.errors import InputError, UnknownNameError
from corallum.report.report import Notes, Paragraph, Report, Table, report_object
from corallum.report.report_html import report_html
from corallum.report.report_pdf import report_pdf
from corallum.web.app import create_app
from invented import NOW, Team
from support import library
from web.opened import LOCAL, OWN


@pytest.fixture(scope="module")
def trained(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """An observer who takes Favites for Dipsastraea, and is in a test; another who never tried."""
    team = Team(tmp_path_factory.mktemp("trained") / "p")
    wish = MakeSet("*Odd* set", size=8, genera=("Favites", "Dipsastraea", "Porites"))
    found = make_set(team.programme, wish, *team.by())
    for i, item in enumerate(found.items):
        said = "Dipsastraea" if item.genus == "Favites" else item.genus
        answer = AnswerItem(found.id, i, (said,), 0.9)
        answer_item(team.programme, answer, *team.by())
    begin_test(team.programme, BeginTest(team.observer), *team.by(team.lead))
    yield team
    team.programme.close()


@pytest.fixture(scope="module")
def report(trained: Team) -> Report:
    """The report of the one who practised."""
    person = get_person(trained.programme, trained.observer)
    return observer_report(trained.programme, person, NOW + timedelta(days=1))


def words_of(report: Report) -> str:
    """Return the sentences of a report."""
    told = [report.warning]
    for section in report.sections:
        for block in section.blocks:
            if isinstance(block, Paragraph):
                told.append(block.text)
            elif isinstance(block, Notes):
                told += block.items
    return " ".join(told).replace("\u00a0", " ")


def table_of(report: Report, caption: str) -> Table:
    """Return the table of a caption."""
    return next(
        block
        for section in report.sections
        for block in section.blocks
        if isinstance(block, Table) and block.caption.startswith(caption)
    )


def test_an_observer_is_found_by_name(trained: Team) -> None:
    """A name in any case, or an id; a reader is no observer, and the names there are are told."""
    assert find_observer(trained.programme, "observer 1").id == trained.observer
    assert find_observer(trained.programme, trained.observer).name == "Observer 1"
    with pytest.raises(InputError, match="expected one of Lead, Observer 1, Observer 2"):
        find_observer(trained.programme, "Reader")


def test_figures_are_those_of_the_page(trained: Team, report: Report) -> None:
    """Shares right and mix-ups are those that the observer's page shows."""
    app = create_app(trained.programme, clock=lambda: NOW + timedelta(days=1))
    client = TestClient(app, base_url=LOCAL, headers=OWN)
    page = unescape(client.get(f"/observers/{trained.observer}").text)
    rows = table_of(report, "Genera taken for others").rows
    assert rows
    for true, said, times, mean, *_ in rows:
        row = f'<tr><th scope="row"><i>{true}</i></th><td><i>{said}</i></td><td>{mean} '
        assert row in page
        assert f"{times} times</span>" in page
    lead = report.sections[0].blocks[0]
    assert isinstance(lead, Paragraph)
    right, _, rest = lead.text.partition(" answers in practice right; ")
    expected = rest.partition(" (")[0]
    assert f"{right} right in practice; {expected} expected in the survey's mix" in page


def test_the_words_are_fair(report: Report) -> None:
    """It says for whom it is, that few answers say little, and what would help."""
    told = words_of(report)
    assert "it is for them and for the lead" in told
    assert "Few answers say little" in told
    assert "Begin with " in told
    assert "Dipsastraea" in table_of(report, "Genera taken for others").rows[0]
    assert table_of(report, "Tests").rows[0][1] == "open"
    for harsh in ("bad", "poor", "weak", "fail"):
        assert harsh not in told.casefold()


def test_both_forms_are_made(report: Report) -> None:
    """A set named like markup comes through, in a page and in a PDF; facts are JSON."""
    assert table_of(report, "Sets").rows[0][0] == "*Odd* set"
    assert "*Odd* set" in report_html(report)
    assert report_pdf(report, NOW).startswith(b"%PDF")
    assert json.loads(json.dumps(report_object(report)))["facts"]["answers"] == 8


def test_who_never_answered_has_a_report_that_says_so(trained: Team) -> None:
    """Without answers there is no figure, and no traceback."""
    person = get_person(trained.programme, trained.second)
    found = observer_report(trained.programme, person, NOW)
    told = words_of(found)
    assert "Nothing is known of this observer's errors yet." in told
    assert "May record families only" in told
    assert found.facts["accuracy"] is None
    assert report_pdf(found, NOW).startswith(b"%PDF")


def test_the_reference_is_counted(trained: Team, tmp_path: Path) -> None:
    """Counts are those of the check of the reference; every genus of the region is listed."""
    question = ReferenceQuestion("eastern_pacific", colonies=2, draws=10)
    found = reference_report(trained.programme, question, NOW)
    summary = summarise(library())
    assert found.facts["hash"] == summary.hash
    every = library().reference.entries.genera
    listed = sorted(name for name, one in every.items() if "eastern_pacific" in one.regions)
    assert found.facts["genera"] == listed
    assert sorted(row[0] for row in table_of(found, "Genera listed").rows) == listed
    regions = {row[0]: row[1] for row in table_of(found, "Genera by region").rows}
    assert regions["eastern pacific"] == str(len(listed))
    sources = table_of(found, "Sources of values").rows
    counts = {row[0]: int(row[2].replace(",", "")) for row in sources}
    assert counts["memory"] == summary.from_memory
    assert len(table_of(found, "Characters").rows) == summary.characters
    (tmp_path / "r.pdf").write_bytes(report_pdf(found, NOW))
    assert "about the tables, not about the reef" in words_of(found)


def test_an_unknown_region_is_refused(trained: Team) -> None:
    """A region that no reference knows is named, before anything is drawn."""
    with pytest.raises(UnknownNameError, match="unknown region 'nowhere'"):
        reference_report(trained.programme, ReferenceQuestion("nowhere"), NOW)
