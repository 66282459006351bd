"""Sums that pages of docs work out before the reader's eyes: their lines, and their values."""

from __future__ import annotations

import ast
import math
import operator
import re
from collections.abc import Callable

from tests.faces.conftest import ROOT

_DO: dict[type, Callable[[float, float], float]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv, ast.Pow: operator.pow,
}  # fmt: skip


def page(name: str) -> tuple[str, list[str]]:
    """A page of docs, and its text blocks."""
    text = (ROOT / "docs" / name).read_text(encoding="utf-8")
    return text, re.findall(r"^```text\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def worked(text: str) -> float:
    """The value of a sum as it stands on the page."""
    text = re.sub(r"√(\d+)", r"√(\1)", text.replace("×", "*").replace("²", "**2"))

    def of(node: ast.expr) -> float:
        match node:
            case ast.Constant(value=int() | float() as number):
                return float(number)
            case ast.BinOp(left=left, op=op, right=right):
                return _DO[type(op)](of(left), of(right))
            case ast.Call(func=ast.Name(id="sqrt"), args=[inner]):
                return math.sqrt(of(inner))
        raise AssertionError(ast.dump(node))

    return of(ast.parse(text.replace("√", "sqrt"), mode="eval").body)


def is_right(line: str) -> bool:
    """Whether a sum comes to what stands after its =, to the last digit."""
    left, right = line.split(" = ")
    decimals = len(right.partition(".")[2])
    return abs(worked(left) - float(right)) <= 0.5 * 10**-decimals + 1e-12
