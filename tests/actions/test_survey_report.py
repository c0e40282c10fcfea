"""A survey's report: its figures are those of the pages, and it is honest where there are none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from corallum.actions.permits import AddPermit, add_permit
from corallum.actions.places import AddSite, add_site
from corallum.actions.second_opinions import SendVoucher, send_voucher
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_findings import SurveyQuestion
from corallum.actions.survey_plans import PlanSurvey, plan_survey
from corallum.actions.survey_report import survey_report
from corallum.errors import InputError
from corallum.records.survey import Effort, Stratum
from corallum.report.report import Facts, Notes, Paragraph, Report, Table
from corallum.report.report_html import report_html
from corallum.report.report_pdf import report_pdf
from corallum.web.app import create_app
from invented import NOW, Team
from surveyed import FORMULA, Surveyed, make_surveys
from web.opened import LOCAL, OWN

_ODD = "<script> #panic() *x* [a] $1$"


@dataclass
class Reef:
    """Invented surveys, a client of their pages, and what their reports say."""

    surveys: Surveyed
    client: TestClient

    def report(self, survey: str, **asked: object) -> Report:
        """Return the report of a survey."""
        question = SurveyQuestion(survey, **asked)  # type: ignore[arg-type]
        return survey_report(self.surveys.team.programme, question, NOW)

    def page(self, path: str, **asked: str) -> str:
        """Return a page of results."""
        answer = self.client.get(path, params=asked)
        assert answer.status_code == 200
        return answer.text


@pytest.fixture(scope="module")
def reef(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reef]:
    """Open surveys whose every record was read again; nothing here writes to them."""
    made = make_surveys(tmp_path_factory.mktemp("reported") / "p")
    client = TestClient(create_app(made.team.programme), base_url=LOCAL, headers=OWN)
    yield Reef(made, client)
    made.team.programme.close()


def cells_of(page: str, table: str) -> list[list[str]]:
    """Return the cells of the body of a table of a page, by its label."""
    found = re.search(rf'aria-label="{table}".*?</table>', page, re.DOTALL)
    assert found
    rows = re.findall(r"<tr>(.*?)</tr>", found[0].partition("<tbody>")[2], re.DOTALL)
    return [
        [_plain(one) for one in re.findall(r"<t[hd].*?</t[hd]>", row, re.DOTALL)] for row in rows
    ]


def _plain(text: str) -> str:
    """Return the words of a piece of a page."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).replace("\u00a0", " ").split())


def rows_of(report: Report, caption: str) -> list[list[str]]:
    """Return the cells of a table of a report, written as a page writes them."""
    tables = [
        block
        for section in report.sections
        for block in section.blocks
        if isinstance(block, Table) and block.caption.startswith(caption)
    ]
    assert len(tables) == 1, caption
    return [[_blank(cell) for cell in row] for row in tables[0].rows]


def _blank(text: str) -> str:
    """Return words as a page has them: an interval stands under its figure, without brackets."""
    return " ".join(re.sub(r"[()]", " ", text).replace("\u00a0", " ").split())


def words_of(report: Report) -> str:
    """Return the sentences of a report."""
    told = [report.warning]
    for section in report.sections:
        for block in section.blocks:
            match block:
                case Paragraph():
                    told.append(block.text)
                case Notes():
                    told += block.items
                case Facts():
                    told += [f"{label}: {value}" for label, value in block.rows]
                case _:
                    pass
    return " ".join(told).replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("by", "errors"),
    [
        pytest.param("genus", False, id="genera"),
        pytest.param("family", False, id="families"),
        pytest.param("genus", True, id="genera, by the observers' errors too"),
    ],
)
def test_figures_are_those_of_the_page(reef: Reef, by: str, errors: bool) -> None:
    """For the same question, each cell of the report is a cell of the Results page."""
    # The earlier survey follows none: its report reckons no change, which takes longest.
    survey = reef.surveys.before if errors else reef.surveys.after
    page = reef.page(f"/results/{survey}", by=by, errors="1" if errors else "0")
    report = reef.report(survey, by=by, errors=errors)
    shown = cells_of(page, "Table of figures")
    assert len(shown) > 2
    assert rows_of(report, f"Cover by {by}") == shown


