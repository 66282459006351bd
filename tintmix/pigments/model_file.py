"""A TintModel as a JSON file, and back. Loading needs numpy alone.

Readable where a person may look (mean curves, doses, lots), compact where nobody will: the draws are kept as 32-bit
floats of log absorptivity in base64. The model is rounded to that precision when it is made, so that a saved model and
the one in memory predict the same to the last digit.
"""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from tintmix.errors import FileProblem, Remedy
from tintmix.files import caps
from tintmix.files.canonical import json_text
from tintmix.files.errors import FormatMissing
from tintmix.files.made import told_as
from tintmix.files.plain import finite
from tintmix.files.stamp import made_at, made_by
from tintmix.files.text import check_values, load_text
from tintmix.files.upgrades import Format
from tintmix.files.words import plain
from tintmix.files.write import write_file
from tintmix.optics.light import ThickBase
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.model import CameraLatents, HazeLaw, TintModel
from tintmix.pigments.model_checks import (
    BENDS,
    INDEX,
    LOGS,
    MAX_PHR,
    PER_MM,
    SCATTER,
    SMALL,
    VOLUME,
    WEIGHTS,
    check_report,
    checked_names,
    within,
)
from tintmix.quantities import CASTING_MM, DOSE_PHR, SHARE
from tintmix.resin import resin_from_table, resin_to_table

MODEL_FORMAT = Format(what="model")
IS = "tintmix model"


def save_model(model: TintModel, path: str | Path, replace: bool = False) -> None:
    """Write the model, whole or not at all. Raises CannotWrite."""
    table = {
        "format": MODEL_FORMAT.newest,
        "is": IS,
        "made_by": made_by(),
        "made_at": made_at(),
        **model_to_table(model),
    }
    write_file(path, json_text(table), MODEL_FORMAT, replace)


def load_model(path: str | Path) -> TintModel:
    """Read a model. Raises FileProblem, and what `load_text` raises."""
    try:
        text = load_text(path, caps.MODEL, "a model")
        check_values(text, caps.MODEL_VALUES, path)
        table = json.loads(text)
    except FileProblem as problem:
        raise _unreadable(path, problem.what) from None
    except (ValueError, RecursionError):
        raise _unreadable(path, "not JSON, or cut off") from None
    return model_from_table(table, path)


def model_to_table(model: TintModel) -> dict[str, Any]:
    """The model as plain values for JSON."""
    thick = model.thick
    return {
        "pigments": [
            {
                "name": name,
                "lot": model.lots.get(name, ""),
                "highest_phr": float(model.highest_phr[p]),
                "max_phr": finite(float(model.max_phr[p])),
                "volume_per_phr": float(model.volume_per_phr[p]),
                "departure_per_phr": float(model.departure_per_phr[p]),
                "absorptivity_per_mm_phr": model.absorptivity[p].tolist(),
            }
            for p, name in enumerate(model.pigments)
        ],
        "wavelengths_nm": model.wavelengths_nm.tolist(),
        "base_per_mm": model.base_per_mm.tolist(),
        "refractive_index": model.refractive_index,
        "thickest_mm": model.thickest_mm,
        "haze": finite(model.haze),
        "resin": None if model.resin is None else resin_to_table(model.resin),
        "chips": model.chips_digest,
        "camera_weights": finite(model.camera_weights),
        "camera_tone": finite(model.camera_tone),
        "camera_latents": None if model.camera_latents is None else _of_camera(model.camera_latents),
        "thick": None
        if thick is None
        else {
            "from_mm": thick.from_mm,
            "to_mm": thick.to_mm,
            "log_ratio": _pack(thick.log_ratio),
            "power": _pack(np.asarray(thick.power)),
        },
        "draws": {
            "count": len(model.draws_base),
            "log_base": _pack(np.log(model.draws_base)),
            "log_absorptivity": _pack(np.log(model.draws_absorptivity)),
            "departure_per_phr": _pack(model.draws_departure),
            "scatter": None if model.draws_scatter is None else _pack(model.draws_scatter),
        },
        "report": dict(model.report),
    }


def model_from_table(table: Any, where: object) -> TintModel:
    """The model from plain values. Raises FileProblem."""
    if not isinstance(table, Mapping) or table.get("is") != IS:
        raise _unreadable(where, told_as(table) or "it does not say that it is one")
    try:
        return _from_table(MODEL_FORMAT.up_to_date(table, where), where)
    except FormatMissing:
        raise _unreadable(where, "it names no format") from None
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError, binascii.Error) as error:
        raise _unreadable(where, f"a part is missing or wrong: {plain(str(error), 100)}") from None


