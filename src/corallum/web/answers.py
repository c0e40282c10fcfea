"""Answers for the pages: kept a while, since a page is often asked for twice."""

from __future__ import annotations

import threading
from collections import OrderedDict

from corallum.actions.colony_answers import answer_colony, errors_of
from corallum.actions.programme_reference import programme_library
from corallum.errors import CorallumError
from corallum.records.answer import Answer
from corallum.records.colony_record import ColonyRecord
from corallum.store.programme import Programme

__all__ = ["Answers"]

_MOST = 512


class Answers:
    """The answers given last, by what they rest on.

    One is worked out at a time: side by side they would only slow each other down.
    """

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[object, ...], Answer] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, programme: Programme, record: ColonyRecord) -> Answer | str:
        """Return the answer for a colony as it stands, or why there is none."""
        try:
            return self._answer(programme, record)
        except CorallumError as error:
            # The reference was edited and no longer knows some of what was seen.
            return str(error)

    def _answer(self, programme: Programme, record: ColonyRecord) -> Answer:
        """Look the answer up, or work it out."""
        reports = tuple(sorted((key, entry.report) for key, entry in record.reports.items()))
        key = (
            programme_library(programme).compiled.hash, errors_of(programme, record.observer),
            record.region, record.conditions, tuple(map(repr, reports)),
        )  # fmt: skip
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                found = answer_colony(programme, record)
                self._kept[key] = found
                if len(self._kept) > _MOST:
                    self._kept.popitem(last=False)
            self._kept.move_to_end(key)
        return found
