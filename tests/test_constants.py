"""Every numeric constant of a module has its reason beside it: a string below it, or a comment on it or above it."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1] / "tintmix"
ROOMS = ("optics", "pigments", "recipes", "weighing", "chips")
SCHEMA = {"Table", "Rows", "number", "whole", "text", "list_of", "one_of", "or_none", "table_of", "cache", "lru_cache"}
"""Calls whose numbers are a file's own limits: formats.md gives their reason."""


def without_reason(source: str) -> list[str]:
    """Module-level numeric constants with no reason, as "line: name"."""
    lines, body = source.splitlines(), ast.parse(source).body
    found = []
    for place, node in enumerate(body):
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None or not _has_number(node.value):
            continue
        after = body[place + 1] if place + 1 < len(body) else None
        told = (
            isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant) and isinstance(after.value.value, str)
        )
        beside = [lines[node.lineno - 2].lstrip().startswith("#") if node.lineno > 1 else False]
        beside += ["  # " in line and "# fmt:" not in line for line in lines[node.lineno - 1 : node.end_lineno]]
        if not told and not any(beside):
            target = node.targets[0] if isinstance(node, ast.Assign) else node.target
            found.append(f"{node.lineno}: {ast.unparse(target)}")
    return found


def _has_number(value: ast.expr) -> bool:
    """Whether a number is written in it, patterns of text and `axis=` aside."""
    if isinstance(value, ast.Call) and isinstance(value.func, ast.Name) and value.func.id in SCHEMA:
        return False
    if isinstance(value, ast.Call) and ast.unparse(value.func) == "re.compile":
        return False
    if isinstance(value, ast.Constant):
        return isinstance(value.value, int | float) and not isinstance(value.value, bool)
    return any(_has_number(part) for part in ast.iter_child_nodes(value) if isinstance(part, ast.expr)) or any(
        _has_number(part.value)
        for part in ast.iter_child_nodes(value)
        if isinstance(part, ast.keyword) and part.arg != "axis"
    )


FILES = sorted(path for room in ROOMS for path in (ROOT / room).rglob("*.py"))


@pytest.mark.parametrize("room", ROOMS)
def test_every_numeric_constant_has_its_reason_beside_it(room: str) -> None:
    files = [path for path in FILES if path.relative_to(ROOT).parts[0] == room]
    assert files
    bare = {str(path.relative_to(ROOT)): found for path in files if (found := without_reason(path.read_text("utf-8")))}
    assert bare == {}


def test_the_walk_sees_what_it_should() -> None:
    assert without_reason("A = 1.5\n") == ["1: A"]
    assert without_reason("A = 1.5\nB = 'b'\n'''Why.'''\n") == ["1: A"]
    assert without_reason("A, B = 1, np.array([2.0])\n") == ["1: (A, B)"]
    assert without_reason("A: float = f(x, most=3)\n") == ["1: A"]
    assert without_reason("A = 1.5\n'''Why.'''\n") == []
    assert without_reason("# Why.\nA = 1.5\n") == []
    assert without_reason("A = 1.5  # why\n") == []
    assert without_reason("A = 'x'\nB = True\nC = number(most=3)\nD = E.sum(axis=1)\n") == []
