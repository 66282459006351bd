"""The model as a value: prediction, its bands, and the file it is kept in."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from tests.reference import slow
from tests.simulation import make_set, to_chipset
from tintmix.errors import FileProblem, NotThere, ValueProblem
from tintmix.pigments.fit import fit
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model, save_model


@cache
def _model() -> TintModel:
    return fit(to_chipset(make_set(9, "colour", pairs=3)))


def test_a_saved_model_predicts_to_the_last_digit(tmp_path: Path) -> None:
    model = _model()
    save_model(model, tmp_path / "m.json")
    again = load_model(tmp_path / "m.json")
    assert again.digest() == model.digest()
    asked = {"p1": 0.03, "p3": 0.1}
    np.testing.assert_array_equal(again.look(asked, [8, 60]).lab, model.look(asked, [8, 60]).lab)
    np.testing.assert_array_equal(again.predict_lab([0.1, 0, 0.05], 7.0), model.predict_lab([0.1, 0, 0.05], 7.0))


def test_the_digest_is_the_same_where_exponentials_differ_in_their_last_bit() -> None:
    model = _model()
    elsewhere = replace(model, draws_base=np.nextafter(model.draws_base, 1.0))
    assert elsewhere.digest() == model.digest()
    assert replace(model, draws_base=model.draws_base * 1.0001).digest() != model.digest()


def test_loading_a_model_needs_neither_scipy_nor_colour_science(tmp_path: Path) -> None:
    save_model(_model(), tmp_path / "m.json")
    program = (
        "import sys; from tintmix.pigments.model_file import load_model; m = load_model(sys.argv[1]);"
        "m.look({'p1': .02}, [8, 60]); bad = {'scipy', 'colour', 'matplotlib'} & set(sys.modules); sys.exit(bool(bad))"
    )
    assert subprocess.run([sys.executable, "-c", program, str(tmp_path / "m.json")], check=False).returncode == 0


def test_a_million_and_one_take_the_same_path() -> None:
    model = _model()
    rng = np.random.default_rng(0)
    doses, thickness = rng.uniform(0, 0.2, (5000, 3)), rng.uniform(1, 60, 5000)
    all_at_once = model.predict_lab(doses, thickness)
    for i in (0, 2047, 2048, 4999):
        np.testing.assert_allclose(model.predict_lab(doses[i], thickness[i])[0], all_at_once[i], atol=1e-9)


def test_prediction_is_the_slow_literal_one() -> None:
    """tests/reference/slow.py at 1 nm, fed the model's own spectra: what is left is the 10 nm grid, under 0.1 ΔE00."""
    model = _model()
    spectra = np.log(np.vstack([model.base_per_mm, model.absorptivity]))
    nm = np.clip(slow.NM, 380.0, None)
    fine = np.exp(CubicSpline(model.wavelengths_nm, spectra, axis=1)(nm))
    doses = np.array([0.05, 0.02, 0.0])
    volume = doses / (1 + 0.01 * doses.sum())
    volume = volume / (1 + model.departure_per_phr * volume)
    for thickness in (3.0, 8.0, 25.0):
        internal = 10.0 ** (-thickness * (fine[0] + volume @ fine[1:]))
        face = ((1.5 - 1) / (1.5 + 1)) ** 2
        external = (1 - face) ** 2 * internal / (1 - face**2 * internal**2)
        from tests.reference import batched

        expected = batched.lab(external[None])[0]
        assert slow.delta_e00(expected, model.predict_lab(doses, thickness)[0]) < 0.1


def test_look_gives_means_bands_and_what_lies_beyond_the_chips() -> None:
    seen = _model().look({"p1": 0.5}, [6.0, 30.0])
    np.testing.assert_allclose(seen.lab, seen.lab_draws.mean(axis=0))
    np.testing.assert_allclose(seen.joint_lab_covariance[:3, :3], seen.lab_covariance[0])
    assert np.linalg.eigvalsh(seen.joint_lab_covariance).min() > -1e-9
    assert seen.dose_extrapolated
    assert seen.thickness_extrapolated == (False, True)
    assert len(seen.warnings) == 2


def test_look_many_is_look_one_at_a_time() -> None:
    model = _model()
    sections = model.look({}, [6.0, 30.0]).sections
    doses = np.array([[0.02, 0.0, 0.01], [0.0, 0.1, 0.0]])
    many = model.look_many(doses, sections)
    for row, lab, light in zip(doses, many.lab, many.luminous, strict=True):
        one = model.look(dict(zip(model.pigments, row.tolist(), strict=True)), [6.0, 30.0])
        np.testing.assert_allclose(lab, one.lab, atol=1e-9)
        np.testing.assert_allclose(light, one.luminous_transmittance, atol=1e-12)


def test_bad_questions_are_told_in_a_sentence() -> None:
    with pytest.raises(ValueProblem, match="it knows p1, p2, p3"):
        _model().look({"ochre": 0.1}, 8.0)
    with pytest.raises(ValueProblem, match=r"dose of"):
        _model().look({"p1": -0.1}, 8.0)
    with pytest.raises(ValueProblem, match=r"thickness is"):
        _model().look({"p1": 0.1}, 0.0)


@pytest.mark.parametrize("content", [b"", b"{", b"[1]", b"\xff\xfe\x00", b'{"is": "tintmix model"}', b"[" * 100_000])
def test_what_is_no_model_is_told_in_a_sentence(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "m.json").write_bytes(content)
    with pytest.raises(FileProblem, match=r"not a tintmix model"):
        load_model(tmp_path / "m.json")


def test_damaged_and_newer_models_are_refused(tmp_path: Path) -> None:
    save_model(_model(), tmp_path / "m.json")
    table = json.loads((tmp_path / "m.json").read_text())
    for key in ("draws", "pigments", "haze", "base_per_mm"):
        (tmp_path / "bad.json").write_text(json.dumps({k: v for k, v in table.items() if k != key}))
        with pytest.raises(FileProblem, match=r"not a tintmix model"):
            load_model(tmp_path / "bad.json")
    (tmp_path / "new.json").write_text(json.dumps(table | {"format": 99}))
    with pytest.raises(FileProblem, match="format 99"):
        load_model(tmp_path / "new.json")
    with pytest.raises(NotThere, match="a model is needed"):
        load_model(tmp_path / "none.json")
