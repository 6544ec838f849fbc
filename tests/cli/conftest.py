"""Commands that a test calls in its own process."""

from __future__ import annotations

import pytest

import grading.at_once


@pytest.fixture(autouse=True, scope="session")
def one_process():
    """No forks from the process of the tests, which has threads of its own; a program of its own forks as ever."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(grading.at_once, "_usable", lambda: 1)
        yield
