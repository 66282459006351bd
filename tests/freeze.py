"""What every command and the page answer on the shipped sets, as kept in `tests/reference/frozen`: moving code moves no number.

    python -m tests.freeze                 compares what the commands say now with what is kept; exit 1 where they differ
    python -m tests.freeze --keep          keeps what they say now: only where a fault was mended, and the change log says so
    python -m tests.freeze --into FOLDER   the same files elsewhere
    python -m tests.freeze --against FOLDER

Compared are the keys that are kept (more may be added), numbers to 1e-9. Sentences are not: they are read by people, and
other tests look at them.

A posterior is sampled along its own directions, whose signs and order hang on the last bit: where processor or BLAS round
otherwise than on the machine that kept the answers, other draws are taken, and bands differ by some per cent. `arithmetic`
tells whether they do; then numbers are only compared roughly, and the rest of the answers as strictly as ever.
"""

from __future__ import annotations

import contextlib
import io
import json
import math
import os
import re
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
FROZEN = ROOT / "tests" / "reference" / "frozen"
CLOSE = 1e-9
"""Relative and absolute. All that is random is drawn from fixed seeds."""
CLOSE_ELSEWHERE = 0.2
"""The same on a machine that rounds otherwise, as three kernels of OpenBLAS differ (Haswell, SkylakeX, Sandybridge)."""
CHOSEN = {
    "costs",
    "additions",
    "other_parts",
    "untinted_part",
    "tinted_part_g",
    "mixed_resin_g",
    "surprise",
    "lab_covariance",
    "joint_lab_covariance",
    "next_cup",
    "srgb",
    "cups",
    "letdowns",
    "colours",
    "grams",
}
"""Keys whose values hang on the draws more than that."""
MOMENT = "1790000000"
"""SOURCE_DATE_EPOCH of all runs: 2026-09-21, 14:13 UTC."""
PROSE = {
    "says", "order", "cautions", "warnings", "advice", "notes", "note", "seconds", "made_at", "made_by", "why", "because",
    "readings_that_would_help", "written", "caution_sources", "picture",
    "file", "files", "folder", "book", "model_file", "shown", "text", "title",
    "defaults_used", "what", "weighing", "holder", "digest", "fingerprint", "model", "chips_digest", "id", "how", "name_shown",
}  # fmt: skip
"""Keys whose values are sentences, paths, digests or times."""


