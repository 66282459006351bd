"""What every reading tells as text, whether of photos or of an instrument."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tintmix.faces.cli import text

ACTIONS = {
    "new": "new",
    "replaced": "replaced",
    "same": "as before",
    "kept": "kept its old reading",
    "check": "check chip",
}


def outcome(body: Mapping[str, Any]) -> list[str]:
    """What every reading ends with: drift, notes, what is still to be read, what was written."""
    lines = []
    if body["drift"]:
        lines.append(text.wrapped(body["drift"]["says"]))
        if body["drift"]["corrected"]:
            lines.append(text.wrapped("The readings of the other chips were put right by it."))
        elif body["drift"]["drifted"]:
            lines.append(text.wrapped("To have the readings put right by it, say --correct-drift."))
        lines.append("")
    lines += [
        text.wrapped(f"set.toml: {key} = {value}, since the readings say so.")
        for key, value in body["set_changes"].items()
    ]
    lines += [text.noted(note) for note in body["notes"]]
    if body["passed_over"]:
        lines.append(text.wrapped(f"Passed over: {', '.join(body['passed_over'])}."))
    if body["not_read_yet"]:
        lines.append(text.wrapped(f"Not read yet: {', '.join(body['not_read_yet'])}."))
    if body["dry_run"]:
        would = ", ".join(body["would_write"])
        lines.append(
            text.wrapped(f"Nothing was changed. It would write {would}." if would else "Nothing would change.")
        )
    else:
        lines.append(
            text.wrapped(f"Written: {', '.join(body['written'])}." if body["written"] else "Nothing was changed.")
        )
    return lines
