"""Photographed chips, a reduced sweep: what the pages promise, with room for five sets."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.accuracy.camera_rows import CAMERA_ROWS, JPEG_ROWS, WIDEST, CameraRow, sweep_camera
from tests.accuracy.pages import END, put_into
from tests.simulation import camera_hidden, make_set, read_again, to_chipset
from tintmix.pigments.fit import fit
from tintmix.pigments.model_file import load_model, save_model

SLACK = 1.5
SEEDS = range(900, 905)


@pytest.mark.parametrize("row", [r for r in CAMERA_ROWS if r.limit is not None], ids=lambda row: row.name)
def test_row(row: CameraRow) -> None:
    found = sweep_camera(row, SEEDS, questions=40)
    assert row.limit is not None
    assert row.limit.met(found, SLACK)
    # Five sets are too few for the full table's 90 %; a broken band falls far below this.
    assert min(found.ellipsoid, found.band) >= 0.80


def test_jpegs_of_any_phone() -> None:
    """Each way to white, and each contrast: as constants they covered less than half."""
    scores = [sweep_camera(row, SEEDS[at : at + 1], questions=20) for at, row in enumerate(JPEG_ROWS[:13:3])]
    # Five sets tell the full table's 90 % to 10 %; with the phone's ways as constants less than half was covered.
    assert np.mean([found.ellipsoid for found in scores]) >= 0.75
    assert np.median([found.median for found in scores]) <= 2.5
    assert np.median([found.width / found.median for found in scores]) <= WIDEST * SLACK


@pytest.mark.parametrize("contrast", [-0.3, 0.3])
def test_the_phones_contrast_is_found_and_kept(contrast: float, tmp_path: Path) -> None:
    sim = make_set(902, "camera", camera="rendered", contrast=contrast, pairs=3, dose_error=0.02, thickness_error=0.05)
    model = fit(to_chipset(sim))
    save_model(model, tmp_path / "model.json")
    kept = load_model(tmp_path / "model.json").camera_tone
    assert kept is not None
    # What it is believed to be before any chip is read: 0 ± 0.2.
    assert kept[0] == pytest.approx(contrast, abs=0.15)


def test_unknown_is_said_and_hidden() -> None:
    known = make_set(3, "camera", camera="drawn", panel="LED-B2")
    hidden = make_set(3, "camera", camera="drawn", panel="LED-B2", panel_known=False)
    # Not telling the panel changes nothing of what the camera sees.
    np.testing.assert_array_equal(known.readings, hidden.readings)
    assert to_chipset(known).reading.light == "LED-B2"
    assert to_chipset(hidden).reading.light == "unknown"
    assert to_chipset(hidden).reading.camera == "unknown"
    outside = camera_hidden(make_set(3, "camera", camera="filter", panel="drawn"))
    reading = to_chipset(outside).reading
    assert (reading.camera, reading.light) == ("unknown", "unknown")


def test_a_second_reading_is_of_the_same_chips() -> None:
    sim = make_set(3, "camera", camera="drawn", thickness_error=0.05, dose_error=0.02)
    again = read_again(sim, "colour", [0, 3, 5])
    assert again.names == (sim.names[0], sim.names[3], sim.names[5])
    truth = sim.truth_lab(sim.true_doses, sim.true_thickness)[[0, 3, 5]]
    assert np.abs(again.readings - truth).max() < 1.5
    assert np.abs(again.readings - truth).max() > 0
    cold = read_again(sim, "camera", panel="LED-B5")
    assert to_chipset(cold).reading.light == "LED-B5"
    assert not np.allclose(cold.readings, sim.readings, atol=0.01)


def test_figures_are_put_where_the_page_has_a_place(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(f"before\n<!-- figures: this -->\nold\n{END}\nafter\n<!-- figures: that -->\nkept\n{END}\n")
    put_into(page, "this", "new", "made")
    text = page.read_text()
    assert "old" not in text
    assert text == f"before\n<!-- figures: this -->\nnew\n\nmade\n{END}\nafter\n<!-- figures: that -->\nkept\n{END}\n"
    with pytest.raises(ValueError, match="no place"):
        put_into(page, "other", "new")
