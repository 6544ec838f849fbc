"""The moment that the environment asks files to be dated with, ``SOURCE_DATE_EPOCH`` (reproducible-builds.org)."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
from collections.abc import Iterator

__all__ = ["asked_moment", "none_that_is_false"]

_NAME = "SOURCE_DATE_EPOCH"


def asked_moment() -> dt.datetime | None:
    """The moment asked for, in UTC; None where none is, or one that is no number or beyond what a calendar has."""
    try:
        return dt.datetime.fromtimestamp(int(os.environ.get(_NAME, "")), dt.UTC).replace(tzinfo=None)
    except (ValueError, OverflowError, OSError):
        return None


@contextlib.contextmanager
def none_that_is_false() -> Iterator[None]:
    """Hide a moment that counts as none from a library that reads the environment itself, and raises for it."""
    false = os.environ.pop(_NAME, None) if asked_moment() is None else None
    try:
        yield
    finally:
        if false is not None:
            os.environ[_NAME] = false
