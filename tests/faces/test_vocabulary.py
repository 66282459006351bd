"""The words of all that a person reads: one word for a thing, and the same in the shell, on the page, on paper and in the docs.

The object is the *casting*. "Part" is kept for the resin's two, part A and part B, with the letter or the name that its file
gives it, and for a share of something ("in part", "parts by weight"). Keys of files and JSON, names of options and addresses
stay as formats.md has them; they are no words, and are passed over: literals without a blank, what stands between backquotes.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CODE = ROOT / "tintmix"
TEMPLATES = CODE / "faces" / "web" / "templates"

WRONG = {
    r"\b(?:on|for|where|as|through|beside|of|in|colder than|thickness of) (?:the|a|your|this|its) part\b"
    r"(?! (?:of|that|which|from|by)\b| (?:[AB]\b|{))": "the object is the casting",
    r"\b(?:the|a|your|this) (?:cast|faceted|clear|thick) part\b": "the object is the casting",
    r"\b(?:the|a|your) parts? (?:is|are) (?:cast|cured|thick|thin|too)\b": "the object is the casting",
    r"\b(?:the|that|this|your) part (?:is|was|has)\b": "the object is the casting; part A or part B",
    r"\bthat part\b(?! (?:of|which|by)\b| (?:[AB]\b|{))": "the object is the casting; part A or part B",
    r"\bthe part's (?:thick|sections|place|dose|resin)": "the casting's",
    r"\bthe other part\b(?! of)": "part A by its letter, or by the name that the resin's file gives it",
    r"\btinted (?:part|side)\b(?! (?:[AB]\b|{))": "tinted part B, with its letter or its name; what is in the pot",
    r"\buntinted part\b(?! (?:[AB]\b|{))": "untinted part B, with its letter or its name",
    r"\bletdowns?\b": "stock bottle",
    r"\bwedges?\b": "thickness strip",
    r"\bluminous transmittance\b": "light through",
    r"(?<!\[)\bsections?\b(?!\])": "place",
    r"\bnear(?:ly)? enough\b": "within tolerance",
    r"\bunpigmented\b|\b(?:blank|clear) (?:chip|cup)s?\b|\band an? blank\b|\bblanks?\b(?= each| at )": "untinted",
    r"\bfor(?:eseen|ecast|etold|etells?)\b": "predicted",
    r"\b(?:dosing|weighing) sheet\b": "batch sheet",
    r"\bso strong (?:an? |that\b)": "as strong a tint as, strong enough that",
    r"\bleast the drain\b": "nothing goes down the drain",
}
"""What is wrong, as a pattern, and the word in its place. "{" stands for what a program fills in."""

ALLOWED = {
    "moves must be finite and (sections": "the shape of an array, told to a programmer who calls the function",
    "a part is missing or wrong": "of a file",
}
"""Beginnings of what may stand all the same, and why."""


def test_the_program_says_each_thing_by_its_word() -> None:
    assert _found(CODE.rglob("*.py"), _literals) == []


def test_the_page_says_each_thing_by_its_word() -> None:
    pages = [*TEMPLATES.glob("*.html"), *(CODE / "faces" / "web" / "static").glob("*.js")]
    assert len(pages) > 20
    assert _found(pages, _of_markup) == []


def test_the_docs_say_each_thing_by_its_word() -> None:
    """Not DEVELOPERS.md, which speaks of the code by the names it has there."""
    docs = [*(ROOT / "docs").glob("*.md")]
    docs += [ROOT / "README.md", *(ROOT / "swatches").rglob("*.md"), *(ROOT / "swatches").rglob("*.toml")]
    docs += [
        CODE / "sheet" / "cautions.toml",
        CODE / "sheet" / "steps.toml",
        CODE / "faces" / "remedies.toml",
        CODE / "faces" / "paper" / "holder.toml",
    ]
    assert len(docs) > 20
    assert _found(docs, _of_text) == []


@pytest.mark.parametrize(
    "said",
    [
        "where the part is 60 mm thick", "how thick your part is: the part is thick", "a place on the part",
        "Pour a trial as thick as the part before you tint.", "Once the other part is in, 8 minutes are left.",
        "Stir the tinted part to the bottom.", "12 g of untinted part", "make a letdown", "Draw the wedge", "near enough",
        "the part is thicker than any chip", "whose carrier is taken off that part.", "what that part weighs",
        "where the part tapers", "two sections are named flange",
        "cast a clear chip too", "foreseen was L* 60", "So strong a tint was never measured",
    ],
)  # fmt: skip
def test_what_is_wrong_is_found(said: str) -> None:
    assert list(_wrong(said)) != []


@pytest.mark.parametrize(
    "said",
    [
        "Stir tinted part B to the bottom.", "12 g of untinted part {}", "a part of the bare panel",
        "the part that takes pigment", "[[section]]", "one part pigment in 50 parts of carrier", "part A is opened last",
        "as strong a tint as this",
        "the parts of the resin", "100 parts A and 90 parts B by weight", "parts by volume", "for the part of the resin",
    ],
)  # fmt: skip
def test_what_is_right_is_left_alone(said: str) -> None:
    assert list(_wrong(said)) == []


def _found(files, read) -> list[str]:
    out = []
    for path in sorted(files):
        for line, text in read(path.read_text(encoding="utf-8")):
            if not any(begin in text for begin in ALLOWED):
                out += [f"{path.relative_to(ROOT)}:{line}: {words}" for words in _wrong(text)]
    return out


def _wrong(text: str) -> Iterator[str]:
    said = " ".join(text.split())
    for pattern, instead in WRONG.items():
        for hit in re.finditer(pattern, said, re.IGNORECASE):
            yield f"{said[max(0, hit.start() - 30) : hit.end() + 30]!r}: say {instead!r}"


def _literals(source: str) -> Iterator[tuple[int, str]]:
    """Texts with a blank in them. Docstrings only of the shell's commands: they are what `--help` prints."""
    tree = ast.parse(source)
    skipped: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and any("command" in ast.unparse(one) for one in node.decorator_list):
            continue
        for one in getattr(node, "body", []) if isinstance(getattr(node, "body", []), list) else []:
            if isinstance(one, ast.Expr) and isinstance(one.value, ast.Constant):
                skipped.add(id(one.value))
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = [one.value if isinstance(one, ast.Constant) else "{}" for one in node.values]
            skipped.update(id(one) for one in node.values)
            yield node.lineno, _bare("".join(map(str, parts)))
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skipped:
            yield node.lineno, _bare(node.value) if " " in node.value and not node.value.startswith("<") else ""


