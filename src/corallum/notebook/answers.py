"""Answers for a table of colonies, and for one of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from corallum.draw.plots import Bar, plot_bars
from corallum.errors import Fault, InputError
from corallum.exchange.colonies import BadColony
from corallum.model.sentence import join_genera, sentence
from corallum.notebook.listing import Field, Listing, Shown, chance, listing, number, words
from corallum.notebook.plot import Plot
from corallum.records.answer import Answer, Candidate, Why

__all__ = ["Answers", "ColonyAnswer"]

_LEAST_SHOWN = 0.005
_MOST_GENERA, _MOST_LOOKS = 12, 8
_SEEN = {"w": "in the water", "l": "lens or close photo", "k": "cleaned skeleton"}
_ELSE = "something else"


def _next(answer: Answer) -> str | None:
    """Return the character that tells most, or None where none is left."""
    return answer.next_looks[0].character if answer.next_looks else None


def _next_shown(answer: Answer) -> str:
    """Say what to look at next; a settled colony needs nothing."""
    return words(None if answer.verdict.status == "settled" else _next(answer))


_ANSWER = (
    Field("colony", {"id": lambda a: a.id}, lambda a: a.id),
    Field("verdict", {"status": lambda a: a.verdict.status}, lambda a: words(a.verdict.status)),
    Field("name", {"name": lambda a: a.verdict.name,
                   "genera": lambda a: [one or _ELSE for one in a.verdict.genera]},
          lambda a: a.verdict.name),
    Field("probability", {"probability": lambda a: a.verdict.probability},
          lambda a: chance(a.verdict.probability), is_number=True),
    Field("most probable", {"genus": lambda a: a.candidates[0].genus,
                            "genus_probability": lambda a: a.candidates[0].probability},
          lambda a: a.candidates[0].genus or _ELSE, is_genus=True),
    Field("look next", {"needs": lambda a: a.verdict.needs, "next_look": _next}, _next_shown),
    Field("", {"best_in_water": lambda a: a.limits.best_in_water,
               "best_with_skeleton": lambda a: a.limits.best_with_skeleton}, str),
)  # fmt: skip
_BAD = (
    Field("colony", {"id": lambda b: b[0]}, lambda b: b[0]),
    Field("where", {"place": lambda b: b[1].place}, lambda b: b[1].place),
    Field("expected", {"expected": lambda b: b[1].expected}, lambda b: b[1].expected),
    Field("found", {"found": lambda b: b[1].found}, lambda b: b[1].found),
    Field("do", {"remedy": lambda b: b[1].remedy}, lambda b: b[1].remedy),
)
_CANDIDATE = (
    Field("genus", {"genus": lambda c: c.genus}, lambda c: c.genus or _ELSE, is_genus=True),
    Field("probability", {"probability": lambda c: c.probability},
          lambda c: chance(c.probability), is_number=True),
    Field("family", {"family": lambda c: c.family}, lambda c: c.family or "–"),
)  # fmt: skip
_LOOK = (
    Field("character", {"character": lambda n: n.character}, lambda n: words(n.character)),
    Field("bits", {"gain_bits": lambda n: n.gain_bits}, lambda n: number(n.gain_bits, 2),
          is_number=True),
    Field("seconds", {"seconds": lambda n: n.seconds}, lambda n: f"{n.seconds:.0f}",
          is_number=True),
    Field("seen", {"seen": lambda n: n.seen}, lambda n: _SEEN[n.seen]),
)  # fmt: skip
_FRAGILE = (
    Field("character", {"character": lambda f: f.character}, lambda f: words(f.character)),
    Field("if it were", {"change": lambda f: f.change}, lambda f: words(f.change)),
    Field("the verdict would be", {"genera": lambda f: [one or _ELSE for one in f.verdict]},
          lambda f: join_genera(f.verdict)),
    Field("probability", {"probability": lambda f: f.probability},
          lambda f: chance(f.probability), is_number=True),
)  # fmt: skip
_REASON = (
    Field("evidence", {"evidence": lambda r: r[0]}, lambda r: words(r[0])),
    Field("decibans", {"decibans": lambda r: r[1]}, lambda r: number(r[1], 1), is_number=True),
    Field("speaks for", {"speaks_for": lambda r: r[2]}, lambda r: r[2], is_genus=True),
)


class ColonyAnswer(Shown):
    """What the model says of one colony.

    Parameters
    ----------
    record : Answer
        All of it, as ``corallum.records.answer`` defines it.
    """

    def __init__(self, record: Answer) -> None:
        self.record = record

    @property
    def id(self) -> str:
        """The colony's id."""
        return self.record.id

    @property
    def sentence(self) -> str:
        """The verdict in one sentence."""
        return sentence(self.record.verdict)

    @property
    def probabilities(self) -> Mapping[str | None, float]:
        """Probability by genus, most probable first; None is something else."""
        return {one.genus: one.probability for one in self.record.candidates}

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind in the water."""
        return self.record.cautions

    @property
    def lead(self) -> str:
        """The id, and the verdict in one sentence."""
        return f"{self.id}: {self.sentence}"

    @property
    def notes(self) -> tuple[str, ...]:
        """What could be known at best, and the cautions."""
        limits = self.record.limits
        best = (
            "With every look in the water made without error, the best genus would be right "
            f"{limits.best_in_water:.0%} of the time; with the cleaned skeleton, "
            f"{limits.best_with_skeleton:.0%}."
        )
        return best, *self.cautions

    def listings(self) -> Sequence[Listing]:
        """Return the genera, and what to look at next and again."""
        return [
            listing("Genera", _CANDIDATE, self.record.candidates).head(len(self._candidates())),
            self.next_looks().head(_MOST_LOOKS),
            *(one.head(_MOST_LOOKS) for one in (self.check_again(),) if len(one)),
        ]  # fmt: skip

    def _candidates(self) -> list[Candidate]:
        """List the genera that are worth a line, the leader always."""
        every = self.record.candidates[:_MOST_GENERA]
        return [one for i, one in enumerate(every) if i == 0 or one.probability >= _LEAST_SHOWN]

    def next_looks(self) -> Listing:
        """List what to look at next, what tells most first.

        Returns
        -------
        Listing
            Expected gain in bits, seconds it costs a diver, and how it is seen.
        """
        return listing("Look next", _LOOK, self.record.next_looks)

    def check_again(self) -> Listing:
        """List reports that the verdict hangs on: cheap to check once more.

        Returns
        -------
        Listing
            What would follow if each were otherwise.
        """
        return listing("Check again", _FRAGILE, self.record.fragile)

    def why(self) -> Listing:
        """List what speaks for the leading genus against the next.

        Returns
        -------
        Listing
            In decibans, which add up; empty where there is nothing to set against it.
        """
        why = self.record.why
        if why is None:
            return listing("Why", _REASON, ())
        caption = f"Why {why.for_} and not {why.against}: {number(why.total, 1)} decibans"
        return listing(caption, _REASON, _reasons(why))

    def plot(self) -> Plot:
        """Draw the probabilities of the genera.

        Returns
        -------
        Plot
            A bar each, in percent; those left are one bar.
        """
        shown = self._candidates()
        bars = [
            Bar(one.genus or _ELSE, 100 * one.probability, chance(one.probability),
                genus=one.genus is not None)
            for one in shown
        ]  # fmt: skip
        left = [one.probability for one in self.record.candidates[len(shown) :]]
        if sum(left) >= _LEAST_SHOWN:
            bars.append(Bar(f"{len(left)} others", 100 * sum(left), chance(sum(left))))
        what = f"{self.id}: probability, %"
        return Plot(lambda width: plot_bars(bars, width, what=what, full=100.0))

    def plot_looks(self) -> Plot:
        """Draw what each further look is expected to tell.

        Returns
        -------
        Plot
            A bar for each of the ten best, in bits.
        """
        bars = [
            Bar(words(one.character), one.gain_bits, number(one.gain_bits, 2))
            for one in self.record.next_looks[:10]
        ]
        what = f"{self.id}: expected gain of a look, bits"
        return Plot(lambda width: plot_bars(bars, width, what=what))


def _reasons(why: Why) -> list[tuple[str, float, str]]:
    """List blocks of evidence, forms and region, and whom each speaks for."""
    parts = [(", ".join((one.character, *one.with_)), one.value) for one in why.decibans]
    parts += [("forms", why.form), ("region", why.prior)]
    return [(name, value, why.for_ if value >= 0 else why.against) for name, value in parts]


class Answers(Shown):
    """Answers in the order of the table; colonies that could not be read stand apart.

    Parameters
    ----------
    outcomes : sequence of Answer or BadColony
        In input order.

    Raises
    ------
    InputError
        Where no colony could be read, with every fault.
    """

    def __init__(self, outcomes: Sequence[Answer | BadColony]) -> None:
        self.records = tuple(one for one in outcomes if isinstance(one, Answer))
        self.bad = tuple(one for one in outcomes if isinstance(one, BadColony))
        if not self.records:
            raise InputError([fault for one in self.bad for fault in one.faults])

    def __len__(self) -> int:
        return len(self.records)

    def __iter__(self) -> Iterator[ColonyAnswer]:
        return map(ColonyAnswer, self.records)

    def of(self, id_: object) -> ColonyAnswer:
        """Return the answer for one colony.

        Parameters
        ----------
        id_ : str or int
            The colony's id.

        Returns
        -------
        ColonyAnswer
            All that is known of it.

        Raises
        ------
        InputError
            Where no colony was answered under that id, or several were.
        """
        found = [one for one in self.records if one.id == str(id_)]
        faults = [fault for one in self.bad if one.id == str(id_) for fault in one.faults]
        if len(found) == 1:
            return ColonyAnswer(found[0])
        if not faults:
            told = ", ".join(one.id for one in self.records[:20])
            times = f"{len(found)} colonies" if found else repr(str(id_))[:60]
            expected = "one colony by that id" if found else f"one of {told}"
            faults = [Fault("of", "", expected, times, "Give each colony an id of its own.")]
        raise InputError(faults)

    @property
    def lead(self) -> str:
        """How many were answered, and how many could not be read."""
        settled = sum(one.verdict.status == "settled" for one in self.records)
        bad = f", {len(self.bad)} could not be read" if self.bad else ""
        return f"{_colonies(len(self.records))} answered, {settled} settled{bad}."

    @property
    def notes(self) -> tuple[str, ...]:
        """Every caution of any of the colonies, once."""
        return tuple(dict.fromkeys(text for one in self.records for text in one.cautions))

    def listings(self) -> Sequence[Listing]:
        """Return the answers, and what could not be read."""
        found = [listing("Answers", _ANSWER, self.records)]
        return [*found, self.faults()] if self.bad else found

    def faults(self) -> Listing:
        """List what could not be read.

        Returns
        -------
        Listing
            Every fault of every bad colony; empty where there is none.
        """
        bad = [(one.id, fault) for one in self.bad for fault in one.faults]
        return listing("Could not be read", _BAD, bad)

    def __repr__(self) -> str:
        shown = super().__repr__()
        return f"{shown}\n" + "\n".join(map(str, self.bad)) if self.bad else shown


def _colonies(n: int) -> str:
    """Count colonies."""
    return "1 colony" if n == 1 else f"{n} colonies"
