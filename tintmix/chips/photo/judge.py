"""What makes a photo's reading wrong or doubtful, in a sentence each, with what to do about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from tintmix.chips.photo.errors import NotThesePhotos
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.region import Patch
from tintmix.chips.photo.sheet.marks import FoundSheet
from tintmix.errors import FileProblem, Note, Remedy
from tintmix.numerals import listed, numeral, percent
from tintmix.optics.spectrum import Array

DARKEST_RAW, DARKEST_RENDERED = 0.003, 0.01
"""A chip that is darker in every channel tells nothing that glare and noise do not."""
WITHOUT_DARK_LEAST = 0.20
"""Without a dark reference no reading below it: 2 % of glare is a tenth of it (design notes, readings)."""
PANEL_LEAST = 0.06
"""Of full light, in the brightest channel: below it noise and the steps of 8 bits are in every reading."""
EMPTY_ABOVE = 0.97
"""An untinted chip lets 92 % through."""
ABOVE_PANEL, ABOVE_PANEL_RENDERED = 1.10, 1.70
"""A camera's matrix takes the other channels off, so that a deep red chip may be redder than the panel in linear sRGB."""
CLIPPED_MOST = 0.01
"""Of a place's pixels: glints and dead pixels, a tenth of what the trimmed mean leaves out anyway."""
DARK_MOST = 0.15
"""A blocked window as bright as this part of the panel is not blocked, or the room is not dark."""
_EDGE, _GRADIENT = 0.20, 0.05
"""From the darkest ninth of a place to the brightest, relative: refused, for no mean stands for 0.08 of absorbance; and noted,
0.02 of absorbance."""
_RIM_MOST = 0.10
"""The strip along a side that is so far off what lies beside it shows something else than the chip."""
_GLARE_UNSURE = 0.003
"""How far, as a part of the bare panel, what is taken off for glare may be wrong from one side of a chip to the other."""
_JPEG_BLOCK = 64.0
"""Pixels of a JPEG whose errors go together."""
_SPOTS_REFUSED, _SPOTS_NOTED = 0.10, 0.01
"""Of a place's pixels: more bright ones than the trimmed mean leaves out reach into it; a tenth of that is worth a look."""
_DRIFTED, _UNSTEADY, _MOVED = 0.10, 0.015, 0.05
"""Between the two photos, relative: exposure is taken off, but a locked one does not wander so far; windows that disagree by
more than the 1 % that a camera's reading is good for (formats.md) are noted; and `shape._MOVED`."""
_GLARE_NOTED = 0.05
"""Of the panel's light: lenses alone spread 0.5 to 2 % (design notes, readings)."""
_COMPARED = 300
"""Pixels along the longer side by which two photos are held against each other."""
_ASLANT = 0.966
"""The cosine of 15°: path 1.5 % longer (design notes, physics §2)."""
Both = tuple[Patch, Patch | None]
"""A place in the photo of the chips, and in that of the bare panel."""
CHANNELS = ("red", "green", "blue")
FEW_OPEN = Note(
    says="the bare panel is known at fewer than four places and no second photo shows it, so its unevenness is in the readings.",
    remedy=Remedy.GIVE_THE_PANEL,
)
BETWEEN_OPEN = Note(
    says="no second photo shows the bare panel: a smooth surface through the open places stands for it, and how uneven the "
    "panel is between them stays in the readings.",
    remedy=Remedy.GIVE_THE_PANEL,
)
SHORTER = "take the photo with a shorter exposure, so that the bare panel stays below the top"


