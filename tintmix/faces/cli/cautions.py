"""The cautions in the shell: before every answer with a weight in it, in short; the batch sheet has them whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tintmix.faces.cautions_text import TITLE
from tintmix.faces.cli.text import Laid, page, wrapped
from tintmix.faces.remedies import Said
from tintmix.sheet.cautions import Caution, cautions_in, in_short

ALL_OF_THEM = (
    "All cautions, with their sources: `tintmix sheet` prints them, and the page (`tintmix serve`) shows them."
)


def with_cautions(
    body: Mapping[str, Any], parts: Sequence[Said], at_once: Sequence[Said] = (), all_in: str = ALL_OF_THEM
) -> Laid:
    """An answer with the cautions of its body before it, in short, and where all are. at_once: what cannot wait for them, and
    tells no weight."""
    cautions = cautions_in(body)
    if not cautions:
        return page([*at_once, *parts])
    lines = [page(at_once), ""] if at_once else []
    lines.append(_in_short(cautions, all_in))
    return Laid("\n".join([*lines, "", page(parts)] if parts else lines))


def _in_short(cautions: Sequence[Caution], all_in: str) -> Laid:
    told = [wrapped(said, "  ", "▲ ") for said in in_short(cautions)]
    return Laid("\n".join([TITLE, *told, wrapped(all_in, "  ")]))
