"""Work out the sums of a construction, one after another, from the figures of a hand."""

from __future__ import annotations

import ast
import operator
import re
from collections.abc import Callable, Iterable, Mapping
from functools import cache

from grading.drafting.parts.part import Sum

__all__ = ["worked"]

#: A sum as a function of its names' figures.
_Function = Callable[[Mapping[str, float]], float]

_WRITTEN = str.maketrans({"×": "*", "÷": "/", "−": "-"})
_OPERATIONS: dict[type, Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}


def worked(sums: Iterable[Sum], given: Mapping[str, float]) -> dict[str, float]:
    """What each sum comes to in mm, beside the figures given.

    What is told in words, and any sum of which a name is not known, is left out.

    >>> worked([Sum("", "a side", "({fist girth} + {ease}) ÷ 2")], {"fist girth": 200.0, "ease": 24.0})["a side"]
    112.0
    """
    known = dict(given)
    for one in sums:
        if one.names and all(name in known for name in one.names):
            known[one.what] = _read(one.written)(known)
    return known


@cache
def _read(written: str) -> _Function:
    """A sum as a function. Raises KeyError for what is no sum of names, figures, + − × ÷ and brackets."""
    names: list[str] = []

    def numbered(name: re.Match[str]) -> str:
        names.append(name[1])
        return f"_{len(names) - 1}"

    text = re.sub(r"\{(.+?)\}", numbered, written).translate(_WRITTEN)
    return _made(ast.parse(text, mode="eval").body, names)


def _made(node: ast.AST, names: list[str]) -> _Function:
    if isinstance(node, ast.Name):
        name = names[int(node.id[1:])]
        return lambda known: known[name]
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        figure = float(node.value)
        return lambda known: figure
    if isinstance(node, ast.UnaryOp):
        of = _made(node.operand, names)
        return lambda known: -of(known)
    assert isinstance(node, ast.BinOp)
    both, left, right = _OPERATIONS[type(node.op)], _made(node.left, names), _made(node.right, names)
    return lambda known: both(left(known), right(known))
