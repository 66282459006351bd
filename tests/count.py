"""The size of the house, counted: python -m tests.count [FOLDER]

Lines of Python without blanks, classes with TintmixError above them, imports below module level (`TYPE_CHECKING` aside),
files of more than 400 lines, folders of more than 15 files. FOLDER: the package of another checkout, to compare.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1] / "tintmix"
LONGEST_FILE, FULLEST_FOLDER = 400, 15


def lines_without_blanks(package: Path) -> int:
    """Of all Python files, comments and docstrings included."""
    return sum(
        1 for path in package.rglob("*.py") for line in path.read_text(encoding="utf-8").splitlines() if line.strip()
    )


def error_classes(package: Path) -> list[str]:
    """Every class that has TintmixError above it."""
    above = {
        node.name: {base.id for base in node.bases if isinstance(base, ast.Name)}
        for tree in _trees(package)
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef)
    }
    found: set[str] = set()
    while more := {name for name, bases in above.items() if bases & (found | {"TintmixError"})} - found:
        found |= more
    return sorted(found)


def imports_below_module_level(package: Path) -> int:
    """Statements of import inside functions and methods."""
    return sum(
        isinstance(inner, ast.Import | ast.ImportFrom)
        for tree in _trees(package)
        for outer in _outermost_functions(tree)
        for inner in ast.walk(outer)
    )


def long_files(package: Path) -> list[tuple[str, int]]:
    """Files of more than 400 lines."""
    counted = [
        (str(path.relative_to(package)), len(path.read_text(encoding="utf-8").splitlines()))
        for path in package.rglob("*.py")
    ]
    return [one for one in counted if one[1] > LONGEST_FILE]


def full_folders(package: Path) -> list[tuple[str, int]]:
    """Folders of more than 15 Python files, `__init__.py` aside."""
    folders = {path.parent for path in package.rglob("*.py")}
    counted = [
        (str(one.relative_to(package)), sum(path.name != "__init__.py" for path in one.glob("*.py"))) for one in folders
    ]
    return sorted(one for one in counted if one[1] > FULLEST_FOLDER)


def _trees(package: Path) -> Iterator[ast.Module]:
    for path in sorted(package.rglob("*.py")):
        yield ast.parse(path.read_text(encoding="utf-8"))


def _outermost_functions(tree: ast.AST) -> Iterator[ast.AST]:
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node
        else:
            yield from _outermost_functions(node)


def main(arguments: list[str]) -> int:
    """Print the counts."""
    package = Path(arguments[0]) if arguments else PACKAGE
    print(f"lines of Python without blanks: {lines_without_blanks(package)}")
    print(f"classes with TintmixError above them: {len(error_classes(package))}")
    print(f"imports below module level: {imports_below_module_level(package)}")
    print(f"files of more than {LONGEST_FILE} lines: {long_files(package) or 'none'}")
    print(f"folders of more than {FULLEST_FOLDER} files: {full_folders(package) or 'none'}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
