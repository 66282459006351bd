"""The cautions in the shell: before every answer with a weight in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tintmix.faces.cautions_text import KEY, SOURCES, TITLE, caution_lines, source_lines
from tintmix.faces.cli.text import Laid, page, width, wrapped
from tintmix.faces.remedies import Said
from tintmix.sheet.cautions import BEFORE_OPENING, cautions_in


def with_cautions(body: Mapping[str, Any], parts: Sequence[Said], at_once: Sequence[Said] = ()) -> Laid:
    """An answer with the cautions of its body before it, and at the end where they are from. at_once: what cannot wait for
    them, and tells no weight."""
    cautions, columns = cautions_in(body), width()
    if not cautions:
        return page([*at_once, *parts])
    care = [f"{TITLE} ({KEY.rstrip('.')})", *caution_lines(cautions, columns), wrapped(BEFORE_OPENING)]
    lines = [page(at_once), ""] if at_once else []
    lines += [*care, "", page(parts)] if parts else care
    return Laid("\n".join([*lines, "", f"{SOURCES}:", *source_lines(cautions, columns)]))