def _unreadable(where: object, reason: str) -> FileProblem:
    return FileProblem(where=where, what=f"not a tintmix model that can be read ({reason})", remedy=Remedy.FIT_AGAIN)


def rounded(draws: Array) -> Array:
    """Positive draws as the file will keep them."""
    return np.exp(np.log(draws).astype("<f4").astype(np.float64))


def _from_table(table: Mapping[str, Any], where: object) -> TintModel:
    pigments = table["pigments"]
    count, bands, draws = len(pigments), len(GRID_NM), int(table["draws"]["count"])
    if not np.array_equal(table["wavelengths_nm"], GRID_NM):
        raise ValueError("its wavelengths are not 380 to 780 nm by 10")
    if not (0 < draws <= 100_000 and count):
        raise ValueError("no draws or no pigments")
    packed = table["draws"]
    check_report(table["report"], where)
    base = np.exp(within(_unpack(packed["log_base"], (draws, bands)), LOGS))
    absorptivity = np.exp(within(_unpack(packed["log_absorptivity"], (draws, count, bands)), LOGS))
    departure = within(_unpack(packed["departure_per_phr"], (draws, count)), BENDS)
    # Models of before the base could change with thickness say nothing of it.
    law, thick = table["haze"], table.get("thick")
    return TintModel(
        pigments=checked_names([p["name"] for p in pigments]),
        wavelengths_nm=GRID_NM,
        base_per_mm=within(table["base_per_mm"], PER_MM).reshape(bands),
        absorptivity=within([p["absorptivity_per_mm_phr"] for p in pigments], PER_MM).reshape(count, bands),
        draws_base=base,
        draws_absorptivity=absorptivity,
        draws_departure=departure,
        departure_per_phr=within([p["departure_per_phr"] for p in pigments], BENDS),
        volume_per_phr=within([p["volume_per_phr"] for p in pigments], VOLUME),
        refractive_index=float(within(table["refractive_index"], INDEX)),
        highest_phr=within([p["highest_phr"] for p in pigments], DOSE_PHR),
        thickest_mm=float(within(table["thickest_mm"], CASTING_MM)),
        max_phr=np.array([np.inf if p["max_phr"] is None else float(within(p["max_phr"], MAX_PHR)) for p in pigments]),
        haze=None
        if law is None
        else HazeLaw(
            float(within(law["surface"], SHARE)),
            float(within(law["base_per_mm"], SCATTER)),
            within(law["per_mm_phr"], SCATTER).reshape(count),
        ),
        draws_scatter=None
        if packed.get("scatter") is None
        else within(_unpack(packed["scatter"], (draws, 1 + count)), SCATTER),
        resin=None if table["resin"] is None else resin_from_table(table["resin"], str(where)),
        lots={str(p["name"]): str(p["lot"]) for p in pigments if p["lot"]},
        chips_digest=str(table["chips"]),
        camera_weights=None
        if table["camera_weights"] is None
        else within(table["camera_weights"], WEIGHTS).reshape(bands, 3),
        camera_tone=None if table.get("camera_tone") is None else within(table["camera_tone"], SMALL).reshape(2),
        camera_latents=None if (camera := table.get("camera_latents")) is None else _camera_of(camera, draws),
        thick=None
        if thick is None
        else ThickBase(
            log_ratio=within(_unpack(thick["log_ratio"], (draws, bands)), LOGS),
            from_mm=float(within(thick["from_mm"], CASTING_MM)),
            to_mm=float(within(thick["to_mm"], CASTING_MM)),
            power=within(_unpack(thick["power"], (draws,)), SMALL),
        ),
        report=dict(table["report"]),
    )


def _of_camera(latents: CameraLatents) -> dict[str, Any]:
    told = {"camera": latents.camera, "light": latents.light, "count": latents.draws.shape[1]}
    return told | {"draws": _pack(latents.draws)}


def _camera_of(table: Mapping[str, Any], draws: int) -> CameraLatents:
    each = within(_unpack(table["draws"], (draws, int(table["count"]))), SMALL)
    return CameraLatents(camera=str(table["camera"]), light=str(table["light"]), draws=each)


def _pack(values: Array) -> str:
    return base64.b64encode(np.ascontiguousarray(values, dtype="<f4").tobytes()).decode("ascii")


def _unpack(text: object, shape: tuple[int, ...]) -> Array:
    if not isinstance(text, str):
        raise TypeError("its draws are no packed text")
    values = np.frombuffer(base64.b64decode(text, validate=True), dtype="<f4").astype(np.float64)
    return values.reshape(shape)
