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
        lines.append(f"Passed over: {', '.join(body['passed_over'])}.")
    if body["not_read_yet"]:
        lines.append(f"Not read yet: {', '.join(body['not_read_yet'])}.")
    if body["dry_run"]:
        would = ", ".join(body["would_write"])
        return [*lines, f"Nothing was changed. It would write {would}." if would else "Nothing would change."]
    return lines + (text.written(body["written"]) or ["Nothing was changed."])
