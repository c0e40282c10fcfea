"""The text of a NEXUS file cut into blocks, commands and words.

Comments stand in square brackets, one within another; a word in single quotes is taken as
it stands, and a quote in it is doubled; a command ends with a semicolon. Everything keeps
its line, so that a fault can be found.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from corallum.exchange.reference_tables import Reading

__all__ = ["Block", "Command", "Word", "blocks_of", "words_of"]

_ENDS = ("END", "ENDBLOCK")
_SIGN = re.compile(r"['\[\];]")
_BRACKET = re.compile(r"[\[\]]")
_QUOTE = re.compile(r"'(?:[^'\n]|'')*'")
_WORD = re.compile(r"'(?:[^'\n]|'')*'|[^\s'(){}/,=;\"]+|\S")


@dataclass(frozen=True, slots=True)
class Word:
    """A word or sign, with its line; a quoted one is text even where it looks like a sign."""

    text: str
    line: int
    quoted: bool


@dataclass(frozen=True, slots=True)
class Command:
    """A command: its name in capitals, the text after it, and the line where that begins."""

    name: str
    body: str
    line: int


@dataclass(frozen=True, slots=True)
class Block:
    """A block: its name in capitals, its line and its commands."""

    name: str
    line: int
    commands: tuple[Command, ...]


@dataclass(slots=True)
class _Opened:
    """A block while it is read."""

    name: str
    line: int
    commands: list[Command] = field(default_factory=list)


def words_of(command: Command) -> list[Word]:
    """Cut the text of a command into words and signs; an underscore outside quotes is a blank."""
    found = []
    line, before = command.line, 0
    for match in _WORD.finditer(command.body):
        line += command.body.count("\n", before, match.start())
        before = match.start()
        text = match[0]
        if text.startswith("'") and len(text) > 1:
            found.append(Word(text[1:-1].replace("''", "'"), line, quoted=True))
        else:
            found.append(Word(text.replace("_", " "), line, quoted=False))
    return found


def blocks_of(text: str, reading: Reading) -> list[Block]:
    """Cut a file into blocks; what breaks its structure is kept as a fault."""
    head = text.lstrip()
    if head[:6].upper() != "#NEXUS":
        found = repr(head[:20]) if head else "an empty file"
        reading.fault("line 1", "#NEXUS at the head of the file", found, "Save it as NEXUS.")
        return []
    start = len(text) - len(head)
    blocks: list[Block] = []
    opened: _Opened | None = None
    for command in _commands(f"{text[:start]}      {text[start + 6 :]}", reading):
        if command.name in ("BEGIN", *_ENDS):
            _close(opened, blocks, reading, ended=command.name in _ENDS)
            opened = _begin(command) if command.name == "BEGIN" else None
        elif opened is not None:
            opened.commands.append(command)
        else:
            said = f"the command {command.name}"
            remedy = "Put it into a block, or remove it."
            reading.fault(f"line {command.line}", "BEGIN and the name of a block", said, remedy)
    _close(opened, blocks, reading, ended=False)
    return blocks


def _begin(command: Command) -> _Opened:
    """Open a block."""
    named = words_of(command)
    return _Opened(named[0].text.upper() if named else "?", command.line)


def _close(opened: _Opened | None, blocks: list[Block], reading: Reading, *, ended: bool) -> None:
    """Keep a block; one without an end is a fault."""
    if opened is None:
        return
    if not ended:
        remedy = "Add END; after its last command, or get the whole file again."
        expected = f"the block {opened.name} to end with END;"
        reading.fault(f"line {opened.line}", expected, "no end", remedy)
    blocks.append(Block(opened.name, opened.line, tuple(opened.commands)))


def _commands(text: str, reading: Reading) -> list[Command]:
    """Cut a text into commands, its comments blanked."""
    found: list[Command] = []
    pieces: list[str] = []
    at, line, begun = 0, 1, 1
    while match := _SIGN.search(text, at):
        start = match.start()
        pieces.append(text[at:start])
        end, piece = _after_sign(text, start, line + text.count("\n", at, start), reading)
        line += text.count("\n", at, end)
        at = end
        if match[0] == ";":
            _add_command("".join(pieces), begun, found)
            pieces, begun = [], line
        else:
            pieces.append(piece)
    rest = "".join([*pieces, text[at:]])
    if rest.strip():
        words = rest.split()
        lead = rest[: len(rest) - len(rest.lstrip())]
        place = f"line {begun + lead.count(chr(10))}"
        remedy = "Add the ; or get the whole file again."
        reading.fault(
            place, "every command to end with ;", f"{_seen(words[0][:40])} without", remedy
        )
    return found


def _seen(word: str) -> str:
    """Show a word of a file as it stands, or its signs where they can't be seen."""
    return word if word.isprintable() else repr(word)


def _after_sign(text: str, start: int, line: int, reading: Reading) -> tuple[int, str]:
    """Return where what begins with a sign ends, and what of it stays in the text."""
    sign = text[start]
    if sign == "'":
        match = _QUOTE.match(text, start)
        if match is None:
            remedy = "Close it on the same line; write a quote within as two."
            reading.fault(f"line {line}", "a closing quote", "none on this line", remedy)
            return start + 1, " "
        return match.end(), match[0]
    if sign == "[":
        end = _comment_end(text, start)
        if end < 0:
            reading.fault(f"line {line}", "a comment that ends with ]", "no end", "Add the ].")
            return len(text), "\n" * text.count("\n", start)
        return end, " " + "\n" * text.count("\n", start, end)
    if sign == "]":
        remedy = "Remove it, or add the [ that it closes."
        reading.fault(f"line {line}", "] only after [", "one alone", remedy)
    return start + 1, " "


def _comment_end(text: str, start: int) -> int:
    """Return where a comment ends, those within it passed over; -1 where it does not."""
    depth = 0
    for match in _BRACKET.finditer(text, start):
        depth += 1 if match[0] == "[" else -1
        if depth == 0:
            return match.end()
    return -1


def _add_command(body: str, line: int, found: list[Command]) -> None:
    """Add a command; an empty one says nothing."""
    kept = body.lstrip()
    if not kept:
        return
    line += body[: len(body) - len(kept)].count("\n")
    name = re.match(r"[^\s'\"=/,(){}]+", kept)
    word = name[0] if name else kept[0]
    found.append(Command(word.upper(), kept[len(word) :], line))
