"""All surveys of a programme added up: by genus, site and year."""

from __future__ import annotations

from collections.abc import Sequence

from corallum.store import survey_sums as store
from corallum.store.programme import Programme

__all__ = ["sum_surveys"]


def sum_surveys(programme: Programme) -> Sequence[store.SiteYear]:
    """Return what was said of each label at each site in each year, over all surveys.

    Amounts are in the unit of the method; what was left out does not count. Sites are ids.
    """
    with programme.read() as connection:
        return store.sum_by_site_and_year(connection)
