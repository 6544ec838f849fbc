import os
import signal
import subprocess
import sys
import time

import pytest

from grading.at_once import at_once, in_turn

SEVERAL = pytest.mark.skipif(sys.platform != "linux", reason="processes are forked on Linux only")

PROGRAM = """
import os, time
from grading.at_once import at_once
def told(number):
    os.write(1, b"%d\\n" % os.getpid())
    time.sleep(600)
with at_once(2) as each:
    list(each(told, [1, 2]))
"""


def doubled_after(pause: float) -> tuple[float, int]:
    time.sleep(pause)
    return 2 * pause, os.getpid()


@SEVERAL
def test_results_come_in_the_order_of_the_things_whichever_is_ready_first():
    with at_once(2) as each:
        results = list(each(doubled_after, [0.2, 0.0, 0.1]))
    assert [result for result, _ in results] == [0.4, 0.0, 0.2]
    assert os.getpid() not in {process for _, process in results}


@SEVERAL
def test_what_goes_wrong_elsewhere_is_raised_here():
    with at_once(2) as each, pytest.raises(ZeroDivisionError):
        list(each(divmod, [1, 1], [1, 0]))


def test_with_one_processor_each_call_waits_until_its_result_is_asked_for():
    called = []
    with at_once(1) as each:
        assert each is in_turn
        results = each(called.append, [1, 2])
        assert called == []
        next(results)
    assert called == [1]


@SEVERAL
def test_no_process_outlives_a_program_that_was_killed():
    with subprocess.Popen([sys.executable, "-c", PROGRAM], stdout=subprocess.PIPE, text=True) as program:
        try:
            assert program.stdout is not None
            workers = [int(program.stdout.readline()) for _ in range(2)]
        finally:
            program.send_signal(signal.SIGKILL)
    until = time.monotonic() + 10
    while any(alive(worker) for worker in workers) and time.monotonic() < until:
        time.sleep(0.02)
    assert not any(alive(worker) for worker in workers)


def alive(process: int) -> bool:
    """Whether a process runs; one that has ended and that nobody has asked about does not."""
    try:
        with open(f"/proc/{process}/stat") as file:  # noqa: PTH123
            return file.read().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False
