"""CxF3 (ISO 17972-1) through the library colour-cxf, after the text has been looked over: no document type, no
entities, not deep, not endless.
"""

from __future__ import annotations

import logging
import warnings
from functools import cache
from typing import Any
from xml.parsers import expat

from tintmix.chips.instruments.errors import broken, too_many_samples
from tintmix.chips.instruments.sample import Geometry, Quantity, Sample, SampleFile, bounded, spectrum
from tintmix.errors import LibraryMissing, Remedy
from tintmix.files.words import plain

_FORM = "a CxF3 file"
_BYTES = 10_000_000
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


def parse_cxf(data: bytes, where: str) -> SampleFile:
    """The samples of a CxF3 document. Raises FileProblem, LibraryMissing."""
    if len(data) > _BYTES:
        raise too_many_samples(where, "bytes of XML", _BYTES)
    _look_over(data, where)
    document = _document(data, where)
    resources = document.resources
    objects = (
        [] if resources is None or resources.object_collection is None else resources.object_collection.object_value
    )
    listed = None if resources is None else resources.color_specification_collection
    specifications = {s.id: s for s in ([] if listed is None else listed.color_specification)}
    samples: list[Sample] = []
    for number, item in enumerate(objects, 1):
        name = plain(item.name or "", 80) or plain(item.id or "", 80) or f"object {number}"
        other = plain(item.id or "", 80)
        values = [] if item.color_values is None else item.color_values.choice
        taken: set[str] = set()
        for value in values:
            found = _sample(value, specifications, name, other if other != name else "", where)
            # One colour and one spectrum an object: the first, since the others are the same reading in other words.
            if found is not None and found.kind not in taken:
                taken.add(found.kind)
                samples.append(found)
    bounded(samples, where)
    return SampleFile(where, "CxF3", tuple(samples))


def _look_over(data: bytes, where: str) -> None:
    """What no CxF3 file holds is refused before a parser acts on it."""
    depth = elements = 0

    def begin(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth, elements
        depth, elements = depth + 1, elements + 1
        if depth > _DEPTH:
            raise broken(where, _FORM, "its elements are nested too deeply")
        if elements > _ELEMENTS:
            raise too_many_samples(where, "elements", _ELEMENTS)

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
        raise broken(where, _FORM, f"no well-formed XML: {plain(str(error), 100)}") from None
    except (ValueError, LookupError):
        raise broken(where, _FORM, "its text encoding is not known") from None


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
            warnings.simplefilter("error")
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
        fail_on_unknown_properties=False, fail_on_unknown_attributes=False, fail_on_converter_warnings=True,
        process_xinclude=False,
    )  # fmt: skip
    return XmlParser(context=XmlContext(), config=config, handler=XmlEventHandler), CxF


def _sample(value: Any, specifications: dict[Any, Any], name: str, other: str, where: str) -> Sample | None:
    kind = type(value).__name__
    specification = specifications.get(getattr(value, "color_specification", None))
    measured = None if specification is None else specification.measurement_spec
    said = _said(specification, measured)
    source = f"{where}, object {name}"
    if kind in ("ReflectanceSpectrum", "TransmittanceSpectrum"):
        quantity: Quantity = "reflectance" if kind == "ReflectanceSpectrum" else "transmittance"
        step = None if measured is None else measured.wavelength_range
        start = value.start_wl if value.start_wl is not None else None if step is None else step.start_wl
        if start is None or step is None or not step.increment or not 0 < step.increment <= 100:
            raise broken(source, _FORM, "its spectrum has no wavelengths: no start or no increment is said")
        nm = [start + step.increment * i for i in range(len(value.value))]
        unit = "percent" if value.value and max(value.value) > 3.0 else "fraction"
        found = spectrum(name, nm, value.value, quantity=quantity, unit=unit, geometry=said["geometry"], source=source,
                         other_name=other)  # fmt: skip
        if isinstance(found, str):
            raise broken(source, _FORM, found)
        return found
    if kind not in _COLOURS:
        return None
    space, names = _COLOURS[kind]
    read = tuple(getattr(value, part) for part in names)
    if any(not isinstance(v, float) or not abs(v) < 1e9 for v in read):
        raise broken(source, _FORM, "a colour lacks one of its three numbers")
    return Sample(name, "colour", read, space, source=source, other_name=other, **said)  # type: ignore[arg-type]


def _said(specification: Any, measured: Any) -> dict[str, Any]:
    """Light, observer, quantity and geometry, as far as the colour specification tells them."""
    light = observer = None
    quantity: Quantity | None = None
    tristimulus = None if specification is None else specification.tristimulus_spec
    if tristimulus is not None:
        under = tristimulus.illuminant_or_custom_illuminant
        word = getattr(getattr(under, "value", None), "value", None)
        if isinstance(word, str) and word != "Custom":
            light = f"FL{word[1:]}" if word[:1] == "F" and word[1:].isdigit() else word
        seen = getattr(getattr(tristimulus.observer, "value", None), "value", None)
        observer = {"2_Degree": 2, "10_Degree": 10}.get(str(seen))
    word = "" if measured is None else str(getattr(getattr(measured.measurement_type, "value", None), "value", ""))
    if "Transmittance" in word:
        quantity = "transmittance"
    elif "Reflectance" in word:
        quantity = "reflectance"
    geometry = _geometry(None if measured is None else measured.geometry_choice)
    if "TotalTransmittance" in word:
        geometry = "total"
    if quantity == "transmittance" and geometry in ("45/0", "d/8", "gloss included"):
        geometry = None
    return {"light": light, "observer": observer, "quantity": quantity, "geometry": geometry}


def _geometry(choice: Any) -> Geometry | None:
    value = getattr(choice, "choice", None)
    word = getattr(value, "value", "")
    spheres: dict[str, Geometry] = {
        "Specular_Included": "gloss included",
        "Specular_Excluded": "d/8",
        "Diffuse": "total",
    }
    if isinstance(word, str) and word in spheres:
        return spheres[word]
    angles = (getattr(value, "illumination_angle", None), getattr(value, "measurement_angle", None))
    if angles in ((45.0, 0.0), (0.0, 45.0)):
        return "45/0"
    return "regular" if angles == (0.0, 0.0) else None
