"""Tables into one zip, part by part: what was done before a stop is not done again.

The parts lie in a folder beside the target until the zip is whole; then it is synced and
renamed into its place in one step. Parts are not synced: one that a power cut spoiled does not
have the hash that was noted, and is done again. The folder is kept where work stops, and taken
up again only for the same key: the same history and the same wishes.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import zipfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from corallum.errors import Fault, InputError
from corallum.exchange.archive.lock import LOCK, hold
from corallum.exchange.archive.text_table import TAB, TableWriter, TextForm

__all__ = ["HASHES", "Member", "Work", "pack"]

HASHES = "sha256.txt"
_STATE = "state.json"
_PIECE = 1 << 20
_LEVEL = 4
# Zip keeps no earlier day; archives of the same data are the same bytes.
_DAY = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Member:
    """One table of an archive: its file, the names of its columns and how it is written."""

    file: str
    names: tuple[str, ...]
    form: TextForm = TAB


class Work:
    """The folder of parts beside a target, and what of it is done.

    Parameters
    ----------
    target : Path
        The zip that is to be.
    key : str
        Of what is exported: history and wishes. Parts of another key are thrown away.
    replace : bool
        Whether a target that is there gives way, once the new one is whole.

    Raises
    ------
    InputError
        Where the folder can't be written, the target is there already, or another process
        is writing it.
    """

    def __init__(self, target: Path, key: str, *, replace: bool = False) -> None:
        self.target, self.key = target, key
        self.folder = target.with_name(f".{target.name}.parts")
        if target.is_dir():
            remedy = "Give the name of the zip too."
            raise InputError([Fault(str(target), "", "the name of a file", "a folder", remedy)])
        if target.exists() and not replace:
            fault = Fault(str(target), "", "a new file", "one that is there",
                          "Choose another name, or give --replace.")  # fmt: skip
            raise InputError([fault])
        with _writable(target):
            self.folder.mkdir(parents=True, exist_ok=True)
            hold(self.folder, target, self)
            self._steps = self._kept()

    def _kept(self) -> list[dict[str, Any]]:
        """Return the steps done before, if they are of the same key and whole."""
        state = self.folder / _STATE
        try:
            found = json.loads(state.read_text(encoding="utf-8"))
            steps = found["steps"] if found["key"] == self.key else []
        except (OSError, ValueError, KeyError, TypeError):
            steps = []
        kept = []
        for step in steps:
            if not all(self._is_whole(part) for part in step["parts"].values()):
                break
            kept.append(step)
        if not kept:
            for path in self.folder.iterdir():
                if path.name != LOCK:
                    path.unlink()
        return kept

    def _is_whole(self, part: Mapping[str, Any]) -> bool:
        """Whether a part is as it was written."""
        path = self.folder / str(part["path"])
        return path.is_file() and _hash(path) == part["sha256"]

    @property
    def done(self) -> tuple[str, ...]:
        """What each step that is done left for the next, oldest first."""
        return tuple(str(step["next"]) for step in self._steps)

    def rows(self, file: str) -> int:
        """Return the rows of a table so far."""
        return sum(step["parts"][file]["rows"] for step in self._steps if file in step["parts"])

    @contextmanager
    def step(
        self, members: Sequence[Member], then: Callable[[], str]
    ) -> Iterator[list[TableWriter]]:
        """Write one more part of some tables; it counts once the block has ended well.

        Parameters
        ----------
        members : sequence of Member
            Tables that the step adds to.
        then : callable
            Returns, at the end, what the next step must know.

        Yields
        ------
        list of TableWriter
            One for each table.
        """
        number = len(self._steps)
        paths = [f"{number:06d}-{member.file}" for member in members]
        streams: list[IO[bytes]] = []
        with _writable(self.target):
            try:
                streams = [(self.folder / path).open("wb") for path in paths]
                writers = [
                    TableWriter(stream, member.form)
                    for stream, member in zip(streams, members, strict=True)
                ]
                try:
                    yield writers
                finally:
                    for writer in writers:
                        writer.close()
            finally:
                for stream in streams:
                    stream.close()
            parts = {
                member.file: {
                    "path": path,
                    "rows": writer.rows,
                    "sha256": _hash(self.folder / path),
                }
                for member, path, writer in zip(members, paths, writers, strict=True)
            }
            self._steps.append({"parts": parts, "next": then()})
            self._save()

    def _save(self) -> None:
        """Write what is done, in one step."""
        part = self.folder / f"{_STATE}.part"
        part.write_text(json.dumps({"key": self.key, "steps": self._steps}), encoding="utf-8")
        part.replace(self.folder / _STATE)

    def parts(self, file: str) -> list[Path]:
        """Return the parts of a table in order."""
        return [self.folder / step["parts"][file]["path"]
                for step in self._steps if file in step["parts"]]  # fmt: skip

    def clear(self) -> None:
        """Throw the parts away."""
        shutil.rmtree(self.folder, ignore_errors=True)


def pack(
    work: Work,
    members: Sequence[Member],
    texts: Mapping[str, bytes],
    files: Mapping[str, Path] | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> str:
    """Put tables, texts and files into the zip, with a list of their SHA-256.

    Parameters
    ----------
    work : Work
        With all steps done.
    members : sequence of Member
        Tables; each gets its header and its parts in order.
    texts : mapping of str to bytes
        Small files by name, as ``meta.xml``.
    files : mapping of str to Path
        Larger ones by name, such as photos.
    progress : callable
        Is told the share done.

    Returns
    -------
    str
        SHA-256 of the zip.
    """
    whole = work.folder / "whole.zip"
    hashes: dict[str, str] = {}
    more = dict(files or {})
    count = len(members) + len(more) + 1
    with _writable(work.target), zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED,
                                                 compresslevel=_LEVEL) as target:  # fmt: skip
        for name, data in texts.items():
            hashes[name] = _put(target, name, iter((data,)))
        for i, member in enumerate(members):
            hashes[member.file] = _put(target, member.file, _table(work, member))
            progress((i + 1) / count)
        for i, (name, path) in enumerate(more.items()):
            hashes[name] = _put(target, name, _pieces(path))
            progress((len(members) + i + 1) / count)
        lines = "".join(f"{digest}  {name}\n" for name, digest in sorted(hashes.items()))
        _put(target, HASHES, iter((lines.encode(),)))
    with _writable(work.target):
        with whole.open("rb+") as stream:
            os.fsync(stream.fileno())
        digest = _hash(whole)
        whole.replace(work.target)
    work.clear()
    progress(1.0)
    return digest


def _table(work: Work, member: Member) -> Iterator[bytes]:
    """Yield the text of a table piece by piece."""
    separator = member.form.separator
    yield (separator.join(member.names) + "\n").encode()
    for path in work.parts(member.file):
        yield from _pieces(path)


def _pieces(path: Path) -> Iterator[bytes]:
    """Yield a file piece by piece."""
    with path.open("rb") as stream:
        while piece := stream.read(_PIECE):
            yield piece


def _put(target: zipfile.ZipFile, name: str, pieces: Iterator[bytes]) -> str:
    """Write one file of the zip; return its SHA-256."""
    found = hashlib.sha256()
    info = zipfile.ZipInfo(name, _DAY)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o644 << 16
    info._compresslevel = _LEVEL  # type: ignore[attr-defined]  # noqa: SLF001  no public name before 3.13
    with target.open(info, "w", force_zip64=True) as stream:
        for piece in pieces:
            found.update(piece)
            stream.write(piece)
    return found.hexdigest()


def _hash(path: Path) -> str:
    """Return the SHA-256 of a file."""
    found = hashlib.sha256()
    for piece in _pieces(path):
        found.update(piece)
    return found.hexdigest()


@contextmanager
def _writable(target: Path) -> Iterator[None]:
    """Turn a disk that refuses into one line."""
    try:
        yield
    except OSError as error:
        reason = error.strerror or str(error)
        remedy = "Check the folder and the room on the disk, then run it again: it goes on."
        raise InputError(
            [Fault(str(target), "", "a file that can be written", reason, remedy)]
        ) from error
