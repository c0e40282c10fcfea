"""Where a reference fails: assessed by simulation, by pairs, and two genera side by side."""

from __future__ import annotations

from collections.abc import Sequence

from corallum.actions.accounts import Comparison as ComparisonRecord
from corallum.draw.plots import Bar, plot_bars
from corallum.model.assess import Assessment as AssessmentRecord
from corallum.model.assess import Figure
from corallum.model.separability import Pair
from corallum.notebook.listing import Field, Listing, Shown, chance, listing, number, words
from corallum.notebook.plot import Plot

__all__ = ["Assessment", "Comparison", "Limits"]

_MOST_BARS, _MOST_ROWS = 12, 15
_SEEN = {"w": "in the water", "l": "lens or close photo", "k": "cleaned skeleton"}
_SKELETON = (
    "A skeleton means a voucher: only under permit, never taken to settle a name by the way."
)


def _share(figure: Figure) -> str:
    """Write a share with its standard error."""
    return f"{chance(figure.value)} ± {100 * figure.se:.1f}%"


def _lost(fate: object) -> str:
    """Say what else the colonies of a genus are named."""
    others = getattr(fate, "lost_to", ())
    return ", ".join(f"{name or 'something else'} {share:.0%}" for name, share in others) or "–"


_WHOLE = (
    Field("", {"what": lambda w: w[0]}, str),
    Field("figure", {}, lambda w: w[0]),
    Field("share ± standard error", {"value": lambda w: w[1].value, "se": lambda w: w[1].se},
          lambda w: w[2], is_number=True),
)  # fmt: skip
_FATE = (
    Field("genus", {"genus": lambda f: f.genus}, lambda f: f.genus, is_genus=True),
    Field("share of colonies", {"share": lambda f: f.prior}, lambda f: chance(f.prior),
          is_number=True),
    Field("named right", {"named_right": lambda f: f.named_right.value,
                          "named_right_se": lambda f: f.named_right.se},
          lambda f: _share(f.named_right), is_number=True),
    Field("named instead", {"lost_to": lambda f: [name or "something else"
                                                  for name, _ in f.lost_to],
                            "lost_shares": lambda f: [share for _, share in f.lost_to]}, _lost),
)  # fmt: skip
_WORTH = (
    Field("character", {"character": lambda w: w.character}, lambda w: words(w.character)),
    Field("lost if dropped", {"dropped": lambda w: w.dropped.value,
                              "dropped_se": lambda w: w.dropped.se},
          lambda w: _share(w.dropped), is_number=True),
    Field("gained on a first look", {"added": lambda w: w.added.value,
                                     "added_se": lambda w: w.added.se},
          lambda w: _share(w.added), is_number=True),
)  # fmt: skip
_LEFT_OUT = (
    Field("genus left out", {"genus": lambda w: w.genus}, lambda w: w.genus, is_genus=True),
    Field("others gain", {"others": lambda w: w.others.value, "others_se": lambda w: w.others.se},
          lambda w: _share(w.others), is_number=True),
    Field("its colonies settled as another", {"misnamed": lambda w: w.misnamed.value,
                                              "misnamed_se": lambda w: w.misnamed.se},
          lambda w: _share(w.misnamed), is_number=True),
)  # fmt: skip
_PAIR = (
    Field("genus", {"a": lambda p: p.a}, lambda p: p.a, is_genus=True),
    Field("or", {"b": lambda p: p.b}, lambda p: p.b, is_genus=True),
    Field("right in the water", {"in_water": lambda p: p.in_water},
          lambda p: chance(p.in_water), is_number=True),
    Field("with the skeleton", {"with_skeleton": lambda p: p.with_skeleton},
          lambda p: chance(p.with_skeleton), is_number=True),
)  # fmt: skip


