"""Many colonies at once: categorical reports looked up in joint tables.

Groups of characters are merged into a few tables, one row for every combination
of reports, misreading and conditions already in it. A colony then costs a handful
of row look-ups. Tables of large groups are filled as combinations are met. Sets,
unsure reports and sizes go the general way, :mod:`corallum.model.posterior`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from corallum.errors import CorallumError
from corallum.model.compiled import CompiledReference, Floats
from corallum.model.evidence import Evidence, StateEvidence, condition_odds
from corallum.model.likelihood import Kernel

__all__ = ["Codes", "FastKernel"]

Codes = NDArray[np.uint8]
Array = NDArray[np.floating]
_BlockWork = Callable[[slice], None]

# Tables up to this many rows are filled at once and merged with others.
_SMALL_ROWS = 16_384
# A table that is filled as it goes starts over beyond this many rows.
_MOST_ROWS = 120_000
# Colonies looked up in one go: their rows stay in the processor's cache.
_BLOCK = 1024
# Colonies whose combinations are gathered before they are looked up: no more than a
# table holds, so that memory stays flat however new they all are.
_CHUNK = 100_000
_THREADS = 2


class FastKernel:
    """Joint tables of a kernel for reports of single, sure states.

    Parameters
    ----------
    kernel : Kernel
        The observer.
    characters : sequence of int
        Characters with states, in the order of the columns of the codes.
    dtype : data type
        float32 is fastest; float64 is exact to rounding.
    compiled_loops : bool
        Whether to run the inner loops compiled by numba (the extra ``fast``),
        which pays from a few hundred thousand colonies on.
    """

    def __init__(
        self,
        kernel: Kernel,
        characters: Sequence[int],
        dtype: DTypeLike = np.float32,
        *,
        compiled_loops: bool = False,
    ) -> None:
        self.loops = _compiled_loops() if compiled_loops else None
        self.kernel, self.compiled = kernel, kernel.compiled
        self.characters = tuple(characters)
        self.dtype = np.dtype(dtype)
        self.layout = _Layout.of(self.compiled)
        self._stacks: dict[str, _Stack] = {}
        self.tables = [_Table(self, part) for part in self._parts()]

    def _parts(self) -> list[tuple[int, ...]]:
        """Put whole groups together while their table stays small; columns of the codes."""
        groups: dict[int, list[int]] = {}
        for column, c in enumerate(self.characters):
            groups.setdefault(self.compiled.characters[c].group, []).append(column)
        whole = sorted((tuple(part) for part in groups.values()), key=self._rows)
        parts: list[tuple[int, ...]] = []
        for part in whole:
            fits = [i for i, p in enumerate(parts) if self._rows(p + part) <= _SMALL_ROWS]
            if fits:
                parts[fits[0]] += part
            else:
                parts.append(part)
        return parts

    def width(self, column: int) -> int:
        """Codes of one column: not looked at, each state, and where it can be, not applicable."""
        character = self.compiled.characters[self.characters[column]]
        return len(character.states) + 1 + character.conditional

    def _rows(self, part: tuple[int, ...]) -> int:
        """Combinations of reports of some columns."""
        return int(np.prod([self.width(column) for column in part]))

    def log_joint(self, codes: Codes, log_prior: Floats, out: Array | None = None) -> Array:
        """Log of prior times likelihood of every form, shape (N, NF).

        Parameters
        ----------
        codes : ndarray of uint8, shape (N, columns)
            0 is not looked at, 1 to S a state, S + 1 not applicable.
        log_prior : ndarray, shape (NF,)
            Log P(form).
        out : ndarray, shape (N, NF), optional
            Where to write.
        """
        n = len(codes)
        result = np.empty((n, self.compiled.n_forms), self.dtype) if out is None else out
        first = log_prior.astype(self.dtype)
        for start in range(0, n, _CHUNK):
            chunk, part = codes[start : start + _CHUNK], result[start : start + _CHUNK]
            if self.loops is not None:
                self.loops.add_rows(*self._stack(chunk, "log_rows"), first, part)
            else:
                rows = self._find(chunk)
                _in_blocks(len(chunk), self._adder(rows, first, part))
        return result

    def _find(self, codes: Codes) -> list[NDArray[np.int32]]:
        """Return the row of each colony in every table."""
        columns = np.ascontiguousarray(codes.T)
        return [table.find(columns) for table in self.tables]

    def _stack(self, codes: Codes, name: str) -> tuple[Array, NDArray[np.int32]]:
        """Return all tables, one below the other, and the rows of each colony in them."""
        kept = self._stacks.get(name)
        if kept is None or kept.counts != self._counts():
            kept = self._stacks[name] = _Stack.of(self, name)
        index = kept.find(self.loops, codes)
        if index is None:
            self._find(codes)
            kept = self._stacks[name] = _Stack.of(self, name)
            index = kept.find(self.loops, codes)
        return kept.rows, index

    def _counts(self) -> tuple[int, ...]:
        """Rows filled so far, and how often each table started over."""
        return tuple(n for table in self.tables for n in (table.count, table.starts_over))

    def _adder(self, rows: list[NDArray[np.int32]], first: Array, out: Array) -> _BlockWork:
        """Return the work of one block: add up its rows of every table."""
        tables = [table.log_rows for table in self.tables]
        tables[0] = tables[0] + first

        def add(block: slice) -> None:
            total = out[block]
            part = np.empty_like(total)
            np.take(tables[0], rows[0][block], axis=0, out=total, mode="clip")
            for table, index in zip(tables[1:], rows[1:], strict=True):
                np.take(table, index[block], axis=0, out=part, mode="clip")
                total += part

        return add

    def genus_posterior(self, codes: Codes, genus_prior: Floats, out: Array | None = None) -> Array:
        """P(genus) of every colony, shape (N, G + 1), without a logarithm.

        Parameters
        ----------
        codes : ndarray of uint8, shape (N, columns)
            As in :meth:`log_joint`.
        genus_prior : ndarray, shape (G + 1,)
            P(genus), "something else" last.
        """
        n = len(codes)
        weight = self.compiled.form_weight * genus_prior[self.compiled.form_genus]
        first = weight[self.layout.forms].astype(self.dtype)
        result = np.empty((n, len(genus_prior)), self.dtype) if out is None else out
        for start in range(0, n, _CHUNK):
            chunk = codes[start : start + _CHUNK]
            part = result[start : start + _CHUNK]
            if self.loops is not None:
                self.loops.multiply_rows(
                    *self._stack(chunk, "scaled_rows"),
                    first,
                    np.array(self.layout.ranks),
                    self.layout.columns,
                    part,
                )
            else:
                rows = self._find(chunk)
                _in_blocks(len(chunk), self._multiplier(rows, first, part))
            self._mend_underflow(chunk, np.log(weight), part)
        return result

    def _multiplier(self, rows: list[NDArray[np.int32]], first: Array, out: Array) -> _BlockWork:
        """Return the work of one block: multiply its rows, sum them by genus, normalise."""
        tables = [table.scaled_rows for table in self.tables]
        tables[0] = tables[0] * first
        layout, tiny = self.layout, _tiny(self.dtype)

        def multiply(block: slice) -> None:
            total = np.take(tables[0], rows[0][block], axis=0, mode="clip")
            part = np.empty_like(total)
            for table, index in zip(tables[1:], rows[1:], strict=True):
                np.take(table, index[block], axis=0, out=part, mode="clip")
                total *= part
            genus = layout.genus_sum(total)
            sums = genus.sum(axis=1, keepdims=True)
            sums[sums <= tiny] = np.nan
            genus /= sums
            np.take(genus, layout.columns, axis=1, out=out[block], mode="clip")

        return multiply

    def _mend_underflow(self, codes: Codes, log_weight: Floats, out: Array) -> None:
        """Work out colonies again in logs whose products are too small to hold."""
        lost = np.flatnonzero(np.isnan(out[:, 0]))
        if not len(lost):
            return
        logs = self.log_joint(codes[lost], log_weight).astype(np.float64)
        form = np.exp(logs - logs.max(axis=1, keepdims=True))
        genus = self.compiled.genus_sum(form)
        out[lost] = genus / genus.sum(axis=1, keepdims=True)


@dataclass(frozen=True, slots=True)
class _Layout:
    """Forms laid out so that the sum by genus is a few sums of whole slices.

    First come the first forms of all genera, those with most forms in front, then
    their second forms, and so on.
    """

    forms: NDArray[np.int64]
    ranks: tuple[tuple[int, int], ...]
    columns: NDArray[np.int64]

    @classmethod
    def of(cls, compiled: CompiledReference) -> _Layout:
        """Lay out the forms of a reference."""
        counts = np.bincount(compiled.form_genus)
        order = np.argsort(-counts, kind="stable")
        forms, ranks, start = [], [], 0
        for rank in range(int(counts.max())):
            held = order[counts[order] > rank]
            forms.append(compiled.genus_starts[held] + rank)
            ranks.append((start, len(held)))
            start += len(held)
        return cls(np.concatenate(forms), tuple(ranks), np.argsort(order, kind="stable"))

    def genus_sum(self, values: Array) -> Array:
        """Sum laid-out forms by genus, genera in the order of the layout; in place."""
        genus = values[:, : self.ranks[0][1]]
        for start, count in self.ranks[1:]:
            genus[:, :count] += values[:, start : start + count]
        return genus


@dataclass(frozen=True, slots=True)
class _Stack:
    """All tables one below the other, for the compiled loops."""

    counts: tuple[int, ...]
    rows: Array
    slots: NDArray[np.int32]
    columns: tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]

    @classmethod
    def of(cls, owner: FastKernel, name: str) -> _Stack:
        """Stack the tables of a kernel as they stand."""
        tables = owner.tables
        below = np.cumsum([0, *(table.count for table in tables[:-1])])
        slots = [np.where(t.slots < 0, -1, t.slots + b) for t, b in zip(tables, below, strict=True)]
        first = np.cumsum([0, *(table.size for table in tables[:-1])])
        columns = np.array([column for table in tables for column in table.columns])
        steps = np.concatenate([table.steps for table in tables]).astype(np.int64)
        begins = np.cumsum([0, *(len(table.columns) for table in tables)])
        # The loops take four tables at a time: a last row changes nothing.
        neutral = np.full((1, owner.compiled.n_forms), name == "scaled_rows", owner.dtype)
        filled = [getattr(table, name)[: table.count] for table in tables]
        rows = np.concatenate([*filled, neutral])
        return cls(
            owner._counts(),  # noqa: SLF001  a part of the kernel
            rows,
            np.concatenate(slots).astype(np.int32),
            (columns, steps, begins, first),
        )

    def find(self, loops: Any, codes: Codes) -> Any:  # noqa: ANN401  a module that is an extra
        """Return the rows of each colony, (N, tables), or None where some are not filled."""
        tables = len(self.columns[-1])
        index = np.full((len(codes), -(-tables // 4) * 4), len(self.rows) - 1, dtype=np.int32)
        missing = loops.find_rows(codes, *self.columns, self.slots, index)
        return None if missing else index


class _Table:
    """Likelihood of every combination of reports of some columns.

    Rows are in the log, and scaled so that the largest of each is one.
    """

    def __init__(self, owner: FastKernel, columns: tuple[int, ...]) -> None:
        self.owner, self.columns = owner, columns
        widths = [owner.width(column) for column in columns]
        self.steps = np.cumprod([1, *widths[:-1]]).astype(np.int32)
        self.size = int(np.prod(widths))
        self.slots = np.full(self.size, -1, dtype=np.int32)
        self.starts_over = -1
        self.clear()
        if self.size <= _SMALL_ROWS:
            self._fill(np.arange(self.size, dtype=np.int32))

    def clear(self) -> None:
        """Forget every combination met."""
        self.slots[:] = -1
        self.count = 0
        self.starts_over += 1
        shape = (min(self.size, 1024), self.owner.compiled.n_forms)
        self.log_rows: Array = np.empty(shape, self.owner.dtype)
        self.scaled_rows: Array = np.empty(shape, self.owner.dtype)

    def find(self, columns: Codes) -> NDArray[np.int32]:
        """Return the row of each colony, filling rows that are new, (columns, N) to (N,)."""
        keys = np.zeros(columns.shape[1], dtype=np.int32)
        for column, step in zip(self.columns, self.steps, strict=True):
            keys += np.multiply(columns[column], step, dtype=np.int32)
        if self.size > _SMALL_ROWS:
            self._fill_new(keys)
        return self.slots[keys]

    def _fill_new(self, keys: NDArray[np.int32]) -> None:
        """Fill the rows that are not there yet."""
        new = np.unique(keys[self.slots[keys] < 0])
        if self.count + len(new) > _MOST_ROWS:
            self.clear()
            new = np.unique(keys)
        if len(new):
            self._fill(new.astype(np.int32))

    def _fill(self, keys: NDArray[np.int32]) -> None:
        """Work out the rows of some combinations."""
        self._reserve(self.count + len(keys))
        for start in range(0, len(keys), 4096):
            part = keys[start : start + 4096]
            logs, scaled = self._work_out(part)
            rows = slice(self.count, self.count + len(part))
            self.log_rows[rows] = logs
            self.scaled_rows[rows] = scaled[:, self.owner.layout.forms]
            self.slots[part] = np.arange(rows.start, rows.stop, dtype=np.int32)
            self.count += len(part)

    def _reserve(self, rows: int) -> None:
        """Make room."""
        if rows <= len(self.log_rows):
            return
        room = min(max(rows, 2 * len(self.log_rows)), max(self.size, rows))
        for name in ("log_rows", "scaled_rows"):
            old = getattr(self, name)
            new = np.empty((room, old.shape[1]), old.dtype)
            new[: self.count] = old[: self.count]
            setattr(self, name, new)

    def _work_out(self, keys: NDArray[np.int32]) -> tuple[Floats, Floats]:
        """Log likelihood of combinations, and the likelihood scaled, shape (keys, NF)."""
        owner = self.owner
        states = {}
        for column, step in zip(self.columns, self.steps.tolist(), strict=True):
            width = owner.width(column)
            codes = (keys // step % width).astype(np.int32)
            c = owner.characters[column]
            columns = len(owner.compiled.characters[c].states) + 1
            masks = np.eye(width, columns, k=-1, dtype=np.bool_)
            states[c] = StateEvidence(codes, masks, np.ones(width, np.bool_))
        odds = np.tile(condition_odds(owner.compiled, ()), (len(keys), 1))
        logs = np.zeros((len(keys), owner.compiled.n_forms))
        for group in owner.kernel.groups(Evidence(len(keys), states, {}, odds)):
            logs += np.log(group.likelihood)
        return logs, np.exp(logs - logs.max(axis=1, keepdims=True))


def _compiled_loops() -> ModuleType:
    """Import the compiled loops, saying how to get them where they are missing."""
    try:
        from corallum.model import fast_numba  # noqa: PLC0415  an extra, slow to start
    except ImportError as error:
        raise CorallumError("compiled loops need numba: install corallum[fast]") from error
    return fast_numba


def _in_blocks(n: int, work: _BlockWork) -> None:
    """Work block by block, on two threads where there is enough."""
    blocks = [slice(start, min(start + _BLOCK, n)) for start in range(0, n, _BLOCK)]
    half = (len(blocks) + 1) // 2

    def run(some: list[slice]) -> None:
        for block in some:
            work(block)

    if len(blocks) < 4 * _THREADS:
        run(blocks)
        return
    with ThreadPoolExecutor(_THREADS) as pool:
        list(pool.map(run, (blocks[:half], blocks[half:])))


def _tiny(dtype: DTypeLike) -> float:
    """Return the sum below which products of likelihoods have lost their figures."""
    return float(np.finfo(np.dtype(dtype)).tiny) * 1e8
