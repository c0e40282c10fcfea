"""A programme's folder, opened for reading only."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from pathlib import Path
from types import TracebackType
from typing import Self

from corallum.actions.observer_files import errors_in_programme
from corallum.actions.programme_reference import programme_library
from corallum.actions.programmes import open_programme as open_folder
from corallum.actions.survey_changes import ChangeQuestion, change_between
from corallum.actions.survey_estimates import BY, EstimateQuestion, estimate_survey
from corallum.actions.survey_files import find_site
from corallum.actions.survey_plans import SurveyCard, find_survey, get_survey, list_surveys
from corallum.errors import InputError
from corallum.estimate.survey_figures import LEVELS
from corallum.notebook.asked import Asked
from corallum.notebook.estimates import Change, Estimate
from corallum.notebook.listing import Field, Listing, Shown, listing, words
from corallum.notebook.observers import ObserverErrors
from corallum.notebook.reference import Reference
from corallum.reference.genera import REGIONS
from corallum.store.programme import Programme as Opened

__all__ = ["Programme", "Survey", "open_programme"]

_DRAWS, _SEED = (100, 100_000), (0, 2**63)
_CHANGE_BY = ("genus", "family")


def open_programme(folder: str | Path) -> Programme:
    """Open a programme for reading.

    Parameters
    ----------
    folder : str or Path
        Of the programme, as ``corallum new`` or ``corallum demo`` made it.

    Returns
    -------
    Programme
        Its records, tables and photos stay as they are.

    Raises
    ------
    InputError
        Where the folder is no programme, or its settings have faults.
    StoreError
        Where the database can't be opened, or another version made it.
    """
    return Programme(open_folder(Path(folder), read_only=True))


_SURVEY = (
    Field("survey", {"name": lambda c: c.event.name}, lambda c: c.event.name),
    Field("method", {"method": lambda c: c.plan.method.value},
          lambda c: words(c.plan.method.value)),
    Field("date", {"date": lambda c: c.event.date}, lambda c: str(c.event.date or "–")),
    Field("transects", {"transects": lambda c: c.transects}, lambda c: str(c.transects),
          is_number=True),
    Field("with slates", {"with_slates": lambda c: c.done}, lambda c: str(c.done),
          is_number=True),
)  # fmt: skip


class Programme(Shown):
    """A programme, read only; leave it with ``close`` or a ``with`` block.

    Parameters
    ----------
    record : Programme
        As ``corallum.store.programme`` opens it.
    """

    def __init__(self, record: Opened) -> None:
        self.record = record

    @property
    def name(self) -> str:
        """Name of the programme."""
        return self.record.settings.name

    @property
    def regions(self) -> tuple[str, ...]:
        """Its regions."""
        return self.record.settings.regions

    @cached_property
    def reference(self) -> Reference:
        """Its own copy of the reference, with its thresholds."""
        return Reference(programme_library(self.record))

    @property
    def lead(self) -> str:
        """Its name and regions."""
        return f"{self.name}: {', '.join(map(words, self.regions))}."

    def listings(self) -> Sequence[Listing]:
        """Return its surveys."""
        return [self.surveys()]

    def surveys(self) -> Listing:
        """List the surveys that are planned.

        Returns
        -------
        Listing
            The newest first.
        """
        return listing("Surveys", _SURVEY, list_surveys(self.record))

    def survey(self, name: str) -> Survey:
        """Return one survey.

        Parameters
        ----------
        name : str
            Its name or id.

        Returns
        -------
        Survey
            To estimate from.

        Raises
        ------
        InputError
            With the names of those that there are.
        """
        id_ = find_survey(self.record, str(name))
        (card,) = (one for one in list_surveys(self.record) if one.event.id == id_)
        return Survey(self, card)

    def observer_errors(self, region: str | None = None) -> ObserverErrors:
        """Tell what each observer errs on, from the practice answers.

        Parameters
        ----------
        region : str or None
            Whose mix of genera counts; None is the programme's first.

        Returns
        -------
        ObserverErrors
            By observer.

        Raises
        ------
        InputError
            Where nobody has answered.
        """
        asked = Asked("observer_errors")
        asked.one_of("region", region, (None, *REGIONS))
        asked.done()
        return ObserverErrors(errors_in_programme(self.record, region))

    def close(self) -> None:
        """Let go of the database."""
        self.record.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


class Survey(Shown):
    """A survey of a programme.

    Parameters
    ----------
    programme : Programme
        That it belongs to.
    card : SurveyCard
        What it is, as ``corallum.actions.survey_plans`` lists it.
    """

    def __init__(self, programme: Programme, card: SurveyCard) -> None:
        self.programme, self.card = programme, card

    @property
    def id(self) -> str:
        """Id of the survey."""
        return self.card.event.id

    @property
    def name(self) -> str:
        """Name of the survey."""
        return self.card.event.name

    @property
    def lead(self) -> str:
        """Its name, how it is read, and how far it is."""
        card = self.card
        day = f", {card.event.date}" if card.event.date else ""
        return (
            f"{self.name}: {words(card.plan.method.value)}, {card.done} of {card.transects} "
            f"transects with slates{day}."
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """What the plan notes."""
        return (self.card.plan.note,) if self.card.plan.note else ()

    def listings(self) -> Sequence[Listing]:
        """Return its strata and sites."""
        view = get_survey(self.programme.record, self.id)
        rows = [
            (stratum.name, stratum.area, view.sites[site].name,
             sum(one.site == site for one in view.transects))
            for stratum in view.plan.strata for site in stratum.sites
        ]  # fmt: skip
        fields = (
            Field("site", {"site": lambda r: r[2]}, lambda r: r[2]),
            Field("stratum", {"stratum": lambda r: r[0]}, lambda r: r[0]),
            Field("area", {"area": lambda r: r[1]}, lambda r: f"{r[1]:g}", is_number=True),
            Field("transects", {"transects": lambda r: r[3]}, lambda r: str(r[3]),
                  is_number=True),
        )  # fmt: skip
        return [listing("Strata and sites", fields, rows)]

    def estimate(
        self, by: str = "genus", level: str = "survey", *, errors: bool = True,
        draws: int = 1000, seed: int = 1,
    ) -> Estimate:  # fmt: skip
        """Estimate cover or density, as said and corrected for wrong names.

        Parameters
        ----------
        by : str
            genus, family or form.
        level : str
            Of the survey, its strata (stratum) or its sites (site).
        errors : bool
            Whether to correct by the observers' errors too, which takes longer.
        draws : int
            Resamples.
        seed : int
            Of what is drawn: the same seed gives the same figures.

        Returns
        -------
        Estimate
            Said and corrected side by side, or why there is no correction.

        Raises
        ------
        InputError
            With every fault of what was asked, or where there is nothing to estimate from.
        """
        asked = Asked("estimate")
        asked.one_of("by", by, BY)
        asked.one_of("level", level, LEVELS)
        asked.whole("draws", draws, *_DRAWS)
        asked.whole("seed", seed, *_SEED)
        asked.done()
        question = EstimateQuestion(self.id, by, errors, (level,), draws=draws, seed=seed)
        found = estimate_survey(self.programme.record, question)
        return Estimate(found, self.name, frozenset(self.programme.reference.genera))

    def change(  # noqa: PLR0913  all but the first have defaults
        self, against: str | Survey, by: str = "genus", *, fall: float = 0.2,
        impact: Sequence[str] = (), errors: bool = True, draws: int = 1000, seed: int = 1,
    ) -> Change:  # fmt: skip
        """Estimate what changed since an earlier survey, as one difference with its interval.

        Parameters
        ----------
        against : str or Survey
            The survey before.
        by : str
            genus or family.
        fall : float
            What counts as a decline: 0.2 is a fifth.
        impact : sequence of str
            Sites where something happened; the others are controls. Empty: no contrast.
        errors : bool
            Whether to correct by the observers' errors too.
        draws : int
            Resamples.
        seed : int
            Of what is drawn.

        Returns
        -------
        Change
            After less before.

        Raises
        ------
        InputError
            With every fault of what was asked, or where the two tell different things.
        """
        asked = Asked("change")
        asked.one_of("by", by, _CHANGE_BY)
        asked.number("fall", fall, 0.0, 0.99)
        asked.whole("draws", draws, *_DRAWS)
        asked.whole("seed", seed, *_SEED)
        record = self.programme.record
        sites = []
        for site in [impact] if isinstance(impact, str) else impact:
            try:
                sites.append(find_site(record, str(site)))
            except InputError as error:
                asked.faults.extend(error.faults)
        asked.done()
        before = against if isinstance(against, Survey) else self.programme.survey(against)
        question = ChangeQuestion(
            before.id, self.id, by, fall, errors, tuple(sites), draws=draws, seed=seed
        )
        found = change_between(record, question)
        genera = frozenset(self.programme.reference.genera)
        return Change(found, (before.name, self.name), genera)