def test_places_are_those_of_the_page(reef: Reef) -> None:
    """Strata and sites have the figures of the page, each site with its stratum."""
    report = reef.report(reef.surveys.after)
    page = cells_of(reef.page(f"/results/{reef.surveys.after}"), "Table of places")
    strata = rows_of(report, "All stony coral by stratum")
    sites = rows_of(report, "All stony coral by site")
    shown = [row for row in page if len(row) > 1]
    assert [*strata, *sites] == shown
    assert len(strata) == 2
    assert len(sites) == 4


def test_change_is_that_of_the_page(reef: Reef) -> None:
    """The change against the survey that it follows has the figures and sentences of the page."""
    asked = {"before": reef.surveys.before, "after": reef.surveys.after}
    page = reef.page("/results/change", **asked)
    report = reef.report(reef.surveys.after)
    shown = cells_of(page, "Table of changes")
    assert rows_of(report, "Change from Reef 2025 to Reef 2026") == shown
    sentence = re.search(r'<p class="sentence">(.*?)</p>', page, re.DOTALL)
    assert sentence
    assert _plain(sentence[1]) in words_of(report)


def test_sentences_are_those_of_the_page(reef: Reef) -> None:
    """The first sentence of the report is that of the page."""
    page = reef.page(f"/results/{reef.surveys.after}")
    sentence = re.search(r'<p class="sentence">(.*?)</p>', page, re.DOTALL)
    assert sentence
    first = reef.report(reef.surveys.after).sections[0].blocks[0]
    assert isinstance(first, Paragraph)
    assert _plain(first.text) == _plain(sentence[1])


def test_diversity_is_that_of_the_page(reef: Reef) -> None:
    """Measures of richness and diversity are those of the page."""
    page = reef.page(f"/results/{reef.surveys.after}/diversity")
    shown = cells_of(page, "Table of measures by records")
    assert rows_of(reef.report(reef.surveys.after), "By records") == [
        [_blank(cell) for cell in row] for row in shown
    ]


def test_page_and_pdf_are_of_one_model(reef: Reef) -> None:
    """Both forms are made; invented data are said to be so, and how to make it again."""
    report = reef.report(reef.surveys.after)
    assert "invented" in report.warning
    assert FORMULA.partition("<")[0] in report_html(report)
    assert report_pdf(report, NOW).startswith(b"%PDF")
    told = words_of(report)
    for part in ("Seed: 1", "Resamples: 1,000", "History of the records: entry ", "seal "):
        assert part in told
    assert "corallum report FOLDER --survey 'Reef 2026'" in told


def test_who_is_not_qualified_is_said(reef: Reef) -> None:
    """An observer without a passed test is named among the cautions."""
    report = reef.report(reef.surveys.after)
    assert "Observer 1 has dived without a passed test" in words_of(report)
    assert report.facts["not_qualified"] == ["Observer 1"]


def test_a_survey_without_slates_says_so(reef: Reef) -> None:
    """No slate, no figure: the report says why, and holds no table of figures."""
    report = reef.report(reef.surveys.empty)
    told = words_of(report)
    assert "No figure can be given of this survey yet. It takes 2 transects with slates" in told
    assert "0 of 8 planned transects have a slate so far." in told
    assert "There is no slate to check yet." in told
    assert report.facts["figures"] == []
    assert report_pdf(report, NOW).startswith(b"%PDF")


def test_a_belt_without_second_readings_is_uncorrected(reef: Reef) -> None:
    """Without second readings nothing is called corrected, and sizes are told as on their page."""
    report = reef.report(reef.surveys.belt)
    told = words_of(report)
    assert "as it was said: nothing corrects it yet." in told
    assert "No second readings: how often the names are right is not known from here." in told
    assert "By second readings: This survey has no second readings" in told
    assert "put mistaken names right" not in told
    page = _plain(reef.page(f"/results/{reef.surveys.belt}/sizes"))
    half = re.search(r"Half of 7 colonies are .*? cm\)\.", page)
    assert half
    assert half[0] in told


