"""Which version of the program this is; what is written names it."""

from __future__ import annotations

__all__ = ["__version__"]

__version__ = "0.1.0"
