"""The colour of a dose at each thickness, and the wedge."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tintmix.desk.seen import GROUNDS, Colour, colour_of, insert_ground, light_of
from tintmix.errors import Note, NotThere, ValueProblem
from tintmix.files.plain import finite
from tintmix.files.write import Outputs, Where
from tintmix.numerals import listed
from tintmix.optics.colour import LIFT_BELOW, lifted, screen, xyz_of_lab
from tintmix.optics.detector import Light
from tintmix.optics.section import PANEL, Ground, Section, seen_section
from tintmix.optics.spectrum import GRID_NM, Array
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
    at: Sequence[float | str],
    light: str = "D65",
    observer: int = 10,
    behind: str = "panel",
    insert: str | Colour | None = None,
    insert_width_mm: float | None = None,
    picture: Where | None = None,
    on: Where | None = None,
    insert_should_look: str | Colour | None = None,
    replace_old: bool = False,
) -> Looked:
    """Load a model and look. Without doses: the untinted resin, or, of one cup, the cup as poured. at: thicknesses in mm, and
    names of places of the shape whose file is `on`; of a shape, without any, all its places. `picture` is of the wedge,
    or of the casting.
    insert_should_look: told is too which paint an insert needs to look so.

    Raises what is wrong with the model, the doses, the places, the light, the insert, the shape, or the picture's place.
    """
    reading = [model_path, *([] if on is None else [on])] + [
        name for name in (light, insert) if isinstance(name, str) and name.lower().endswith(".csv")
    ]
    with Outputs(reading, replace_old) as outputs:
        waiting = None if picture is None else outputs.picture(picture)
        model = load_model(model_path)
        seen_under = light_of(light)
        ground = GROUNDS[behind] if insert is None else insert_ground(insert, insert_width_mm, seen_under, observer)
        painted = None if insert is None else ground.reflectance
        places, notes = _places(on, at, painted, seen_under, observer, insert_should_look is not None)
        done = looked(model, doses_phr, places, seen_under, observer, ground, notes)
        if insert_should_look is not None:
            done = with_paint(model, done, insert_should_look, seen_under, insert_width_mm)
        if waiting is not None:
            # Here, since the room that draws takes 0.05 s, a third of a look.
            from tintmix.desk import draw

            if on is None:
                draw.wedge(model, done.look, ground, waiting, seen_under)
            else:
                draw.casting(model, done.look, Path(on), painted, waiting, seen_under)
    return done


def looked(
    model: TintModel,
    doses_phr: Mapping[str, float],
    at: Sequence[float | Section],
    light: str | Light = "D65",
    observer: int = 10,
    ground: Ground = PANEL,
    notes: Sequence[Note] = (),
) -> Looked:
    """The same with a model at hand. at: thicknesses in mm, or Sections."""
    doses = dict(doses_phr) or ({"mix": 1.0} if model.is_one_cup else {})
    look = model.look(doses, list(at), light, observer, ground)
    return Looked(look, look_body(look, doses, notes), lifts_of(look))


def with_paint(
    model: TintModel,
    done: Looked,
    should_look: str | Colour,
    light: str | Light = "D65",
    insert_width_mm: float | None = None,
) -> Looked:
    """A look with the paint that an insert needs at each section. Raises ValueProblem."""
    from tintmix.recipes.insert_paint import paint_for  # here: most ask for none

    look = done.look
    wanted = colour_of(should_look, light, look.observer)
    paints = [
        paint_for(model, look.doses_phr, section, wanted, light, look.observer, insert_width_mm)
        for section in look.sections
    ]
    sections = [one | {"insert_paint": finite(paint)} for one, paint in zip(done.body["sections"], paints, strict=True)]
    shown = screen(xyz_of_lab(wanted, look.white_xyz), look.white_xyz).hex[0]
    asked = {"lab": wanted.tolist(), "srgb": shown}
    return replace(done, body=done.body | {"sections": sections, "insert_should_look": asked})


def _places(
    on: Where | None,
    at: Sequence[float | str],
    painted: float | Sequence[float] | Array | None,
    light: str | Light,
    observer: int,
    paint_is_asked: bool,
) -> tuple[list[float | Section], list[Note]]:
    """Thicknesses as they are, and places of the shape by their names; and what has changed since it was traced."""
    if on is None:
        if named := [one for one in at if isinstance(one, str)]:
            raise NotThere(where=named[0], what="it is a place of a shape, and no shape is named")
        return [one for one in at if not isinstance(one, str)], []
    # Here, since most looks are at thicknesses.
    from tintmix.recipes.casting import changed, place_on
    from tintmix.recipes.errors import insert_unpainted
    from tintmix.recipes.insert_colour import reflectance_of
    from tintmix.shape.shape_file import read_shape

    shape = read_shape(on)
    places: list[float | Section] = []
    every = [place for place in shape.places if any(map(any, place.weights[1:]))] if paint_is_asked else []
    asked = list(at) or [place.name for place in every or shape.places]
    if not asked:
        raise ValueProblem(where=on, what="no place was named, and it has none of its own")
    cast = {name: place_on(shape, name, Path(on).name) for name in asked if isinstance(name, str)}
    if painted is not None and cast and not any(place.seen.paths.has_insert for place in cast.values()):
        raise ValueProblem(where=on, what=f"no insert is seen from {listed(cast)}, so that none can have a colour")
    for one in asked:
        if not isinstance(one, str):
            places.append(one)
            continue
        seen, own, colour = cast[one].seen, cast[one].insert, painted
        if seen.paths.has_insert and colour is None:
            if own is None and not paint_is_asked:
                raise insert_unpainted(f"place {one!r}", Path(on).name)
            colour = None if own is None else reflectance_of(own, light, observer)
        places.append(seen_section(seen.place, seen, colour))
    return places, changed(shape)


def place_keys(section: Section) -> dict[str, Any]:
    """How JSON tells where a section is: its thickness and ground, or how it is seen."""
    if section.seen is None:
        return {"thickness_mm": section.thickness_mm, "behind": section.ground.name}
    seen = section.seen
    return {
        "name": section.name,
        "thickness_mm": None,
        "straight_mm": seen.straight_mm,
        "path_mm": seen.path_mm,
        "behind": None,
    }


def look_body(look: Look, doses_phr: Mapping[str, float], notes: Sequence[Note] = ()) -> dict[str, Any]:
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
                    **place_keys(section),
                    "lab": look.lab[s],
                    "xyz": look.xyz[s],
                    "srgb": shown.hex[s],
                    "inside_srgb": bool(shown.inside_srgb[s]),
                    "luminous_transmittance": look.luminous_transmittance[s],
                    **({} if section.seen is None else {"of_clear": look.of_clear[s]}),
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
            "warnings": [*notes, *look.warnings],
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