def test_it_can_be_compared_with_any_survey_of_its_unit(reef: Reef) -> None:
    """Against another survey of cover there is a change; against a density it is refused."""
    report = reef.report(reef.surveys.before, against=reef.surveys.after)
    assert rows_of(report, "Change from Reef 2026 to Reef 2025")
    for against, expected in ((reef.surveys.belt, "a survey in %"),
                              (reef.surveys.after, "another survey")):  # fmt: skip
        with pytest.raises(InputError, match=expected):
            reef.report(reef.surveys.after, against=against)


def test_a_survey_that_follows_an_empty_one_has_no_change(reef: Reef) -> None:
    """Against a survey without slates the report says why there is no change."""
    report = reef.report(reef.surveys.after, against=reef.surveys.empty)
    assert "The change since Reef 2027 can't be given." in words_of(report)


def test_odd_names_and_one_transect(tmp_path: Path) -> None:
    """Names like markup come through; one transect gives no figure, and no fault."""
    team = Team(tmp_path / "p")
    site = add_site(team.programme, AddSite(_ODD, "red_sea"), *team.by()).id
    plan = PlanSurvey(
        _ODD, "line_intercept", (Stratum(_ODD, 1.0, (site,)),), 1, Effort(length_cm=1000),
        (team.observer,), note=f"{_ODD}\nsecond line",
    )  # fmt: skip
    view = plan_survey(team.programme, plan, *team.by(team.lead))
    write_slate(team.programme, WriteSlate(view.transects[0].id, "100 porites"), *team.by())
    report = survey_report(team.programme, SurveyQuestion(view.event.id), NOW)
    team.programme.close()
    assert report.title == _ODD
    assert "1 of 1 planned transects has a slate so far." in words_of(report)
    assert f"Note of the plan: {_ODD}\nsecond line" in words_of(report)
    page = report_html(report)
    assert "<script" not in page
    assert page.count("&lt;script&gt; #panic() *x* [a] $1$") >= 4
    assert report_pdf(report, NOW).startswith(b"%PDF")


def test_samples_are_listed_with_their_permits(team: Team) -> None:
    """A sample of a colony of the survey is listed with its permit; another colony's is not."""
    site = add_site(team.programme, AddSite("Wall", "red_sea"), *team.by()).id
    plan = PlanSurvey(
        "S", "line_intercept", (Stratum("all", 1.0, (site,)),), 1, Effort(length_cm=1000)
    )
    view = plan_survey(team.programme, plan, *team.by(team.lead))
    question = SurveyQuestion(view.event.id)
    permit = AddPermit("P-1", "Invented collection", NOW.date())
    add_permit(team.programme, permit, *team.by(team.lead))
    for event, label in ((None, "elsewhere"), (view.transects[0].id, "inside")):
        before = survey_report(team.programme, question, NOW)
        assert "Samples and permits" not in [one.title for one in before.sections]
        command = SendVoucher(team.colony(event=event).id, "P-1", label, "Invented museum")
        send_voucher(team.programme, command, *team.by(team.lead))
    report = survey_report(team.programme, question, NOW)
    assert rows_of(report, "Samples") == [
        ["inside", "P-1", "Invented collection", "14 March 2026", "Invented museum"]
    ]


def test_parts_stand_in_their_order(reef: Reef) -> None:
    """The summary comes first, what to mind before any figure, and appendices last."""
    titles = [one.title for one in reef.report(reef.surveys.after).sections]
    assert titles[:2] == ["Summary", "Before you use a figure"]
    assert titles[-3:] == [
        "Appendix: sites", "Appendix: strata by genus", "Appendix: diversity by place",
    ]  # fmt: skip
