"""The commands: each reads its options, calls a job, and tells what came of it."""

from __future__ import annotations

import signal
import threading
from importlib import import_module
from types import FrameType
from typing import Any, NoReturn

import click

from grading.cli.telling import any_encoding, lines_of, no_closed_streams, no_full_streams, stop
from grading.codes import Code
from grading.findings import Finding, Place
from grading.version import __version__

__all__ = ["main"]

#: Each command with the line that the list of commands says of it: the list needs none of their modules.
COMMANDS = {
    "run": "Grade every size and write the nest, the spec workbook and the rest.",
    "audit": "Audit increments of the tables, of any size chart, or of two against each other.",
    "draft": "Draft a base block from a measured hand, or from your own pattern's points.",
    "hand": "Make one customer's pair from the hand's measurements.",
    "start": "Make a folder with tables to fill in and a page on how to measure.",
    "returns": "Judge check sheets that came back: failures, whose hand is short or long.",
    "check": "Read the tables and say what is wrong with them; write nothing.",
    "verify": "Say which files of a run are missing, half done or altered since.",
    "stock": "Plan a batch: pairs of each size, cutting, buying, bundles, costs.",
}


#: Where a call of the program keeps the words that were typed.
_TYPED = "grading.typed"
#: The interrupts since a command was called.
_INTERRUPTS: list[int] = []


class _Commands(click.Group):
    """Commands whose modules are imported when they are called: 'grading --help' answers at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        command: click.Command = import_module(f"grading.cli.{name}").command
        return command

    def main(self, *words: Any, **named: Any) -> Any:
        no_closed_streams()
        try:
            return super().main(*words, **named)
        except OSError as refused:  # there is no room for the help, or for what is wrong with the words typed
            _end_refused(refused)

    def make_context(self, *words: Any, **named: Any) -> click.Context:
        try:
            return super().make_context(*words, **named)
        except click.UsageError as wrong:
            raise _wrapped(wrong) from wrong

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.meta[_TYPED] = tuple(args)
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> object:
        """Call the command. What the system refuses, as on a full disk, is told so: the program is not at fault."""
        any_encoding()
        _INTERRUPTS.clear()
        if _in_charge():
            signal.signal(signal.SIGINT, _note_interrupt)
        try:
            return super().invoke(ctx)
        except click.UsageError as wrong:
            raise _wrapped(wrong) from wrong
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except (OSError, MemoryError) as refused:
            _end_refused(refused)
        except Exception as fault:
            if _INTERRUPTS:  # an import that Ctrl+C breaks off may end in an error of any kind
                raise click.Abort from fault
            from grading.cli.fault import end_with_fault

            end_with_fault(fault, ctx.meta[_TYPED])

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


def _in_charge() -> bool:
    """Whether Ctrl+C comes to this thread, and does what it does in Python by itself."""
    here = threading.current_thread() is threading.main_thread()
    return here and signal.getsignal(signal.SIGINT) is signal.default_int_handler


def _note_interrupt(number: int, frame: FrameType | None) -> None:
    _INTERRUPTS.append(number)
    signal.default_int_handler(number, frame)


def _wrapped(wrong: click.UsageError) -> click.UsageError:
    """The same error, its words in lines that the window has room for."""
    lead = "Error: "
    return click.UsageError("\n".join(lines_of(lead + wrong.format_message())).removeprefix(lead), wrong.ctx)


def _end_refused(refused: OSError | MemoryError) -> NoReturn:
    no_full_streams()
    reason = getattr(refused, "strerror", None) or str(refused) or "no memory is left"
    finding = Finding.error(
        Code.SYSTEM_REFUSED,
        Place(str(getattr(refused, "filename", None) or "")),
        f"The system refused what the program asked of it ({reason}).",
        "Room on the disk, also in the folder for temporary files, free memory, and folders that may be written.",
        "Make room and run again. The files of a group are put into their folder together, so none is half written.",
    )
    stop([finding])


@click.group(
    cls=_Commands,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "show_default": True},
)
@click.version_option(__version__, prog_name="grading", message="%(prog)s %(version)s")
@click.pass_context
def main(context: click.Context) -> None:
    """Grade one base mitten block to every size of your tables.

    Type 'grading run' in a folder that has tables/sizes.xlsx and tables/block.xlsx. What is written lands in the
    folder output, one folder a size group. Your tables are only read, never changed.

    'grading' alone says what is in this folder, and what to type next. 'grading COMMAND --help' says more about a
    command.
    """
    if context.invoked_subcommand is None:
        from grading.cli.here import tell_what_is_here

        tell_what_is_here()