def _bare(text: str) -> str:
    """Without what stands between backquotes, and without addresses."""
    return re.sub(r"`[^`]*`|\]\([^)]*\)|<[^>]*>", " ", text)


def _of_text(source: str) -> Iterator[tuple[int, str]]:
    """Paragraphs, without the blocks of commands and files."""
    fenced = re.sub(r"```.*?```", lambda found: "\n" * found[0].count("\n"), source, flags=re.DOTALL)
    fenced = re.sub(r"<!--.*?-->", "", fenced)
    line = 1
    for paragraph in fenced.split("\n\n"):
        yield line, _bare(re.sub(r"(?m)^# ", "", paragraph))
        line += paragraph.count("\n") + 2


def _of_markup(source: str) -> Iterator[tuple[int, str]]:
    """What is read: text between the tags, the texts of labels, and quoted texts with a blank inside of what is filled in."""
    for number, line in enumerate(source.splitlines(), 1):
        for quoted in re.findall(r"\"([^\"<>{}]* [^\"<>{}]*)\"|'([^'<>{}]* [^'<>{}]*)'", line):
            yield number, "".join(quoted) if "=" not in "".join(quoted) else ""
        plain = re.sub(r"{%.*?%}", "", line)
        plain = re.sub(r"{{.*?}}", "{}", plain)
        if "<" in plain:
            yield number, re.sub(r"<[^>]*>", " ", plain)