def runs(folder: Path, answers: dict[str, Any]) -> Iterator[tuple[str, list[str]]]:
    """A name and the arguments of each call, in order: later calls use what earlier ones wrote, and their answers."""
    sets, targets = ROOT / "swatches", ROOT / "swatches" / "targets"
    urethane, epoxy = sets / "resins" / "urethane.toml", sets / "resins" / "epoxy.toml"
    models = {name: folder / f"{name}.json" for name in ("deck-prism", "deck-prism-colours", "one-cup")}
    for name, model in models.items():
        yield f"fit-{name}", ["fit", str(sets / name), "--model", str(model)]
    both = folder / "both.json"
    yield "fit-two-sets", ["fit", str(sets / "deck-prism"), str(sets / "deck-prism-colours"), "--model", str(both)]
    for name, model in models.items():
        pigments = list(answers[f"fit-{name}"]["pigments"])
        doses = [f"--dose={p}={0.02 + 0.01 * i:g}" for i, p in enumerate(pigments[:2])] if len(pigments) > 1 else []
        at = ["--at=8", "--at=60"]
        yield f"look-{name}", ["look", str(model), *doses, *at]
        yield f"look-{name}-under-led", ["look", str(model), *doses, *at, "--light=LED-B3", "--observer=2"]
        insert = ["--behind=insert", "--insert=#b08d3c", "--insert-width=10"]
        yield f"look-{name}-insert", ["look", str(model), *doses, "--at=5", *insert]
    colours = models["deck-prism-colours"]
    for target in ("sea-green-glass", "brass-ring", "cannot-meet-both"):
        for name in ("deck-prism", "deck-prism-colours"):
            kept = ["--keep", str(folder / f"recipe-{target}-{name}.json")]
            yield f"solve-{target}-{name}", ["solve", str(models[name]), str(targets / f"{target}.toml"), *kept]
    recipe = str(folder / "recipe-sea-green-glass-deck-prism-colours.json")
    ring = str(folder / "recipe-brass-ring-deck-prism.json")
    fine = ["--scale=resin=0.1", "--scale=pigment=0.001"]
    yield "sheet-urethane", ["sheet", recipe, "--batch=450", "--resin", str(urethane)]
    yield "sheet-urethane-fine", ["sheet", recipe, "--batch=450", "--resin", str(urethane), *fine]
    yield "sheet-urethane-coarse", ["sheet", recipe, "--batch=1450", "--resin", str(urethane), "--scale=0.25"]
    yield "sheet-epoxy", ["sheet", ring, "--volume=300", "--resin", str(epoxy), "--scale=0.01"]
    adjust = ["adjust", recipe, "--left=195", "--pot=400", "--batch=450", "--at=12", "--resin", str(urethane)]
    lab = _between(answers["solve-sea-green-glass-deck-prism-colours"])
    yield "adjust-weak", [*adjust, f"--lab={lab[0] + 3.0:.2f},{lab[1] * 0.7:.2f},{lab[2] * 0.7:.2f}"]
    yield "adjust-strong", [*adjust, f"--lab={lab[0] - 4.0:.2f},{lab[1] * 1.3:.2f},{lab[2] * 1.3:.2f}"]
    yield "adjust-mixed", [*adjust, f"--lab={lab[0]:.2f},{lab[1]:.2f},{lab[2]:.2f}", "--mixed=2"]
    first = next(iter(answers["fit-deck-prism-colours"]["pigments"]))
    check = ["--at=12", "--lab=72.0,-10.0,-12.0"]
    yield "lot", ["lot", str(colours), f"--dose={first}=0.06", *check, f"--lot={first}=A-18", "--keep"]
    yield "book-keep", ["book", "keep", recipe, "--name=sea green"]
    yield "book-pour", ["book", "pour", "sea green", "--batch=450"]
    yield "book-list", ["book", "list"]
    yield "book-show", ["book", "show", "sea green"]
    yield "book-history", ["book", "history", "sea green"]
    yield "convert", ["convert", "0.02", "--resin", str(urethane), "--drop=0.025", "--batch=450"]
    yield "convert-back", ["convert", "2", "--from=part B", "--to=phr", "--resin", str(urethane)]
    yield (
        "plan-new",
        ["plan", str(folder / "new"), "--pigment=one=0.02", "--pigment=two=0.01", "--at=8", "--at=60", "--cast-to=25"],
    )
    more = ["--at=8", "--at=60", "--cups=2"]
    yield "plan-more", ["plan", str(folder / "more"), "--model", str(colours), *more, "--resin", str(urethane)]
    tile = ["--tile=95.2,-0.4,1.1", "--cast=1", "--cast=2", "--cast=4"]
    yield "plan-tile", ["plan", str(folder / "tile"), "--pigment=one=0.02", "--at=8", "--at=60", *tile]
    yield "plan-camera", ["plan", str(folder / "photo"), "--pigment=one=0.02", "--at=8", "--at=60", "--kind=camera"]


def said(into: Path) -> dict[str, Any]:
    """What every command answers, by the name of the call, without what is not compared. into: a folder to write in."""
    from tintmix.faces.cli.main import run

    surroundings = {"SOURCE_DATE_EPOCH": MOMENT, "TZ": "UTC", "TINTMIX_BOOK": str(into / "book.db")}
    before = {key: os.environ.get(key) for key in surroundings}
    os.environ.update(surroundings)
    time.tzset()
    answers: dict[str, Any] = {}
    try:
        for name, arguments in runs(into, answers):
            out, err = io.StringIO(), io.StringIO()
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                status = run([*arguments, "--json"])
            if status:
                raise SystemExit(f"{name}: {' '.join(arguments)}: {err.getvalue()}")
            answers[name] = _without_prose(json.loads(out.getvalue()))
        answers |= page_said(into)
    finally:
        for key, value in before.items():
            if value is None:
                os.environ.pop(key, None)
            else:
                os.environ[key] = value
        time.tzset()
    return answers


def page_said(into: Path) -> dict[str, Any]:
    """What the page answers in the demo's whole job, in an empty folder: the colours and grams that each screen shows, and the
    script's answers whole.
    """
    from tests.faces.web.conftest import Client, ok
    from tests.faces.web.test_little_said import SCREENS, SHEET, TRIAL

    def shown(answer: Any) -> dict[str, list[str]]:
        text = ok(answer).text
        return {"colours": re.findall(r"#[0-9a-f]{6}\b", text), "grams": re.findall(r"\d[\d.]* g\b", text)}

    said: dict[str, Any] = {}
    with Client(into / "page") as page:
        ok(page.finish(page.fill("/demo"), 120.0))
        pigments = [box.removeprefix("dose.") for box in re.findall(r'name="(dose\.[^"]+)"', page.get("/tint").text)]
        doses = {f"dose.{name}": f"{0.02 + 0.01 * i:.2f}" for i, name in enumerate(pigments[:2])}
        said["page-tint-look"] = ok(page.get("/tint/look", params=doses)).json()
        said["page-tint-now"] = ok(page.get("/tint/now")).json()
        said["page-recipes"] = shown(page.finish(page.fill("/recipes/find", {})))
        said["page-sheet"] = shown(page.fill("/sheet/make", SHEET))
        marks = page.fill("/sheet/marks", {}, headers={"accept": "application/json"})
        said["page-sheet-marks"] = ok(marks).json()
        said["page-trial"] = shown(page.finish(page.fill("/trial/ask", TRIAL)))
        for screen in SCREENS:
            said[f"page{screen.replace('/', '-')}-at-the-end"] = shown(page.get(screen))
    return {name: _without_prose(answer) for name, answer in said.items()}


