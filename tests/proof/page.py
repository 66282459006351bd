"""docs/proof.md: each part of this program between its comments, as the accuracy programs put theirs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.accuracy.pages import made_by, put_into
from tests.proof.fresh import percent, table
from tests.proof.fresh import words as _fresh
from tests.proof.kept import kept

PAGE = Path(__file__).resolve().parents[2] / "docs" / "proof.md"
Found = dict[str, Any]


def put(page: Path, results: Path) -> list[str]:
    """Put every part that is kept into the page; the parts that are not."""
    missing = []
    for name, words in WORDS.items():
        found = kept(name, results)
        if found is None:
            missing.append(name)
        else:
            put_into(page, f"python -m tests.proof {name}", words(found), _made(found))
    return missing


def _made(found: Found) -> str:
    made = found["made"]
    program = made["program"] + (f" --sets {found['sets']}" if "sets" in found else "")
    return made_by(program, made["date"], made["cores"], made["tintmix"], made["python"])


def _picture(alt: str, name: str) -> str:
    return f"![{alt}](pictures/{name})"


def _lab(text: str) -> str:
    return text.replace("L*a*b*", "L\\*a\\*b\\*")


def _foretold(found: Found) -> str:
    rows = [
        (name, f"{one['median']:.2f} / {one['p95']:.2f}", f"{one['worst_set_p95']:.1f}", f"{one['band']:.2f}")
        for name, one in found["families"].items()
    ]
    told = table(["pigments", "ΔE00 at 36 to 60 mm, median / 95 %", "worst set", "half the bands within"], rows)
    heads = ["pigments", *(f"{100 * nominal:.0f} % asked" for nominal in found["nominal"])]
    covers = table(
        heads,
        (
            (
                name,
                *(f"{100 * c:.0f} ± {100 * e:.0f}" for c, e in zip(one["covers"], one["standard_error"], strict=True)),
            )
            for name, one in found["families"].items()
        ),
    )
    thick = found["thickness_mm"]
    by = table(
        ["median ΔE00 at", *(f"{mm:g} mm" for mm in thick)],
        (
            (f"{name}, {who}", *(f"{median:.2f}" for median, _ in one[key]))
            for name, one in found["families"].items()
            for key, who in (("three_channels", "three channels"), ("ours", "tintmix"))
        ),
    )
    return "\n\n".join(
        [
            _picture(
                "ΔE00 found against ΔE00 told, for dyed films, glasses and simulated dyes", "proof-told-and-found.png"
            ),
            "Each dot is a casting: how far off the program said that it may be, and how far off it was. Below the line it "
            "kept its word.",
            told,
            "### How often a band holds",
            _picture("Per cent held against per cent asked, from 50 to 99", "proof-coverage.png"),
            covers,
            "Above the line bands are wider than they need be, below it they are too narrow. ± is one standard error over sets.",
            "### Three colour channels, and whole spectra",
            _picture("ΔE00 against thickness for three-channel arithmetic and tintmix", "proof-thickness.png"),
            "Three channels: the same chips, their red, green and blue each falling exponentially with dose and thickness, "
            "fitted by least squares to all of them. It is what can be done in an image editor or a spreadsheet.",
            by,
        ]
    )


def _kinds(found: Found) -> str:
    rows = [
        (
            _lab(one["kind"]),
            f"{one['median']:.2f} / {one['p95']:.2f}",
            "–" if one["band"] is None else f"{one['band']:.1f}",
            percent(one["covers"]),
            "–" if one["seconds_a_fit"] is None else f"{one['seconds_a_fit']:.2f} s",
        )
        for one in found["rows"]
    ]
    heads = ["chips read as", "median ΔE00 / 95 %", "half the bands within", "95 % bands hold", "learning takes"]
    return f"{_picture('ΔE00 by kind of reading', 'proof-kinds.png')}\n\n{table(heads, rows)}"


def _growth(found: Found) -> str:
    fits = [
        (f"learning from {'spectra' if one['kind'] == 'spectrum' else 'L*a*b*'}", one["chips"], one["pigments"],
         f"{one['seconds']:.2f} s", f"{one['peak_mb']:.0f} MB")
        for one in found["fit_by_chips"] + found["fit_by_pigments"]
    ]  # fmt: skip
    solves = [
        (
            f"finding recipes among {one['subsets']} subsets",
            "–",
            one["pigments"],
            f"{one['seconds']:.2f} s",
            f"{one['peak_mb']:.0f} MB",
        )
        for one in found["solve_by_pigments"]
    ]
    told = table(
        ["what", "chips", "pigments", "one processor", "most memory"],
        [tuple(map(_lab, map(str, row))) for row in fits + solves],
    )
    picture = _picture("Time against chips, pigments and subsets", "proof-growth.png")
    return f"{picture}\n\nThe thin line is growth in proportion.\n\n{told}"


def _hard(found: Found) -> str:
    attacks = table(
        ["hostile input", "tried", "did not hold", "most memory"],
        ((one["what"], one["tried"], one["did_not_hold"], f"{one['peak_mb']} MB") for one in found["attacks"]),
    )
    kills = table(
        ["killed in the middle of writes", "kills", "told as kept", "of that missing"],
        (
            (
                one["what"],
                one["kills"],
                "–" if one["told"] is None else one["told"],
                "test failed" if one["missing"] is None else one["missing"],
            )
            for one in found["kills"]
        ),
    )
    faults = table(
        ["one thing wrong in a set", "read as", "named", "error, times the sound set's", "sound chips doubted a set"],
        (
            (
                one["what"],
                _lab(one["read"]),
                percent(one["named"]),
                f"{one['worse']:.2f}",
                f"{one['sound_chips_doubted']:.2f}",
            )
            for one in found["faults"]
        ),
    )
    return f"{attacks}\n\n{kills}\n\n{faults}"


def _outside(found: Found) -> str:
    def figure(value: float) -> str:
        return f"{value:.6g}"

    rows = [
        (_lab(one["what"]), one["values"], figure(one["ours"]), figure(one["theirs"]), f"{one['difference']:.1e}",
         f"{one['within']:.2g}", one["source"], f"`{one['test'].removeprefix('tests/')}`")
        for one in found["rows"]
    ]  # fmt: skip
    heads = ["what", "values", "ours", "theirs", "farthest apart", "asked", "source", "test, in `tests/`"]
    return table(heads, rows)


WORDS: dict[str, Callable[[Found], str]] = {
    "foretold": _foretold,
    "kinds": _kinds,
    "growth": _growth,
    "hard": _hard,
    "outside": _outside,
    "fresh": _fresh,
}
"""Of each part; the last was copied from the accuracy programs' own runs, and is not made anew by this one."""
