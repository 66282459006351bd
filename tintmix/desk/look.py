"""The colour of a dose at each thickness, and the wedge."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tintmix.desk.seen import GROUNDS, Colour, insert_ground, light_of
from tintmix.files.plain import finite
from tintmix.files.write import Outputs, Where
from tintmix.optics.colour import LIFT_BELOW, lifted
from tintmix.optics.detector import Light
from tintmix.optics.section import PANEL, Ground
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.model import Look, TintModel
from tintmix.pigments.model_file import load_model


@dataclass(frozen=True, slots=True)
class Looked:
    """What a dose looks like. body: the same as JSON has it. lifts: for each section None, or a brighter colour and by how
    many stops.
    """

    look: Look
    body: dict[str, Any]
    lifts: tuple[tuple[str, int] | None, ...]


def look_at(
    model_path: Where,
    doses_phr: Mapping[str, float],
    thicknesses_mm: Sequence[float],
    light: str = "D65",
    observer: int = 10,
    behind: str = "panel",
    insert: str | Colour | None = None,
    insert_width_mm: float | None = None,
    picture: Where | None = None,
) -> Looked:
    """Load a model and look. Without doses: the untinted resin, or, of one cup, the cup as poured. `picture` is of
    the wedge.

    Raises what is wrong with the model, the doses, the thicknesses, the light, the insert, or the picture's place.
    """
    reading = [model_path] + [
        name for name in (light, insert) if isinstance(name, str) and name.lower().endswith(".csv")
    ]
    with Outputs(reading) as outputs:
        waiting = None if picture is None else outputs.picture(picture)
        model = load_model(model_path)
        seen_under = light_of(light)
        ground = GROUNDS[behind] if insert is None else insert_ground(insert, insert_width_mm, seen_under, observer)
        done = looked(model, doses_phr, thicknesses_mm, seen_under, observer, ground)
        if waiting is not None:
            # Here, since the room that draws takes 0.05 s, a third of a look.
            from tintmix.desk import draw

            draw.wedge(model, done.look, ground, waiting, seen_under)
    return done


def looked(
    model: TintModel,
    doses_phr: Mapping[str, float],
    thicknesses_mm: Sequence[float],
    light: str | Light = "D65",
    observer: int = 10,
    ground: Ground = PANEL,
) -> Looked:
    """The same with a model at hand."""
    doses = dict(doses_phr) or ({"mix": 1.0} if model.is_one_cup else {})
    look = model.look(doses, list(thicknesses_mm), light, observer, ground)
    return Looked(look, look_body(look, doses), lifts_of(look))


def look_body(look: Look, doses_phr: Mapping[str, float]) -> dict[str, Any]:
    """A look as JSON has it."""
    shown = look.screen
    body: dict[str, Any] = finite(
        {
            "light": look.light,
            "observer": look.observer,
            "delta_formula": "CIEDE2000",
            "white_xyz": look.white_xyz,
            "doses_phr": dict(doses_phr),
            "sections": [
                {
                    "thickness_mm": section.thickness_mm,
                    "behind": section.ground.name,
                    "lab": look.lab[s],
                    "xyz": look.xyz[s],
                    "srgb": shown.hex[s],
                    "inside_srgb": bool(shown.inside_srgb[s]),
                    "luminous_transmittance": look.luminous_transmittance[s],
                    "lab_covariance": look.lab_covariance[s],
                    "delta_e00_95": look.delta_e00_95[s],
                    "haze_percent": None if look.haze is None else 100 * look.haze[s],
                    "extrapolated": {"dose": look.dose_extrapolated, "thickness": look.thickness_extrapolated[s]},
                }
                for s, section in enumerate(look.sections)
            ],
            "joint_lab_covariance": look.joint_lab_covariance,
            "wavelengths_nm": GRID_NM,
            "transmittance": look.transmittance,
            "warnings": look.warnings,
        }
    )
    return body


def lifts_of(look: Look) -> tuple[tuple[str, int] | None, ...]:
    """For sections darker than L* 20: their colour under an exposure of so many whole stops more. Others, and those that
    no stop more would show better: None."""
    out: list[tuple[str, int] | None] = []
    for s in range(len(look.sections)):
        if look.lab[s, 0] >= LIFT_BELOW:
            out.append(None)
            continue
        shown, stops = lifted(look.xyz[s], look.white_xyz)
        # The mean of the draws' L* may be below 20, and that of their mean light just above.
        out.append((shown.hex[0], stops) if stops else None)
    return tuple(out)
