"""What a field sheet says of itself: what it is worth, what it leaves out, and what to mind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from corallum.model.page_choice import PageChoice
from corallum.model.page_comparison import PageComparison
from corallum.model.separability import Pair
from corallum.report.field_sheet import Note, label_of

__all__ = ["BELOW", "CAUTIONS", "Account", "Origin", "longest_account", "write_account"]

BELOW = (
    "● always or usually   ○ often or sometimes   empty: rarely or never   – does not apply   "
    "? not known   ! known to sting; none is safe to touch. A size is the range of 95 of 100 "
    "colonies. Heavy frame: sets the genus best apart from the one named at the end of its row. "
    "Like stands beside like."
)
# Said on every sheet, whatever a reference says besides.
CAUTIONS = (
    "Look, do not touch: some stony corals and their neighbours sting or cut. The dive supervisor "
    "decides whether, where and how long to dive. Never break or collect a coral to settle a "
    "name: that needs a permit, and some are protected by name. A name is an estimate."
)
_MOST_PAIRS = 8


@dataclass(frozen=True, slots=True)
class Origin:
    """What a sheet was made from.

    Parameters
    ----------
    team : str
        Whose errors it was chosen for, in words.
    reference : str
        Version and hash.
    day : str
        When.
    seed, colonies : int
        That make the same sheet again.
    """

    team: str
    reference: str
    day: str
    seed: int
    colonies: int

    @property
    def text(self) -> str:
        """The last paragraph of the account."""
        return (
            f"Chosen for {self.team}, on {self.colonies} colonies drawn from the reference, and "
            f"judged on as many others; seed {self.seed}. Figures are about the reference as "
            f"written, not about the reef. Reference {self.reference}. Corallum, {self.day}."
        )


@dataclass(frozen=True, slots=True)
class Account:
    """What is known of a sheet once it is chosen.

    ``cautions`` are the texts of cautions that its genera carry, with the genera.
    """

    choice: PageChoice
    beside: PageComparison | None
    pairs: tuple[Pair, ...]
    cautions: Mapping[str, tuple[str, ...]]
    origin: Origin


def write_account(account: Account) -> tuple[Note, ...]:
    """Write the paragraphs of a sheet's account, what matters in the water first."""
    choice = account.choice
    genera = [one.genus for one in choice.left_genera]
    share = sum(one.share for one in choice.left_genera)
    characters = [label_of(one.character, unit=False) for one in choice.left_characters]
    return (
        Note("Cautions.", _cautions(account.cautions)),
        Note(f"Genera left out ({len(genera)}):", _left(genera, share)),
        Note("Not to be told apart alive:", _pairs(account.pairs)),
        Note(f"Characters left out ({len(characters)}):", _left_characters(characters)),
        Note("What it is worth.", _worth(account)),
        Note("Made from.", account.origin.text),
    )


def longest_account(
    genera: Sequence[str],
    characters: Sequence[str],
    held: int,
    cautions: Mapping[str, str],
    origin: Origin,
) -> tuple[str, ...]:
    """Return paragraphs as long as those of any sheet may get.

    Parameters
    ----------
    genera, characters : sequence of str
        All that there are to choose from.
    held : int
        How many genera the sheet holds at least.
    cautions : mapping of str to str
        Every caution that a genus may carry.
    origin : Origin
        As it will be said.
    """
    longest = sorted(genera, key=len, reverse=True)[: max(len(genera) - held, 0)]
    pair = f"{max(genera, key=len, default='')} and {max(genera, key=len, default='')} (0.75); "
    ids = [label_of(one, unit=False) for one in characters]
    return (
        f"Cautions. {CAUTIONS} {' '.join(cautions.values())} {', '.join(longest[:4])}",
        f"Genera left out (100), {_left(longest, 0.5)}",
        f"Not to be told apart alive, {_PAIRS} {pair * 3}",
        f"Characters left out (10): {_left_characters(ids)}",
        "What it is worth. " + "0" * 430,
        f"Made from. {origin.text}",
    )


def _cautions(cautions: Mapping[str, tuple[str, ...]]) -> str:
    """Write the cautions; those of few genera with their names."""
    said = [CAUTIONS]
    for text, genera in cautions.items():
        named = f" ({', '.join(genera)})" if len(genera) <= 4 else ""
        said.append(f"{text.rstrip('.')}{named}.")
    return " ".join(said)


def _left(genera: Sequence[str], share: float) -> str:
    """Write which genera are left out, the most missed first."""
    if not genera:
        return "none of the region's list."
    return (
        f"the most missed first, together {100 * share:.0f} of 100 colonies: {', '.join(genera)}."
    )


# What a diver sees first, and looks for first on a sheet.
_FORM, _HABIT = "growth form", "branch habit"


def _left_characters(labels: Sequence[str]) -> str:
    """Write which characters are left out, and why that is no reason not to look."""
    if not labels:
        return "none."
    told = f"{', '.join(labels)}. They would add least for the room that they take."
    if _FORM not in labels:
        return told
    says = "" if _HABIT in labels else " (– under branch habit: it hardly ever branches)"
    return (
        f"{told} So it is with growth form, which has many drawings: look at it all the same{says}."
    )


_PAIRS = "by the reference, with the chance to name the right one of two,"


def _pairs(pairs: Sequence[Pair]) -> str:
    """Write which pairs no look in the water tells apart."""
    if not pairs:
        return "by the reference, none of the genera here."
    named = [f"{one.a} and {one.b} ({one.in_water:.2f})" for one in pairs[:_MOST_PAIRS]]
    more = f"; and {len(pairs) - _MOST_PAIRS} more" if len(pairs) > _MOST_PAIRS else ""
    return f"{_PAIRS} {'; '.join(named)}{more}. Write both names."


def _worth(account: Account) -> str:
    """Write what the sheet costs, in colonies of a hundred."""
    choice, beside = account.choice, account.beside
    said = (
        f"Of 100 colonies as they are met, {_of(choice.accuracy.value)} are expected to be named "
        f"right by this sheet alone, {_of(choice.unlimited.value)} with every genus and character "
        f"that is seen in the water; {_of(choice.all_genera.value)} with its characters for every "
        f"genus, {_of(choice.all_characters.value)} with every character for its genera."
    )
    if beside is None or not len(beside.random):
        return said
    middle = float(beside.random[len(beside.random) // 2])
    return (
        f"{said} Of {len(beside.random)} sheets with as many genera and characters taken at "
        f"random half reach {_of(middle)}, the best {_of(float(beside.random[-1]))}; the first "
        f"of the alphabet {_of(beside.alphabetical)}."
    )


def _of(share: float) -> str:
    """Write a share as a number of a hundred."""
    return f"{100 * share:.0f}"