def check_panel(photo: Photo, panel: Photo | None, same_size: bool = True) -> list[Note | str]:
    """That the panel's photo can belong to the chips'. Raises FileProblem."""
    if panel is None:
        return []
    if photo.rendered != panel.rendered:
        one, other = ("a JPEG or the like", "raw") if photo.rendered else ("raw", "a JPEG or the like")
        what = f"the photo of the chips is {one} and that of the panel is {other}"
        raise FileProblem(where=panel.name, what=what, remedy=Remedy.TAKE_BOTH_ALIKE)
    if same_size and (photo.width, photo.height) != (panel.width, panel.height):
        what = f"it has {panel.width} × {panel.height} pixels and the photo of the chips {photo.width} × {photo.height}"
        raise FileProblem(where=panel.name, what=what, remedy=Remedy.TAKE_BOTH_FROM_ONE_PLACE)
    if _same_picture(photo, panel):
        what = (
            f"it is the same picture as the photo of the chips, {photo.name}; choose the one with the chips taken off"
        )
        raise NotThesePhotos(where=panel.name, what=what)
    told = [about(panel.name, warning) for warning in panel.warnings]
    if differ := _exposed_apart(photo, panel):
        told.append(f"the two photos were exposed differently ({differ}); lock exposure and white balance")
    return told


def check_not_exchanged(
    photo: Photo, panel: Photo | None, chips: Mapping[str, Both], opened: Mapping[str, Both]
) -> None:
    """That nothing lies in the panel's photo alone. chips, opened: patches of both photos. Raises NotThesePhotos."""
    pairs = [[(here.mean, there.mean) for here, there in one.values() if there] for one in (chips, opened)]
    if panel is None or not all(pairs):
        return
    scale = np.median([here / np.maximum(there, 1e-9) for here, there in pairs[1]], axis=0)
    ratios = [float((here / scale).sum() / max(there.sum(), 1e-9)) for here, there in pairs[0]]
    if max(ratios) > 1 / EMPTY_ABOVE + _UNSTEADY and min(ratios) > EMPTY_ABOVE - _UNSTEADY:
        what = f"something lies in it, and nothing in the photo of the chips, {photo.name}: they look exchanged"
        raise NotThesePhotos(where=panel.name, what=f"{what}; choose each for the other")