def arithmetic() -> str:
    """A digest of how this machine rounds sums, products, exponentials and factors: equal where answers are equal to the bit."""
    import hashlib

    import numpy as np

    x = np.linspace(0.1, 3.0, 41 * 41).reshape(41, 41)
    square = x @ x.T + 41.0 * np.eye(41)
    made = [square, np.exp(-x), np.log(x), np.linalg.cholesky(square), np.linalg.eigvalsh(square), x[0] @ x.T]
    return hashlib.sha256(b"".join(np.ascontiguousarray(one).tobytes() for one in made)).hexdigest()


def differences(kept: Any, now: Any, where: str = "", close: float = CLOSE) -> Iterator[str]:
    """Each place where what is kept is not there now, or is another value."""
    if isinstance(kept, dict) and isinstance(now, dict):
        for key, value in kept.items():
            if key in now:
                if close == CLOSE or key not in CHOSEN:
                    yield from differences(value, now[key], f"{where}.{key}", close)
            else:
                yield f"{where}.{key}: is gone"
    elif isinstance(kept, list) and isinstance(now, list) and len(kept) == len(now):
        for i, (one, other) in enumerate(zip(kept, now, strict=True)):
            yield from differences(one, other, f"{where}[{i}]", close)
    elif _is_number(kept) and _is_number(now):
        if not math.isclose(kept, now, rel_tol=close, abs_tol=close):
            yield f"{where}: was {kept!r}, is {now!r}"
    elif type(kept) is not type(now) or kept != now:
        yield f"{where}: was {str(kept)[:80]!r}, is {str(now)[:80]!r}"


def read_kept(folder: Path = FROZEN) -> dict[str, Any]:
    """What is kept, by the name of the call."""
    return {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in sorted(folder.glob("*.json"))}


def compared(answers: dict[str, Any], folder: Path = FROZEN) -> list[str]:
    """All differences between what is kept and these answers."""
    kept = read_kept(folder)
    close = CLOSE if kept.pop("arithmetic") == arithmetic() else CLOSE_ELSEWHERE
    return [f"{name}{line}" for name, was in kept.items() for line in differences(was, answers.get(name), "", close)]


def keep(answers: dict[str, Any], folder: Path = FROZEN) -> None:
    """Write a file for each call, and take away those of calls that are no more."""
    folder.mkdir(parents=True, exist_ok=True)
    answers = {**answers, "arithmetic": arithmetic()}
    for path in folder.glob("*.json"):
        if path.stem not in answers:
            path.unlink()
    for name, answer in answers.items():
        text = json.dumps(_rounded(answer), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        (folder / f"{name}.json").write_text(text + "\n", encoding="utf-8")


def _without_prose(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _without_prose(one) for key, one in value.items() if key not in PROSE}
    return [_without_prose(one) for one in value] if isinstance(value, list) else value


def _rounded(value: Any) -> Any:
    """Twelve figures are more than is compared, and keep the files small."""
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_rounded(one) for one in value]
    return float(f"{value:.12g}") if isinstance(value, float) else value


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _between(answer: dict[str, Any]) -> list[float]:
    """L*a*b* between those of the best recipe at its first and last place: about what a trial chip of 12 mm reads."""
    sections = answer["proposals"][0]["sections"]
    thin, thick = sections[0]["lab"], sections[-1]["lab"]
    return [one + (other - one) * 4 / 52 for one, other in zip(thin, thick, strict=True)]


def main(arguments: list[str]) -> int:
    """See the module."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # before numpy is loaded: the number of threads moves the last bits too
    with tempfile.TemporaryDirectory() as folder:
        answers = said(Path(folder))
    if arguments[:1] == ["--keep"]:
        keep(answers)
        return 0
    if arguments[:1] == ["--into"]:
        keep(answers, Path(arguments[1]))
        return 0
    found = compared(answers, Path(arguments[1]) if arguments[:1] == ["--against"] else FROZEN)
    print("\n".join(found) or "all answers are what they were")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
