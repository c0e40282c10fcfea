"""What each observer errs on, as their practice answers have shown it."""

from __future__ import annotations

from collections.abc import Sequence

from corallum.actions.observer_errors import ObserverErrors as ObserverRecord
from corallum.actions.observer_files import ErrorsFound
from corallum.draw.plots import Bar, plot_bars
from corallum.errors import Fault, InputError
from corallum.model.prior import genus_prior
from corallum.notebook.listing import Field, Listing, Shown, chance, listing, number, words
from corallum.notebook.plot import Plot

__all__ = ["ObserverErrors"]

_OBSERVER = (
    Field("observer", {"observer": lambda o: o[0]}, lambda o: o[0]),
    Field("answers", {"answers": lambda o: o[1].answers}, lambda o: str(o[1].answers),
          is_number=True),
    Field("right", {"right": lambda o: o[1].right}, lambda o: str(o[1].right), is_number=True),
    Field("score", {"score": lambda o: o[1].score}, lambda o: number(o[1].score), is_number=True),
    Field("right in the region's mix ± sd", {"accuracy": lambda o: o[1].accuracy,
                                             "accuracy_sd": lambda o: o[1].accuracy_sd},
          lambda o: f"{chance(o[1].accuracy)} ± {100 * o[1].accuracy_sd:.1f}%", is_number=True),
    Field("confidence", {"stated": lambda o: o[1].confidence.stated,
                         "shift": lambda o: o[1].confidence.shift,
                         "confidence": lambda o: o[1].confidence.word},
          lambda o: o[1].confidence.word),
)  # fmt: skip
_MISJUDGED = (
    Field("character", {"character": lambda m: m.character}, lambda m: words(m.character)),
    Field("was", {"true": lambda m: m.true}, lambda m: words(m.true)),
    Field("said", {"said": lambda m: m.said}, lambda m: words(m.said)),
    Field("how often (90%)", {"mean": lambda m: m.mean, "low": lambda m: m.low,
                              "high": lambda m: m.high},
          lambda m: f"{m.mean:.0%} ({m.low:.0%} to {m.high:.0%})", is_number=True),
    Field("group", {"group": lambda m: m.group}, lambda m: f"{m.group:.0%}", is_number=True),
    Field("looks", {"looks": lambda m: m.looks}, lambda m: f"{m.looks:.0f}", is_number=True),
)  # fmt: skip
_CONFUSED = (
    Field("genus", {"true": lambda m: m.true}, lambda m: m.true, is_genus=True),
    Field("said", {"said": lambda m: m.said}, lambda m: m.said or "something else", is_genus=True),
    *_MISJUDGED[3:5],
    Field("looks", {"times": lambda m: m.times, "looks": lambda m: m.looks,
                    "cost": lambda m: m.cost},
          lambda m: f"{m.looks:.0f}", is_number=True),
)  # fmt: skip


class ObserverErrors(Shown):
    """What each observer errs on, against one reference and one region's mix of genera.

    Parameters
    ----------
    record : ErrorsFound
        As ``corallum.actions.observer_files`` defines it.
    """

    def __init__(self, record: ErrorsFound) -> None:
        self.record = record

    @property
    def lead(self) -> str:
        """How many observers, and which mix of genera."""
        n = len(self.record.observers)
        people = "1 observer" if n == 1 else f"{n} observers"
        return f"{people}, in the mix of genera of {words(self.record.region)}."

    @property
    def notes(self) -> tuple[str, ...]:
        """What few answers are worth."""
        return ("Few answers say little: rates are drawn to the group's.",)

    def listings(self) -> Sequence[Listing]:
        """Return the observers."""
        return [listing("Observers", _OBSERVER, self.record.observers.items())]

    def _of(self, observer: str) -> ObserverRecord:
        known = self.record.observers
        if observer not in known:
            expected = f"one of {', '.join(list(known)[:20])}"
            fault = Fault("observer", "", expected, repr(observer)[:60], "Use one of these.")
            raise InputError([fault])
        return known[observer]

    def misjudged(self, observer: str) -> Listing:
        """List the states that one observer misjudges, the worst against the group first.

        Parameters
        ----------
        observer : str
            Name.

        Returns
        -------
        Listing
            With 90 % intervals; only states looked at three times or more.

        Raises
        ------
        InputError
            Where nobody has that name.
        """
        rows = self._of(observer).errors.misjudged(self.record.compiled)
        return listing(f"What {observer} misjudges", _MISJUDGED, rows)

    def confusions(self, observer: str) -> Listing:
        """List the genera that one observer takes for others, the costliest first.

        Parameters
        ----------
        observer : str
            Name.

        Returns
        -------
        Listing
            With 90 % intervals.

        Raises
        ------
        InputError
            Where nobody has that name.
        """
        shares = genus_prior(self.record.compiled, self.record.region)[:-1]
        rows = self._of(observer).confusions.worst(self.record.compiled, shares)
        return listing(f"What {observer} takes for what", _CONFUSED, rows)

    def plot(self) -> Plot:
        """Draw how often each observer is right in the region's mix of genera.

        Returns
        -------
        Plot
            A bar each with one standard deviation to either side, in percent.
        """
        bars = [
            Bar(name, 100 * one.accuracy, chance(one.accuracy),
                100 * max(one.accuracy - one.accuracy_sd, 0.0),
                100 * min(one.accuracy + one.accuracy_sd, 1.0))
            for name, one in self.record.observers.items()
        ]  # fmt: skip
        what = f"Right in the mix of {words(self.record.region)}, %, ± one standard deviation"
        return Plot(lambda width: plot_bars(bars, width, what=what, full=100.0))
