"""What 'grading' says when it is typed alone: what is in this folder, in what state, and what makes sense now."""

from __future__ import annotations

from pathlib import Path
from typing import NoReturn

from grading.asked import saved_as
from grading.cli.telling import end, say, suggest, tell_findings
from grading.codes import Code
from grading.findings import Severity, counted, has_errors
from grading.jobs.state import State, folders_of, state
from grading.jobs.tables import Job, check_job

__all__ = ["tell_what_is_here"]

_SIZES, _OUT = Path("tables/sizes.xlsx"), Path("output")


def tell_what_is_here() -> NoReturn:
    """Print it. Nothing is written; the exit status is 1 where the tables have errors."""
    sizes = saved_as(_SIZES)
    if not sizes.exists():
        say(f"There is no {_SIZES} in this folder. Make a folder with tables to fill in:")
        suggest("start", "mittens")
        say("All commands:")
        suggest("--help")
        end([])
    job = check_job(sizes).told_in()
    if not job.groups:
        tell_findings(job.findings)
        _suggest_mending(job)
        end(job.findings)
    folders = folders_of(job, _OUT)
    states = {group.run.group: state(group, folders[group.run.group]) for group in job.groups}
    wide = max(map(len, states))
    say(f"{sizes}:")
    for group in job.groups:
        run = group.run
        count = counted(len(run.sizes), "size")
        say(f"  {run.group.ljust(wide)}  {count.rjust(8)}  {states[run.group].format(folder=folders[run.group])}")
    say("")
    _suggest_next(job, states)
    end([])


def _suggest_mending(job: Job) -> None:
    """What to type where tables have errors; where only some groups have no block, how to go on with the others too."""
    say("The tables have errors. Set them right, then look again:")
    suggest("check")
    errors = [one for one in job.findings if one.severity is Severity.ERROR]
    lacking = [one.place.group for one in errors if one.code == Code.BLOCKS_FOR_GROUP]
    with_block = [group for group in job.named if group not in lacking]
    if with_block and len(lacking) == len(errors):
        say("Until then, grade those that have a block:")
        suggest("run", *(word for name in with_block for word in ("--group", name)))


def _suggest_next(job: Job, states: dict[str, State]) -> None:
    """The one or two commands that make sense now."""
    waiting = [group for group, state in states.items() if state is not State.GRADED]
    if any(has_errors(group.findings) for group in job.groups):
        say("The audit found errors. See them:")
        suggest("check")
    elif waiting:
        say("Grade what is waiting:")
        suggest("run", *(() if waiting == list(states) else [word for name in waiting for word in ("--group", name)]))
        if any(states[group] is State.CHANGED for group in waiting):
            say("See first what changed:")
            suggest("audit", "--against", str(_OUT))
        elif waiting == list(states) and Path("hands.xlsx").exists():
            say("Or draft a block of your own:")
            suggest("draft", "--measured", "hands.xlsx", "--group", waiting[0])
    else:
        say("See the increments:")
        suggest("audit")
        if saved_as(Path("tables/stock.xlsx")).exists():
            say("Plan a batch:")
            suggest("stock")