def _same_picture(photo: Photo, panel: Photo) -> bool:
    """Whether the two hold the same pixels, of some that lie all over them: no two photos do, for each has noise of its own."""
    step = max(1, max(photo.width, photo.height) // _COMPARED)
    if (photo.width, photo.height) != (panel.width, panel.height):
        return False
    return np.array_equal(np.asarray(photo.codes[::step, ::step]), np.asarray(panel.codes[::step, ::step]))


def about(name: str, said: Note | str) -> Note | str:
    """What is said, with the name of what it is about before it."""
    return replace(said, says=f"{name}: {said}") if isinstance(said, Note) else f"{name}: {said}"


def untied(photo: Photo, panel: Photo) -> list[Note]:
    """Where nothing shows the bare panel in the photo of the chips.

    Raises FileProblem where the exposures are known to differ.
    """
    if differ := _exposed_apart(photo, panel):
        what = f"it was exposed differently ({differ}), and no bare panel is named in the photo of the chips"
        raise FileProblem(where=panel.name, what=what, remedy=Remedy.BARE_PLACE_OR_LOCK)
    if photo.exposure and panel.exposure:
        return []
    return [Note(says="nothing shows that both photos were exposed alike.", remedy=Remedy.LEAVE_A_WINDOW_OPEN)]


def _exposed_apart(photo: Photo, panel: Photo) -> str:
    """How far the exposures differ; empty where they do not, or are not known."""
    ratio = photo.exposure / panel.exposure if photo.exposure and panel.exposure else 1.0
    return f"by a factor {numeral(max(ratio, 1 / ratio), 3)}" if abs(np.log(ratio)) > 0.02 else ""


def seen_from(sheet: FoundSheet) -> list[str]:
    """How the sheet was seen, where that costs accuracy."""
    told = []
    if sheet.marks < 4:
        told.append("one mark of the holder sheet is hidden; the windows were found by the other three")
    if sheet.slant < _ASLANT:
        looks = f"the camera looks about {sheet.aslant_degrees:.0f}° aslant"
        told.append(f"{looks}, so light takes a longer way through the chips; hold it straight above")
    return told


def check_windows(name: str, opened: Mapping[str, Patch | None], dark: Mapping[str, Patch | None]) -> None:
    """That the open windows of a sheet are bright and its blocked ones dark. Raises FileProblem."""
    light, shade = ({where: float(patch.mean.sum()) for where, patch in one.items() if patch} for one in (opened, dark))
    usual = float(np.median([*light.values()]))
    for where, level in light.items():
        if level < 0.5 * usual or usual <= 0:
            part = f"{100 * level / max(usual, 1e-9):.0f} %"
            what = f"the window of the holder sheet in {where}, should be open, but is {part} as bright as the others"
            raise FileProblem(where=name, what=what, remedy=Remedy.CUT_OPEN_WINDOWS)
    for where, level in shade.items():
        if level > DARK_MOST * usual:
            part = f"{100 * level / usual:.0f} %"
            what = f"the window of the holder sheet in {where}, should be blocked, but reads {part} of the open ones"
            raise FileProblem(where=name, what=what, remedy=Remedy.LEAVE_WINDOWS_UNCUT)


def levels(
    photo: Photo,
    panel: Photo | None,
    opened: Mapping[str, tuple[Patch, Patch | None]],
    dark: Mapping[str, tuple[Patch, Patch | None]],
) -> list[str]:
    """What is wrong with the bare panel and the black card, where they are seen."""
    wrong = []
    for where, (here, there) in opened.items():
        wrong += exposure(where, here)
        wrong += exposure(f"{where} in {panel.name}", there) if panel and there else []
    light = {where: float(here.mean.sum()) for where, (here, _) in opened.items()}
    if panel is None and opened:
        usual = float(np.median([*light.values()]))
        wrong += [
            f"{where}: is {100 * level / usual:.0f} % as bright as the other open places; name only places where the bare "
            "panel shows"
            for where, level in light.items()
            if level < 0.5 * usual
        ]
    brightest = max(light.values(), default=0.0)
    wrong += [
        f"{where}: reads {100 * float(here.mean.sum()) / brightest:.0f} % of the open panel, too bright for a dark reference; "
        "cover it with black card, darken the room"
        for where, (here, _) in dark.items()
        if brightest and float(here.mean.sum()) > DARK_MOST * brightest
    ]
    return wrong


def exposure(where: str, patch: Patch) -> list[str]:
    """What is wrong with the exposure of the bare panel in a place."""
    if patch.clipped.max() > CLIPPED_MOST:
        return [f"{where}: the bare panel is overexposed; {SHORTER}"]
    return too_short(where, float(patch.mean.max()))


def too_short(where: str, level: float) -> list[str]:
    """A panel that is hardly exposed. level: of its brightest channel, as a part of full light."""
    said = f"the bare panel reaches only {percent(level)} of full light; take the photo with a longer exposure"
    return [f"{where}: {said}"] if level < PANEL_LEAST else []


def unreadable(
    photo: Photo, name: str, patch: Patch, values: Array, cells: Array, has_dark: bool, notes: list[str]
) -> Note | str | None:
    """What is wrong with one place, or nothing; what is only worth a note is put among the notes."""
    if patch.clipped.max() > CLIPPED_MOST:
        return f"{name}: {_full(patch)} pixels are overexposed; {SHORTER}"
    if values.max() > (ABOVE_PANEL_RENDERED if photo.rendered else ABOVE_PANEL):
        return (
            f"{name}: reads {100 * float(values.max()):.0f} % of the bare panel; no chip is brighter, so check what the panel "
            "was read from"
        )
    darkest = DARKEST_RENDERED if photo.rendered else DARKEST_RAW
    if values.max() < darkest:
        return (
            f"{name}: is too dark to read, below {numeral(100 * darkest)} % in every channel; pour a thinner chip, or one with "
            "less pigment"
        )
    low = int(np.argmin(values))
    if values[low] < WITHOUT_DARK_LEAST and not has_dark:
        return Note(
            says=f"{name}: reads {100 * float(values[low]):.0f} % in {CHANNELS[low]}, and below "
            f"{100 * WITHOUT_DARK_LEAST:.0f} % glare must be taken off.",
            remedy=Remedy.BLACK_CARD_BESIDE,
        )
    # All channels together: one alone is noisy, and an edge or a shadow shows in the sum.
    ratio = cells.sum(axis=-1) / float(values.sum())
    noise = float(patch.spread.sum() / max(patch.mean.sum(), 1e-9)) / np.sqrt(
        patch.pixels / 9 / (_JPEG_BLOCK if photo.rendered else 1)
    )
    uneven = max(0.0, float(ratio.max() - ratio.min()) - 3 * noise - 3 * _GLARE_UNSURE / float(values.sum()))
    over_an_edge = "as over an edge; keep to the even middle of the chip"
    if uneven > _EDGE:
        return f"{name}: is {100 * uneven:.0f} % brighter on one side than on the other, {over_an_edge}"
    if patch.rim - 3 * noise > _RIM_MOST:
        return f"{name}: along one side it differs by {100 * patch.rim:.0f} % from what lies beside, {over_an_edge}"
    if patch.bright > _SPOTS_REFUSED:
        return (
            f"{name}: {100 * patch.bright:.0f} % of it is glare (bright spots); darken the room, and keep lamps and windows "
            "out of its faces"
        )
    if uneven > _GRADIENT:
        notes.append(
            f"its light falls off by {100 * uneven:.0f} % from one side to the other; a chip thicker on one side, a "
            "shadow, or a chip that is not mixed"
        )
    lowest = 0.0 if photo.curve is None else photo.curve.lowest
    if lowest > 0.0 and values[low] < lowest:
        notes.append(
            f"reads {100 * max(0.0, float(values[low])):.1f} % in {CHANNELS[low]}, and the tone curve was measured only down to "
            f"{100 * lowest:.1f} %; lay more sheets in the stack check, or pour a thinner chip"
        )
    for part, what in (
        (patch.bright, "bright spots (glare or scratches)"),
        (patch.dark, "dark spots (dust or bubbles)"),
    ):
        if part > _SPOTS_NOTED:
            notes.append(f"{100 * part:.0f} % of it is {what}, left out")
    return None


def reads_bare(name: str) -> str:
    """A named place where nothing lies."""
    return (
        f"{name}: reads as the bare panel does, and even an untinted chip takes 8 % of the light; check the place, and that "
        "no chip lies there in the photo of the panel"
    )


def _full(patch: Patch) -> str:
    channels = [channel for channel, part in zip(CHANNELS, patch.clipped, strict=True) if part > CLIPPED_MOST]
    return f"{100 * float(patch.clipped.max()):.0f} % of the {listed(channels)}"


def drift(ratios: Array, panel: Photo) -> list[str]:
    """What the open windows say of exposure and panel between the two photos.

    ratios: (N, 3), the chips' photo over the panel's. Raises FileProblem where they say that the photos are not of one view.
    """
    told = []
    scale = ratios.mean(axis=0)
    if np.any(np.abs(np.log(np.maximum(scale, 1e-9))) > _DRIFTED):
        low, high = 100 * (scale.min() - 1), 100 * (scale.max() - 1)
        told.append(
            f"exposure or panel changed between the two photos (by {low:+.0f} to {high:+.0f} %); this was taken off, "
            "but lock exposure and white balance"
        )
    worst = 100 * float((ratios.std(axis=0) / np.maximum(scale, 1e-9)).max())
    if worst > 100 * _MOVED:
        what = f"the open windows or places disagree by {worst:.0f} % between this photo and the one of the chips"
        raise FileProblem(where=panel.name, what=what, remedy=Remedy.OPEN_ONES_BARE)
    if worst > 100 * _UNSTEADY:
        told.append(
            f"the open windows disagree by {worst:.1f} % between the two photos: panel, camera or sheet moved; "
            "take both again without touching anything"
        )
    return told


def laid_through(off: float) -> str:
    """How well a smooth surface fits the panel around the chips; off: root mean square, relative."""
    return (
        "no second photo shows the bare panel; a smooth surface through what shows of it around the chips stands for it "
        f"(it fits within {100 * off:.1f} %)"
    )


def glare(share: Array) -> list[str]:
    """Glare that was taken off, where it is much."""
    most = float(share.max())
    if most < _GLARE_NOTED:
        return []
    return [
        f"glare was {100 * most:.0f} % of the panel's light; it was taken off, but dark chips suffer: darken the room, "
        "and clean the lens"
    ]
