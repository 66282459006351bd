"""What every reading tells as text, whether of photos or of an instrument."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from tintmix.faces.cli import text

_ACTIONS = {
    "new": "new",
    "replaced": "replaced",
    "same": "as before",
    "kept": "kept its old reading",
    "check": "check chip",
}


def came_of(chip: Mapping[str, Any], spread: float | None, told: Callable[[float], str]) -> list[object]:
    """The last cells of a chip's row: what was done with it, of how many readings, their spread, how far from before."""
    often = chip["readings"] if chip["readings"] > 1 else ""
    apart = "" if spread is None else told(spread)
    return [_ACTIONS.get(chip["action"], chip["action"]), often, apart, text.figure(chip["delta_e00_to_before"])]


def outcome(body: Mapping[str, Any]) -> list[str]:
    """What every reading ends with: drift, notes, what is still to be read, what was written."""
    lines = []
    if drift := body["drift"]:
        lines.append(drift["says"])
        if drift["corrected"]:
            lines.append("The readings of the other chips were put right by it.")
        elif drift["drifted"]:
            lines.append("To have the readings put right by it, say --correct-drift.")
        lines.append("")
    lines += [f"set.toml: {key} = {value}, since the readings say so." for key, value in body["set_changes"].items()]
    lines += text.noted(body["notes"])
    if body["passed_over"]:
        lines.append(f"Skipped: {', '.join(body['passed_over'])}.")
    if body["not_read_yet"]:
        lines.append(f"Not read yet: {', '.join(body['not_read_yet'])}.")
    if body["dry_run"]:
        would = ", ".join(body["would_write"])
        return [*lines, f"Nothing was changed. It would write {would}." if would else "Nothing would change."]
    return lines + (text.written(body["written"]) or ["Nothing was changed."])


def shown(body: Mapping[str, Any]) -> list[str]:
    """What was understood of files: a row a sample, and what is asked."""
    lines: list[str] = []
    for file in body["files"]:
        count = len(file["samples"])
        lines += [f"{file['file']}: {file['shape']}, {count} sample{'s' if count != 1 else ''}.", ""]
        rows = [_row(sample) for sample in file["samples"]]
        heads = [
            "line",
            "sample",
            "chip",
            "what",
            "said by",
            "",
            "L*",
            "a*",
            "b*",
            "450",
            "550",
            "650 nm",
            "light, geometry",
        ]
        lines += [text.table(heads, rows, left=(1, 2, 3, 4, 5, 12)), ""]
        lines += [f"To settle: {ask}" for ask in file["asks"]]
    return lines + ([] if "set" in body else text.noted(body["notes"]))


def _row(sample: Mapping[str, Any]) -> list[object]:
    lab = sample["lab"] or ("", "", "")
    at = sample["wavelengths_nm"] or []
    shares = [_near(at, sample["values"], nm) for nm in (450, 550, 650)] if at else ["", "", ""]
    against = f"against {sample['relative_to']}" if sample.get("relative_to") else ""
    light = f"{sample['light'] or ''} {sample['observer'] or ''}{'°' if sample['observer'] else ''}".strip()
    said_by = sample["read_from"].get("quantity", "")
    return [
        sample["line"] or "", sample["name"], sample["chip"] or "", sample["quantity"], said_by,
        text.block(sample["srgb"], 4) if sample["srgb"] else "",
        *(f"{v:.1f}" if v != "" else "" for v in lab), *shares, ", ".join(filter(None, (light, sample["geometry"], against))),
    ]  # fmt: skip


def _near(at: list[float], values: list[float], nm: float) -> str:
    """The value at the wavelength nearest to this one, where one is near."""
    nearest = min(range(len(at)), key=lambda i: abs(at[i] - nm))
    return f"{values[nearest]:.3f}" if abs(at[nearest] - nm) <= 25 else ""
