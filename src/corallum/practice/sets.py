"""Practice sets for a purpose: which forms, in which order, and why each is there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from corallum.errors import Fault, InputError
from corallum.model.compiled import CompiledReference, CompiledView, Floats
from corallum.model.prior import genus_prior
from corallum.practice.item import Item
from corallum.practice.looks import PICTURED
from corallum.practice.making import Maker, Wish

__all__ = ["MOST_ITEMS", "PURPOSES", "SetWish", "make_items", "wishes_of"]

# What a set is for, in the words that pages and commands use.
PURPOSES = {
    "common": "The commonest genera of the region",
    "pair": "Two genera that are mixed up",
    "odd": "Odd growth",
    "character": "One character",
    "mixed": "A mixed test",
    "person": "What one observer needs most",
}
MOST_ITEMS = 400
_COMMONEST = 20
# Colonies drawn in search of one that shows what is practised.
_TRIES = 60
# What bends the shape of a colony.
_BENDS = ("shaded", "crowded", "wave_beaten", "overgrowing", "juvenile", "regenerating")


@dataclass(frozen=True, slots=True)
class SetWish:
    """What a set shall be.

    Parameters
    ----------
    purpose : str
        One of PURPOSES.
    region : str
        Region id.
    size : int
        Items.
    genera : tuple of str
        Of a pair, or to choose from; empty is all of the region.
    character : str
        To practise; empty is none.
    weights : ndarray or None, shape (G,)
        For a person: how much is to gain from each genus.
    reasons : tuple of str
        For a person: why, by genus of the reference; empty texts where there is none.
    described : float
        Share of items told in words, without a picture (0 to 1).
    """

    purpose: str
    region: str
    size: int = 12
    genera: tuple[str, ...] = ()
    character: str = ""
    weights: Floats | None = None
    reasons: tuple[str, ...] = ()
    described: float = 0.0


def make_items(
    compiled: CompiledReference,
    wish: SetWish,
    rng: np.random.Generator,
    progress: Callable[[float], None] = lambda _: None,
) -> list[Item]:
    """Make the items of a set.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    wish : SetWish
        What for.
    rng : numpy.random.Generator
        Draws colonies and order.
    progress : callable
        Is told the share done, 0 to 1.

    Raises
    ------
    InputError
        With every fault of the wish.
    """
    faults = _faults(compiled, wish)
    if faults:
        raise InputError(faults)
    maker = Maker(compiled, wish.region)
    items = []
    for i, one in enumerate(wishes_of(compiled, maker, wish, rng)):
        items.append(_make(compiled, maker, wish, one, rng))
        progress((i + 1) / wish.size)
    return items


def _make(
    compiled: CompiledReference, maker: Maker, wish: SetWish, one: Wish, rng: np.random.Generator
) -> Item:
    """Make an item that shows what it practises; not every colony of a form does.

    What no picture of a form can show, as that a branch has no axial corallite, is told
    in words instead.
    """
    item = maker.make(one, rng)
    for _ in range(_TRIES):
        if not wish.character or _practises(item, wish.character):
            return item
        item = maker.make(replace(one, kind="described"), rng)
        if _practises(item, wish.character):
            return item
        one = wishes_of(compiled, maker, replace(wish, size=1), rng)[0]
        item = maker.make(one, rng)
    remedy = "Choose another character, or other genera."
    expected = f"colonies that show {wish.character}"
    raise InputError([Fault("practice set", "character", expected, "too few", remedy)])


def _practises(item: Item, character: str) -> bool:
    """Whether a look is to be seen, and not given away in words."""
    asked = "corallite_arrangement" if character == "shared_wall" else character
    return asked in (item.shown if item.kind == "described" else item.pictured)


def _faults(compiled: CompiledReference, wish: SetWish) -> list[Fault]:
    """Find everything that is wrong with a wish."""
    where = "practice set"
    faults = []
    if wish.purpose not in PURPOSES:
        expected = f"one of {', '.join(PURPOSES)}"
        faults.append(Fault(where, "purpose", expected, repr(wish.purpose), "Use one of these."))
    if not 1 <= wish.size <= MOST_ITEMS:
        faults.append(Fault(where, "items", f"1 to {MOST_ITEMS}", str(wish.size), "Mend it."))
    if not 0 <= wish.described <= 1:
        found = f"{wish.described:g}"
        faults.append(Fault(where, "described", "a share from 0 to 1", found, "Mend it."))
    if wish.region not in compiled.priors:
        expected = f"one of {', '.join(compiled.priors)}"
        faults.append(Fault(where, "region", expected, repr(wish.region), "Use one of these."))
    unknown = [genus for genus in wish.genera if genus not in compiled.genera]
    faults.extend(
        Fault(where, "genus", "a genus of the reference", repr(genus), "See reference names.")
        for genus in unknown
    )
    if wish.purpose == "pair" and len(set(wish.genera)) != 2:
        found = f"{len(set(wish.genera))}"
        faults.append(Fault(where, "genera", "two different genera", found, "Name both."))
    if wish.purpose == "character" and not wish.character:
        faults.append(Fault(where, "character", "one to practise", "none", "Name it."))
    if wish.character and wish.character not in PICTURED:
        expected = f"a character that a drawn close-up shows: {', '.join(sorted(PICTURED))}"
        faults.append(Fault(where, "character", expected, repr(wish.character), "Name another."))
    return faults


def wishes_of(
    compiled: CompiledReference, maker: Maker, wish: SetWish, rng: np.random.Generator
) -> list[Wish]:
    """Choose the forms of a set and why each is there."""
    chooser = _Chooser(compiled, maker, wish, rng)
    kinds = ["described" if rng.random() < wish.described else "rendered" for _ in range(wish.size)]
    made = {
        "common": chooser.common, "pair": chooser.pair, "odd": chooser.odd,
        "character": chooser.character, "mixed": chooser.mixed, "person": chooser.person,
    }[wish.purpose](wish.size)  # fmt: skip
    return [
        Wish(one.form, one.why, one.condition, one.ask, kind)
        for one, kind in zip(made, kinds, strict=True)
    ]


class _Chooser:
    """Chooses forms for one wish."""

    def __init__(
        self, compiled: CompiledReference, maker: Maker, wish: SetWish, rng: np.random.Generator
    ) -> None:
        self.compiled, self.maker, self.wish, self.rng = compiled, maker, wish, rng
        shares = genus_prior(compiled, wish.region)[:-1].copy()
        if wish.genera and wish.purpose != "pair":
            among = np.isin(np.array(compiled.genera), wish.genera)
            shares = np.where(among, shares, 0.0)
        self.shares = shares / shares.sum()

    def common(self, size: int) -> list[Wish]:
        """Take the commonest genera in turn, in random order."""
        top = np.argsort(-self.shares, kind="stable")[: min(_COMMONEST, size)]
        top = top[self.shares[top] > 0]
        rounds = [self.rng.permutation(top) for _ in range(-(-size // len(top)))]
        order = np.concatenate(rounds)[:size].tolist()
        return [
            Wish(self._form(g), f"{self.shares[g]:.0%} of colonies in the region.") for g in order
        ]

    def pair(self, size: int) -> list[Wish]:
        """Mix two genera so that neither can be guessed by turn."""
        a, b = (self.compiled.genera.index(genus) for genus in dict.fromkeys(self.wish.genera))
        order = self.rng.permutation(([a, b] * size)[:size]).tolist()
        why = " and ".join(dict.fromkeys(self.wish.genera))
        return [Wish(self._form(g), f"One of {why}.", ask=self.wish.character) for g in order]

    def odd(self, size: int) -> list[Wish]:
        """Take rarer forms, and colonies that something bent."""
        rare = [
            f for f in range(self.compiled.n_forms - 1)
            if self.compiled.form_weight[f] < 0.5 and self._share_of(f) > 0
        ]  # fmt: skip
        bends = [i + 1 for i, one in enumerate(self.compiled.conditions) if one in _BENDS]
        found = []
        for i in range(size):
            if (i % 2 and bends) or not rare:
                k = int(self.rng.choice(bends))
                name = self.compiled.conditions[k - 1].replace("_", " ")
                g = int(self.rng.choice(len(self.shares), p=self._flat()))
                found.append(Wish(self._form(g), f"The colony is {name}.", condition=k))
            else:
                weight = np.array([self._share_of(f) for f in rare])
                f = int(self.rng.choice(rare, p=weight / weight.sum()))
                form = self.compiled.form_ids[f].replace("_", " ")
                found.append(Wish(f, f"A rarer look of its genus: {form}."))
        return [found[i] for i in self.rng.permutation(size).tolist()]

    def character(self, size: int) -> list[Wish]:
        """Take each state of a character, or sizes from small to large, equally often."""
        ask = self.wish.character
        forms = [
            f for f in range(self.compiled.n_forms - 1)
            if self._share_of(f) > 0 and self.maker.suits(f, ask)
        ]  # fmt: skip
        if not forms:
            fault = Fault("practice set", "character", "one that genera here show", ask, "Another.")
            raise InputError([fault])
        bins = self._bins(forms, ask)
        why = ask.removesuffix("_mm").replace("_", " ")
        found = []
        for i in range(size):
            members = bins[i % len(bins)]
            weight = np.sqrt([self._share_of(f) for f in members])
            f = int(self.rng.choice(members, p=weight / weight.sum()))
            found.append(Wish(f, f"To practise: {why}.", ask=ask))
        return [found[i] for i in self.rng.permutation(size).tolist()]

    def mixed(self, size: int) -> list[Wish]:
        """Draw genera as the survey meets them."""
        drawn = self.rng.choice(len(self.shares), size, p=self.shares).tolist()
        return [Wish(self._form(g), "Drawn as the survey meets them.") for g in drawn]

    def person(self, size: int) -> list[Wish]:
        """Draw genera by what the observer has to gain."""
        weights = self.shares if self.wish.weights is None else self.wish.weights
        weights = np.where(self.shares > 0, weights, 0.0)
        weights = weights if weights.sum() > 0 else self.shares
        drawn = self.rng.choice(len(weights), size, p=weights / weights.sum()).tolist()
        reasons = self.wish.reasons or ("",) * len(weights)
        return [Wish(self._form(g), reasons[g] or "Met by the survey.") for g in drawn]

    def _bins(self, forms: Sequence[int], ask: str) -> list[list[int]]:
        """Sort forms by the state they usually show, or by size."""
        if ask not in self.compiled.character_index:
            views = [view for view in self.compiled.views if view.id == ask]
            return self._bins_of_views(forms, views)
        character = self.compiled.characters[self.compiled.character_index[ask]]
        if character.is_size:
            order = sorted(forms, key=lambda f: float(character.log_mean[f]))
            parts = np.array_split(np.array(order), min(4, len(order)))
            return [part.tolist() for part in parts]
        bins: dict[int, list[int]] = {}
        for f in forms:
            bins.setdefault(int(np.argmax(character.true[f, :-1])), []).append(f)
        return [bins[state] for state in sorted(bins)]

    def _bins_of_views(
        self, forms: Sequence[int], views: Sequence[CompiledView]
    ) -> list[list[int]]:
        """Sort forms by what a view, such as shared walls, usually says of them."""
        bins = []
        for view in views:
            shares = self.compiled.characters[view.character].true[:, list(view.columns)]
            members = [f for f in forms if shares[f].sum() > 0.5]
            if members:
                bins.append(members)
        return bins

    def _form(self, genus: int) -> int:
        """Draw a form of a genus by its weight, one that suits the character asked."""
        starts = self.compiled.genus_starts
        forms = np.arange(starts[genus], starts[genus + 1])
        weight = self.compiled.form_weight[forms]
        suits = np.array([self.maker.suits(int(f), self.wish.character) for f in forms])
        weight = weight * suits if (weight * suits).sum() > 0 else weight
        return int(self.rng.choice(forms, p=weight / weight.sum()))

    def _share_of(self, form: int) -> float:
        """Share of a form's genus in the region; 0 off its list."""
        share = float(self.shares[self.compiled.form_genus[form]])
        return share if share > 2 * self.compiled.settings.prior_off_list else 0.0

    def _flat(self) -> Floats:
        """Shares of genera, flattened so that rare ones show too."""
        flat = np.sqrt(np.where(self.shares > 1e-4, self.shares, 0.0))
        share: Floats = flat / flat.sum()
        return share