class Assessment(Shown):
    """Where a reference fails in one region, by simulated colonies.

    Parameters
    ----------
    record : Assessment
        As ``corallum.model.assess`` defines it.
    seed : int
        Seed of the simulation.
    """

    def __init__(self, record: AssessmentRecord, seed: int) -> None:
        self.record, self.seed = record, seed

    @property
    def lead(self) -> str:
        """What it rests on, and how often the best genus is right."""
        region = words(self.record.region or "anywhere")
        return (
            f"{region}: the best genus is right for {_share(self.record.accuracy)} of "
            f"{self.record.colonies} simulated colonies (seed {self.seed})."
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """What was simulated."""
        n = len(self.record.characters)
        return (f"Reported: all {n} characters, with an unknown observer's errors. These figures "
                "are of the reference as it is written, not of a reef.",)  # fmt: skip

    def listings(self) -> Sequence[Listing]:
        """Return the genera that are lost most, and the figures of the whole."""
        return [self.weak_spots().head(_MOST_ROWS), self.whole()]

    def weak_spots(self) -> Listing:
        """List the genera, those named right least often first.

        Returns
        -------
        Listing
            How often each is named right, and what it is named instead.
        """
        order = sorted(self.record.genera, key=lambda one: one.named_right.value)
        return listing("Genera, those lost most often first", _FATE, order)

    def whole(self) -> Listing:
        """List the figures of the whole.

        Returns
        -------
        Listing
            Accuracy, what is settled, and whether named sets hold the truth.
        """
        one = self.record
        rows = [
            (name, figure, _share(figure))
            for name, figure in (
                ("best genus is right", one.accuracy), ("settled", one.settled),
                ("settled but wrong", one.settled_wrong),
                ("named set holds the truth", one.coverage),
            )
        ]  # fmt: skip
        size = f"{number(one.set_size.value, 2)} ± {number(one.set_size.se, 2)}"
        return listing(
            "The whole", _WHOLE, [*rows, ("genera in the named set", one.set_size, size)]
        )

    def characters(self) -> Listing:
        """List the characters by what they are worth.

        Returns
        -------
        Listing
            Accuracy lost by dropping each from all, and gained by adding it to a first look.
        """
        return listing("What a character is worth", _WORTH, self.record.worth)

    def left_out(self) -> Listing:
        """List what happens where a genus is left out of the reference.

        Returns
        -------
        Listing
            Those whose colonies would be settled as another genus most often first.
        """
        order = sorted(self.record.left_out, key=lambda one: -one.misnamed.value)
        return listing("Where a genus is left out", _LEFT_OUT, order)

    def plot(self) -> Plot:
        """Draw how often the weakest genera are named right.

        Returns
        -------
        Plot
            A bar each with its standard error, in percent.
        """
        order = sorted(self.record.genera, key=lambda one: one.named_right.value)[:_MOST_BARS]
        bars = [
            Bar(one.genus, 100 * figure.value, chance(figure.value),
                100 * max(figure.value - figure.se, 0.0), 100 * min(figure.value + figure.se, 1.0),
                genus=True)
            for one in order for figure in (one.named_right,)
        ]  # fmt: skip
        region = words(self.record.region or "anywhere")
        what = f"Named right, % of simulated colonies ± one standard error, {region}"
        return Plot(lambda width: plot_bars(bars, width, what=what, full=100.0))


class Limits(Shown):
    """Pairs of genera by how poorly the water tells them apart.

    Parameters
    ----------
    pairs : tuple of Pair
        The least separable first.
    compared : int
        How many pairs were compared.
    below : float or None
        The pairs are told apart less often than this, 0 to 1; None: they were asked for.
    """

    def __init__(self, pairs: tuple[Pair, ...], compared: int, below: float | None) -> None:
        self.pairs, self.compared, self.below = pairs, compared, below

    @property
    def lead(self) -> str:
        """How many pairs there are, or what can be known of the two."""
        if self.below is None:
            one = self.pairs[0]
            return (
                f"{one.a} or {one.b}: however well one looks in the water, "
                f"{one.in_water:.0%} are named right; with the skeleton {one.with_skeleton:.0%}."
            )
        return (
            f"{len(self.pairs)} of {self.compared} pairs are told apart in less than "
            f"{self.below:.0%} of cases, however well one looks, the two being equally probable."
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """The caution on skeletons."""
        return (_SKELETON,)

    def listings(self) -> Sequence[Listing]:
        """Return the pairs."""
        return [listing("Pairs, the least separable first", _PAIR, self.pairs)]


class Comparison(Shown):
    """Two genera side by side, the deciding characters first.

    Parameters
    ----------
    record : Comparison
        As ``corallum.actions.accounts`` defines it.
    """

    def __init__(self, record: ComparisonRecord) -> None:
        self.record = record

    @property
    def lead(self) -> str:
        """Which two."""
        return f"{self.record.a} and {self.record.b}"

    @property
    def notes(self) -> tuple[str, ...]:
        """What the reference says of the pair."""
        return self.record.notes

    def listings(self) -> Sequence[Listing]:
        """Return the characters, those known of both genera first."""
        fields = (
            Field("character", {"character": lambda r: r.character}, lambda r: words(r.character)),
            Field("seen", {"seen": lambda r: r.seen}, lambda r: _SEEN[r.seen]),
            Field("right by it alone", {"right": lambda r: r.right}, lambda r: chance(r.right),
                  is_number=True),
            Field(self.record.a, {self.record.a: lambda r: r.a or None}, lambda r: r.a or "–"),
            Field(self.record.b, {self.record.b: lambda r: r.b or None}, lambda r: r.b or "–"),
        )  # fmt: skip
        # Where one side is blank the base rate stands in: such rows come last.
        rows = sorted(
            (row for row in self.record.rows if row.a or row.b),
            key=lambda row: not (row.a and row.b),
        )
        return [listing("Characters, the deciding ones first", fields, rows).head(_MOST_ROWS)]

    def plot(self) -> Plot:
        """Draw how often each of the deciding characters names the right one by itself.

        Returns
        -------
        Plot
            A bar each, in percent; 50 is a coin.
        """
        rows = [row for row in self.record.rows if row.a and row.b][:_MOST_BARS]
        bars = [Bar(words(row.character), 100 * row.right, chance(row.right)) for row in rows]
        what = f"{self.record.a} or {self.record.b}: right by one character alone, %"
        return Plot(lambda width: plot_bars(bars, width, what=what, full=100.0))
