"""Writes docs/words.md from the answers of the page's "?": `.venv/bin/python docs/make_words.py`."""

from __future__ import annotations

from pathlib import Path

from tintmix.faces.explained import explanations

PAGE = Path(__file__).resolve().parent / "words.md"
HEAD = """# Words

The page has a "?" beside these words. Here are its answers, which `docs/make_words.py` puts here from
`tintmix/faces/explained.toml`.
"""


def words() -> str:
    """The page: each question as a heading, its answer, its picture."""
    parts = [HEAD]
    for one in explanations().values():
        parts.append(f"\n## {one.ask.replace('*', chr(92) + '*')}\n\n{one.says.replace('*', chr(92) + '*')}\n")
        if one.picture:
            parts.append(f"\n![{one.shows.replace('*', chr(92) + '*')}](pictures/{one.picture})\n")
    return "".join(parts)


if __name__ == "__main__":
    PAGE.write_text(words(), encoding="utf-8")
