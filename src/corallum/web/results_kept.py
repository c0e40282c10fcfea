"""What was reckoned for the pages of results, kept until anything is written.

An estimate takes seconds and is asked for again and again: by its page, its table and its
picture. The first who asks reckons, everybody else waits for the same.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from typing import Any, TypeVar, cast

from corallum.actions.colony_lists import history_of
from corallum.web.visit import Visit

__all__ = ["KeptResults", "kept"]

_MOST = 24
_LONGEST_S = 300.0

Result = TypeVar("Result")


class KeptResults:
    """The last results, by what they rest on."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._stamp: Hashable = None
        self._kept: OrderedDict[Hashable, Future[Any]] = OrderedDict()

    def of(self, stamp: Hashable, question: Hashable, work: Callable[[], Result]) -> Result:
        """Return a result, reckoned if it was not since something was written.

        Parameters
        ----------
        stamp : hashable
            Changes with every writing; another one empties what is kept.
        question : hashable
            What was asked.
        work : callable
            Reckons it.
        """
        with self._lock:
            if stamp != self._stamp:
                self._stamp = stamp
                self._kept.clear()
            found = self._kept.get(question)
            mine = found is None
            if found is None:
                found = self._kept[question] = Future()
                while len(self._kept) > _MOST:
                    self._kept.popitem(last=False)
            else:
                self._kept.move_to_end(question)
        if mine:
            self._reckon(question, found, work)
        return cast("Result", found.result(timeout=_LONGEST_S))

    def _reckon(self, question: Hashable, into: Future[Any], work: Callable[[], Any]) -> None:
        """Reckon a result; a failure is told to all who wait, and tried again later."""
        try:
            into.set_result(work())
        except BaseException as error:  # noqa: BLE001  nobody may be left waiting
            with self._lock:
                if self._kept.get(question) is into:
                    del self._kept[question]
            into.set_exception(error)


def kept(visit: Visit, question: Hashable, work: Callable[[], Result]) -> Result:
    """Return a result of the programme as it stands now.

    Parameters
    ----------
    visit : Visit
        Whose programme.
    question : hashable
        What was asked, with a word for the kind of question.
    work : callable
        Reckons it.
    """
    newest = history_of(visit.programme, 1, 1)
    stamp = (newest[0].id if newest else 0, visit.library.compiled.hash)
    results: KeptResults = visit.request.app.state.results
    return results.of(stamp, question, work)
