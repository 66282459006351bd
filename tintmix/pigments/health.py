"""How far a model is to be trusted, as its own fit found: kept in its report, repeated wherever it predicts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tintmix.files.plain import table_of

MUCH_DOUBTED = 0.25
"""Share of doubted chips past which the set is said to contradict itself: its draws are widened and no chance is told. Of
eight sound simulated sets seven doubt none and one a single chip of 26; with two dose columns exchanged in half the cups 0.23 to
0.31 of the chips are doubted, with shuffled readings more than 0.8."""
MADE_BEFORE = "this model was made before tintmix kept how far its chips agree: fit it again."


@dataclass(frozen=True, slots=True, kw_only=True)
class Health:
    """What the fit says of its model.

    says: one sentence. doubted_share: of the chips. agreement: share of the chips that lie within the 95 % of chance, each
    predicted from the others; None where it was not judged. set_up: what may be wrong with the whole set, likeliest first:
    tables of `what`, `change`, `log_evidence`, `says`, `sure`. haze_known: whether haze was read, or does not matter to how the
    chips were read. departures: by pigment, what of a bend is not excluded. made_for: readings, thickest_mm and highest_phr
    that the model rests on, and on_tile where all its chips were read on a white tile.
    """

    says: str
    doubted_share: float = 0.0
    agreement: float | None = None
    set_up: tuple[Mapping[str, Any], ...] = ()
    haze_known: bool = True
    departures: Mapping[str, Any] = field(default_factory=dict)
    made_for: Mapping[str, Any] = field(default_factory=dict)

    @property
    def contradicts(self) -> bool:
        """Whether the chips fit together so badly, or fit what is said of them so badly, that no chance can be told."""
        return contradicts(self.doubted_share, self.set_up)

    @property
    def is_suspected(self) -> bool:
        """Whether what it does not foretell may be the fault of its chips: they contradict each other, or are explained by a
        set-up that was not said, a base that thick pours change among them (two exchanged readings look like one).

        >>> Health(says="", set_up=({"what": "base"},)).is_suspected, Health(says="", set_up=({"sure": False},)).is_suspected
        (True, False)
        """
        return self.contradicts or any(one.get("sure", True) for one in self.set_up)

    @property
    def warning(self) -> str | None:
        """What stands beside a prediction; None of a sound set."""
        return self.says if self.contradicts or self.set_up or self.says == MADE_BEFORE else None

    @property
    def thickest_on_tile_mm(self) -> float | None:
        """The thickest chip of a model all of whose chips were read on a white tile; None of any other.

        >>> Health(says="", made_for={"thickest_mm": 4.0, "on_tile": True}).thickest_on_tile_mm
        4.0
        """
        return float(self.made_for["thickest_mm"]) if self.made_for.get("on_tile") else None

    def as_table(self) -> dict[str, Any]:
        """Its JSON, as formats.md has it."""
        return table_of(self, set_up=[dict(one) for one in self.set_up])


def health_of(report: Mapping[str, Any]) -> Health:
    """The health in a fit's report; of a model made before it was kept, that it was not.

    >>> health_of({"chips": []}).says
    'this model was made before tintmix kept how far its chips agree: fit it again.'
    >>> health_of({"health": {"says": "no chip is doubted.", "doubted_share": None}}).contradicts
    False
    """
    if not report:
        return Health(says="")
    if not isinstance(kept := report.get("health"), Mapping):
        return Health(says=MADE_BEFORE)
    # What is null there is not said.
    said = {"says": ""} | {key: value for key, value in kept.items() if value is not None}
    return Health(**said | {"set_up": tuple(said.get("set_up", ()))})


def health(
    doubted: Sequence[bool],
    agreement: float | None = None,
    set_up: Sequence[Mapping[str, Any]] = (),
    haze_known: bool = True,
    departures: Mapping[str, Any] | None = None,
    made_for: Mapping[str, Any] | None = None,
) -> Health:
    """The health of what a fit found, with its sentence. doubted: of each chip."""
    share = sum(map(bool, doubted)) / max(len(doubted), 1)
    return Health(
        says=_says(sum(map(bool, doubted)), len(doubted), contradicts(share, set_up), set_up),
        doubted_share=share,
        agreement=agreement,
        set_up=tuple(set_up),
        haze_known=haze_known,
        departures=departures or {},
        made_for=made_for or {},
    )


def contradicts(doubted_share: float, set_up: Sequence[Mapping[str, Any]]) -> bool:
    """Whether so many chips are doubted, or the set-up so surely wrong, that no chance can be told."""
    return doubted_share > MUCH_DOUBTED or any(map(is_wrong, set_up))


def is_wrong(suspicion: Mapping[str, Any]) -> bool:
    """Whether an entry of `set_up` says that the model rests on a wrong set-up. A base that thick pours change is in the model,
    and so is a light or observer that only may be another; all else is not.

    >>> is_wrong({"what": "light", "sure": False}), is_wrong({"what": "light"}), is_wrong({"what": "base"})
    (False, True, False)
    """
    return suspicion.get("what") != "base" and bool(suspicion.get("sure", True))


def _says(count: int, chips: int, much: bool, set_up: Sequence[Mapping[str, Any]]) -> str:
    """The likeliest set-up, or how many chips are doubted."""
    wide = (
        "the bands are widened until they hold nearly all of these chips, though other doses and thicknesses may lie far outside "
        "them, and no chance is told"
    )
    # A base that changes is in the model: chips that contradict each other do so for another reason.
    if named := [one for one in set_up if not much or one.get("what") != "base"]:
        first = str(named[0]["says"]).rstrip(".")
        return f"{first}; {wide}." if much else f"{first}."
    if much:
        return f"{count} of {chips} chips contradict the rest: {wide}. Check labels, doses and how the chips were read."
    if count:
        return f"{count} of {chips} chips {'is' if count == 1 else 'are'} doubted; no other stands out from the rest."
    if chips < 2:
        return "a single chip: no other tells whether it is right."
    return "no chip is doubted: each is where the others, as far as these can tell, put it."


_NOT_LOOKED_FOR = (
    "Not looked for, so not excluded: a colour that shifts with the dose (a pigment that clumps), some fluorescence."
)
_BY_READING = {
    "colour": "Another light or observer than the set declares is looked for, but often does not show in colours of chips: see "
    "that the instrument says the same.",
    "camera": "A photo tells dyes of narrow, steep bands badly: of simulated castings two of ten lie beyond the ± from raw "
    "photos, and up to four from JPEGs. Three chips read with a colorimeter too tell more.",
}
"""Of sets read for the other observer it was found in 16 to 19 of 20 by `python -m tests.accuracy.set_up_rows`, and in half of
those that another simulator made; photos: `python -m tests.accuracy.camera_rows`, bands of 15 to 40 nm. With three L*a*b*
chips too, errors of ten such sets fell from 1.9 to 1.0 (raw) and from 2.6 to 1.7 (phones), and bands held 98 and 88 %."""


def not_excluded(readings: Iterable[str]) -> list[str]:
    """What chips read in these ways ("spectrum", "colour", "camera") do not show, or not always, in sentences.

    >>> len(not_excluded(["spectrum"])), len(not_excluded(["camera", "colour"]))
    (1, 3)
    """
    return [_NOT_LOOKED_FOR, *(_BY_READING[kind] for kind in readings if kind in _BY_READING)]
