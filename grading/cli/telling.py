"""What the commands print: results to standard output, findings to standard error."""

from __future__ import annotations

import codecs
import contextlib
import errno
import os
import re
import shlex
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from shutil import get_terminal_size
from textwrap import wrap
from typing import TYPE_CHECKING, NoReturn

import click

from grading.findings import Finding, folded, harmless, has_errors, tally, worst_first

if TYPE_CHECKING:
    from grading.publish import Published

__all__ = [
    "any_encoding",
    "as_typed",
    "columns",
    "end",
    "files_told",
    "lines_of",
    "no_closed_streams",
    "no_full_streams",
    "parted",
    "say",
    "stop",
    "suggest",
    "tell_findings",
]

#: The narrowest and the widest lines of findings, in characters.
_NARROWEST, _WIDEST = 20, 110
#: What needs no more than quotation marks round it on any system's command line.
_PLAIN = re.compile(r"[\w .,/+=:@%-]+")
#: What is said for a sign that the terminal's encoding lacks, where another says the same.
_PLAINER = {"−": "-", "–": "-", "±": "+/-", "×": "x", "·": "-", "…": "...", "÷": "/", "→": "->", "½": "1/2", "’": "'"}
#: Why a stream could not be written to the end, by its file descriptor's name.
_broken: dict[str, OSError] = {}


def say(text: str = "", *, err: bool = False) -> None:
    """Print a line whose control characters are spelled out. A stream that cannot be written ends no work."""
    name = "stderr" if err else "stdout"
    if name in _broken:
        return
    try:
        click.echo("\n".join(map(harmless, text.split("\n"))), err=err)
    except OSError as problem:
        _broken[name] = problem
        _let_go(name)


def no_full_streams() -> None:
    """Write what waits in the standard streams; lead one that does not take it to nowhere."""
    for name in ("stdout", "stderr"):
        try:
            getattr(sys, name).flush()
        except (OSError, ValueError):
            _let_go(name)


def _let_go(name: str) -> None:
    """Lead a stream to nowhere, so that what waits in it is not tried again at the program's end."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, getattr(sys, name).fileno())
        os.close(nowhere)


def no_closed_streams() -> None:
    """Lead closed standard streams to nowhere: else files opened later would get their numbers, and what is printed."""
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        try:
            os.fstat(number)
        except OSError:
            nowhere = os.open(os.devnull, os.O_RDWR)
            if nowhere != number:
                os.dup2(nowhere, number)
                os.close(nowhere)
        if getattr(sys, name) is None:
            setattr(sys, name, open(number, "w" if number else "r", encoding="utf-8", closefd=False))  # noqa: SIM115


def any_encoding() -> None:
    """Let the standard streams take any character: those that their encoding lacks are replaced by plainer ones."""
    codecs.register_error("plainer", _plainer)
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError, ValueError, OSError):
            stream.reconfigure(errors="plainer")  # type: ignore[union-attr]


def _plainer(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    lacking = problem.object[problem.start : problem.end]
    return "".join(_PLAINER.get(sign, ascii(sign)[1:-1]) for sign in lacking), problem.end


def line_width() -> int:
    """How many characters a line of prose may have here."""
    return max(_NARROWEST, min(get_terminal_size().columns, _WIDEST))


def lines_of(text: str, width: int = 0, *, first: str = "", indent: str = "") -> list[str]:
    """Prose in lines of so many characters, or as many as `line_width` says; words are not parted at their hyphens.

    The first line begins with ``first``, the others with ``indent``.
    """
    return wrap(
        text,
        width or line_width(),
        initial_indent=first,
        subsequent_indent=indent,
        break_on_hyphens=False,
        break_long_words=False,
    )


def tell_findings(findings: Iterable[Finding]) -> None:
    """Print findings, the worst first, each as where, what was found, what was expected, what to do.

    Those of one sheet and one cause are told as one.
    """
    width = line_width()
    for finding in worst_first(folded(findings)):
        code = f"{finding.severity} {finding.code}  "
        where = lines_of(str(finding.place), width, first=" " * len(code), indent="  ")
        say(code + "\n".join(where).lstrip(), err=True)
        for sentence in (finding.found, finding.expected, finding.action):
            for line in lines_of(sentence, width - 2):
                say(f"  {line}", err=True)


def columns(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table in plain text: the first column to the left, figures to the right.

    >>> print(columns(["measure", "S", "M"], [["palm width", "96.0", "102.0"]]))
    measure        S      M
    palm width  96.0  102.0
    """
    first, *rest = (max(map(len, column)) for column in zip(headings, *rows, strict=True))
    lines = ([row[0].ljust(first), *map(str.rjust, row[1:], rest)] for row in (headings, *rows))
    return "\n".join("  ".join(line).rstrip() for line in lines)


def parted(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table as `columns` has it, parted into several below one another where the window is too narrow for one.

    Each has the first column and at least one of the others.
    """
    names, *others = zip(headings, *rows, strict=True)
    room = line_width() - max(map(len, names))
    tables: list[list[tuple[str, ...]]] = [[]]
    used = 0
    for column in others:
        wide = max(map(len, column)) + 2
        if tables[-1] and used + wide > room:
            tables.append([])
            used = 0
        tables[-1].append(column)
        used += wide
    shown = (list(zip(names, *some, strict=True)) for some in tables)
    return "\n".join(columns(head, lines) for head, *lines in shown)


def files_told(published: Published, *words: str) -> str:
    """A line for each file that a run wrote, left unchanged or removed: those for the ``words`` that are given."""
    named = {"wrote": published.written, "unchanged": published.unchanged, "removed": published.removed}
    return "\n".join(f"{word} {published.folder / name}" for word in words for name in named[word])


def suggest(*words: str) -> None:
    """Print a command of this program that can be typed as it stands, alone on its line and never wrapped."""
    say(f"  {as_typed('grading', *words)}")


def as_typed(*words: str) -> str:
    """Words as a line to type.

    >>> as_typed("grading", "run", "--block", "my block.xlsx"), as_typed("a$b")
    ('grading run --block "my block.xlsx"', "'a$b'")
    """
    return " ".join(f'"{word}"' if _PLAIN.fullmatch(word) and " " in word else shlex.quote(word) for word in words)


def end(findings: Iterable[Finding]) -> NoReturn:
    """End the program: status 1 if the tables or the audit have errors, 0 if not, and a word on either."""
    findings = folded(findings)
    if said := tally(findings):
        say(said, err=True)
    sys.exit(1 if has_errors(findings) or _lost_words() else 0)


def stop(findings: Sequence[Finding], earlier: Sequence[Path] = ()) -> NoReturn:
    """End the program before anything is written, and say so.

    ``earlier`` are folders with files of earlier runs; a warning names them, lest they be taken for new ones.
    """
    tell_findings(findings)
    said = "Nothing was written."
    if earlier:
        said += (
            f" What lies in {', '.join(map(str, earlier))} was made from earlier tables and stays as it is: do not cut "
            "by it until the errors are mended and a run has ended well."
        )
    say("\n".join(lines_of(said, 80)), err=True)
    end(findings)


def _lost_words() -> bool:
    """Whether standard output broke off for want of room, and not because its reader went away; says so."""
    problem = _broken.get("stdout")
    if problem is None or problem.errno in (errno.EPIPE, errno.EINVAL):
        return False
    say(f"Not all that was to be said could be written ({problem.strerror}). The work itself was done.", err=True)
    return True
