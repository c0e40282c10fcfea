"""The verdict in one sentence, as every shell without pages says it."""

from __future__ import annotations

from corallum.records.answer import Verdict

__all__ = ["join_genera", "sentence"]

_MOST_NAMED = 6


def sentence(verdict: Verdict) -> str:
    """Say the verdict in one sentence.

    Parameters
    ----------
    verdict : Verdict
        What the model decided.

    Returns
    -------
    str
        The name, the genera it stands for and their probability in percent, and what is needed.
    """
    names = join_genera(verdict.genera)
    share = f"{verdict.probability:.0%}"
    if verdict.status == "settled":
        return f"{verdict.name} ({share})."
    if verdict.status == "not_in_reference":
        return "Fits nothing in the reference well: have a second reader look."
    if verdict.status == "not_separable_in_water":
        need = "a voucher could" if verdict.needs == "voucher" else "a second reader may"
        return f"{verdict.name}: {names} ({share}). No look in the water tells these apart; {need}."
    need = "look again" if verdict.needs == "look" else "ask a second reader"
    return f"{verdict.name}: {names} ({share}). Still open: {need}."


def join_genera(genera: tuple[str | None, ...]) -> str:
    """Join genera, most probable first, the tail counted.

    Parameters
    ----------
    genera : tuple of str or None
        None is something that the reference does not hold.

    Returns
    -------
    str
        At most six names, and how many more.
    """
    names = [name or "something else" for name in genera]
    if len(names) > _MOST_NAMED:
        names = [*names[:_MOST_NAMED], f"{len(names) - _MOST_NAMED} more"]
    return ", ".join(names[:-1]) + " or " + names[-1] if len(names) > 1 else names[0]
