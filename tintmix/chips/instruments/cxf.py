"""CxF3 (ISO 17972-1) through the library colour-cxf, after the text has been looked over: no document type, no
entities, not deep, not endless.
"""

from __future__ import annotations

import logging
import warnings
from dataclasses import replace
from functools import cache
from typing import Any
from xml.parsers import expat

from tintmix.chips.instruments.errors import broken, no_text, not_light, too_many_samples
from tintmix.chips.instruments.meaning import settled
from tintmix.chips.instruments.ordinates import no_reading_in
from tintmix.chips.instruments.sample import Quantity, Sample, SampleFile, spectrum
from tintmix.chips.instruments.words import quantity_in
from tintmix.errors import FileProblem, LibraryMissing, Remedy
from tintmix.files import caps
from tintmix.files.words import plain

_FORM = "a CxF3 file"
"""Half of what other files may have: the library builds a tree, which takes several times that in memory."""
_DEPTH = 40
"""Well below the nesting at which Python's own stack ends, and well above what a CxF3 file needs."""
_ELEMENTS = 200_000
"""A hundred for each of as many samples as a file may hold."""
_COLOURS = {
    "ColorCielab": ("Lab", ("l", "a", "b")),
    "ColorCiexyz": ("XYZ", ("x", "y", "z")),
    "ColorCiexyY": ("xyY", ("x", "y", "colorexchangeformat_com_cx_f3_core_y")),
    "ColorCielch": ("LCh", ("l", "c", "h")),
}
_SPHERES = {"Specular_Included": "gloss included", "Specular_Excluded": "d/8", "Diffuse": "total"}
_ANGLES = {(45.0, 0.0): "45/0", (0.0, 45.0): "45/0", (0.0, 0.0): "regular"}
"""Degrees of lighting and of seeing."""


def parse_cxf(data: bytes, where: str) -> SampleFile:
    """The samples of a CxF3 document. Raises FileProblem, LibraryMissing."""
    if len(data) > caps.XML:
        raise too_many_samples(where, "bytes of XML", caps.XML)
    lines = _look_over(data, where)
    document = _document(data, where)
    objects = _part(document, "resources", "object_collection", "object_value") or []
    listed = _part(document, "resources", "color_specification_collection", "color_specification") or []
    specifications = {specification.id: specification for specification in listed}
    samples: list[Sample] = []
    odd: list[FileProblem] = []
    for number, item in enumerate(objects, 1):
        name = plain(item.name or "", 80) or plain(item.id or "", 80) or f"object {number}"
        other = plain(item.id or "", 80)
        taken: set[str] = set()
        line = lines[number - 1] if len(lines) == len(objects) else 0
        for value in _part(item, "color_values", "choice") or []:
            try:
                found = _sample(value, specifications, name, other if other != name else "", where, line)
            except FileProblem as problem:
                # One odd object is no reason to read none.
                odd.append(problem)
                continue
            # One colour and one spectrum an object under each condition: the first, since the others are the same reading.
            alike = (
                ""
                if found is None
                else f"{found.kind} {found.quantity} {found.geometry} {found.light} {found.observer}"
            )
            if found is not None and alike not in taken:
                taken.add(alike)
                samples.append(replace(found, line=line))
    if odd and not samples:
        raise odd[0]
    notes = [
        f"{problem.where}: passed over, since {problem.what.partition('(')[2].rstrip(')') or problem.what}"
        for problem in odd[:8]
    ]
    return SampleFile(where, "CxF3", settled(samples, where), tuple(notes))


def _look_over(data: bytes, where: str) -> list[int]:
    """The lines in which objects begin. What no CxF3 file holds is refused before a parser acts on it."""
    depth = elements = 0
    root = ""
    lines: list[int] = []

    def begin(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth, elements, root
        depth, elements = depth + 1, elements + 1
        local = name.rpartition(":")[2]
        root = root or local
        if depth > _DEPTH:
            raise broken(where, _FORM, "its elements are nested too deeply")
        if elements > _ELEMENTS:
            raise too_many_samples(where, "elements", _ELEMENTS)
        if local == "Object":
            lines.append(parser.CurrentLineNumber)

    def end(name: str) -> None:
        nonlocal depth
        depth -= 1

    def doctype(*_: object) -> None:
        raise broken(where, _FORM, "it declares a document type or entities, which no CxF3 file needs")

    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = begin, end
    parser.StartDoctypeDeclHandler = doctype
    parser.EntityDeclHandler = doctype
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        if b"<html" in data[:1000].lower():
            raise no_text(where, "a web page") from None
        raise broken(where, _FORM, f"no well-formed XML: {plain(str(error), 100)}") from None
    except (ValueError, LookupError):
        raise broken(where, _FORM, "its text encoding is not known") from None
    if root.lower() == "html":
        raise no_text(where, "a web page")
    if root != "CxF":
        raise broken(where, _FORM, f"its first element is {plain(root, 40)}, not CxF")
    return lines


def _document(data: bytes, where: str) -> Any:
    try:
        parser, root = _parser()
    except ImportError:
        package = "colour-cxf"
        raise LibraryMissing(
            where=where,
            what=f"{_FORM} is read through the package {package}, which is not installed here",
            remedy=Remedy.INSTALL_OR_EXPORT_CSV,
            package=package,
        ) from None
    try:
        with warnings.catch_warnings():
            # What it cannot turn into a number stays text, so that one odd object is passed over and not the whole file.
            warnings.simplefilter("ignore")
            return parser.from_bytes(data, root)
    except RecursionError:
        raise broken(where, _FORM, "its elements are nested too deeply") from None
    # The library lets many kinds of its own errors and of Python's through; the XML is known to be sound by now.
    except Exception as error:
        raise broken(where, _FORM, plain(str(error), 160) or type(error).__name__) from None


@cache
def _parser() -> tuple[Any, Any]:
    # Half a second, and the package may not be there.
    from colour_cxf.cxf3 import CxF
    from xsdata.formats.dataclass.context import XmlContext
    from xsdata.formats.dataclass.parsers import XmlParser
    from xsdata.formats.dataclass.parsers.config import ParserConfig
    from xsdata.formats.dataclass.parsers.handlers import XmlEventHandler

    # What it cannot place it says on standard error; a maker is told what matters by us.
    logging.getLogger("xsdata").setLevel(logging.CRITICAL)
    config = ParserConfig(
        fail_on_unknown_properties=False, fail_on_unknown_attributes=False, fail_on_converter_warnings=False,
        process_xinclude=False,
    )  # fmt: skip
    return XmlParser(context=XmlContext(), config=config, handler=XmlEventHandler), CxF


def _sample(value: Any, specifications: dict[Any, Any], name: str, other: str, where: str, line: int) -> Sample | None:
    kind = type(value).__name__
    specification = specifications.get(getattr(value, "color_specification", None))
    measured = _part(specification, "measurement_spec")
    said = _said(specification, measured)
    source = f"{where}, object {name}"
    sent_out = no_reading_in(str(_part(measured, "measurement_type", "value", "value") or kind), False)
    if sent_out is not None:
        raise not_light(where, line, sent_out)
    if kind in ("ReflectanceSpectrum", "TransmittanceSpectrum", "CustomSpectrum"):
        by_kind: dict[str, Quantity] = {"R": "reflectance", "T": "transmittance"}
        quantity = by_kind.get(kind[0]) or quantity_in(value.name or "") or said["quantity"]
        told = {"quantity": "format"} if quantity else {}
        if kind == "CustomSpectrum":
            points = [
                (point.wl, point.value)
                for point in value.spectral_point
                if _is_number(point.wl) and _is_number(point.value)
            ]
            return spectrum(_FORM, source, name, *zip(*points, strict=True), quantity=quantity, geometry=said["geometry"],
                            read_from=told, other_name=other) if len(points) > 1 else None  # fmt: skip
        start = _part(measured, "wavelength_range", "start_wl") if value.start_wl is None else value.start_wl
        increment = _part(measured, "wavelength_range", "increment")
        if not _is_number(start) or not _is_number(increment) or not 0 < increment <= 100:
            raise broken(source, _FORM, "its spectrum has no wavelengths: no start or no increment is said")
        if not all(map(_is_number, value.value)):
            raise broken(source, _FORM, "it holds values that are no numbers")
        nm = [start + increment * i for i in range(len(value.value))]
        return spectrum(_FORM, source, name, nm, value.value, quantity=quantity, geometry=said["geometry"], read_from=told,
                        other_name=other)  # fmt: skip
    if kind not in _COLOURS:
        return None
    space, names = _COLOURS[kind]
    read = tuple(getattr(value, part) for part in names)
    if not all(map(_is_number, read)):
        raise broken(source, _FORM, "a colour lacks one of its three numbers")
    told = {key: "format" for key, one in said.items() if one is not None}
    return Sample(name, "colour", read, space, source=source, other_name=other, read_from=told, **said)  # type: ignore[arg-type]


def _said(specification: Any, measured: Any) -> dict[str, Any]:
    """Light, observer, quantity and geometry, as far as the colour specification tells them."""
    under = _part(specification, "tristimulus_spec", "illuminant_or_custom_illuminant", "value", "value")
    light = under if isinstance(under, str) and under != "Custom" else None
    if light and light[0] == "F" and light[1:].isdigit():
        light = f"FL{light[1:]}"
    seen = _part(specification, "tristimulus_spec", "observer", "value", "value")
    word = str(_part(measured, "measurement_type", "value", "value") or "")
    quantity = next((one for one in ("transmittance", "reflectance") if one.capitalize() in word), None)
    lit = _part(measured, "geometry_choice", "choice")
    angles = (_part(lit, "illumination_angle"), _part(lit, "measurement_angle"))
    geometry = (
        "total" if "TotalTransmittance" in word else _SPHERES.get(str(_part(lit, "value"))) or _ANGLES.get(angles)
    )
    if quantity == "transmittance" and geometry in ("45/0", "d/8", "gloss included"):
        geometry = None
    observer = {"2_Degree": 2, "10_Degree": 10}.get(str(seen))
    return {"light": light, "observer": observer, "quantity": quantity, "geometry": geometry}


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and abs(value) < 1e9


def _part(owner: Any, *path: str) -> Any:
    """What stands at the end of a path of parts that may be missing; then None."""
    for name in path:
        owner = getattr(owner, name, None)
    return owner
