"""Pictures as files: three kinds, whole or not at all, always the same bytes, and matplotlib left as it was found."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Callable
from itertools import cycle
from pathlib import Path

import matplotlib as mpl
import pytest
from matplotlib.figure import Figure
from PIL import Image, ImageCms

from tests.pictures.stand_in import model, report
from tintmix.errors import CannotWrite, TintmixError, ValueProblem
from tintmix.pictures import (
    residuals_picture,
    save_picture,
    strengths_picture,
    swatches_picture,
    thickness_picture,
    wedge_picture,
)

DOSES = {"azure": 0.1, "emerald": 0.02}
KINDS: dict[str, Callable[[], Figure]] = {
    "wedge": lambda: wedge_picture(model(), DOSES, [8.0, 60.0], floor=0.08),
    "swatches": lambda: swatches_picture(model().look(DOSES, [8.0]), [[60.0, -20.0, 3.0]], [2.0]),
    "strengths": lambda: strengths_picture(model()),
    "residuals": lambda: residuals_picture(report(12)),
    "thickness": lambda: thickness_picture(model(), DOSES, [8.0, 60.0], floor=0.08),
}
BEGINS = {".png": b"\x89PNG\r\n\x1a\n", ".svg": b"<?xml", ".pdf": b"%PDF-1."}


@pytest.mark.parametrize(("kind", "ending"), [*zip(KINDS, cycle(BEGINS)), ("wedge", ".svg"), ("wedge", ".pdf")])
def test_each_kind_and_each_format_is_always_written_the_same(
    kind: str, ending: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    first = save_picture(KINDS[kind](), tmp_path / f"a{ending}").read_bytes()
    with mpl.rc_context({"font.size": 30, "font.family": "serif", "svg.hashsalt": "another", "savefig.dpi": 40}):
        second = save_picture(KINDS[kind](), tmp_path / f"b{ending.upper()}").read_bytes()
    assert first.startswith(BEGINS[ending])
    assert first == second
    if ending != ".png":
        assert b"2023" in first


@pytest.mark.parametrize("ending", BEGINS)
def test_without_an_epoch_there_is_no_date(ending: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    written = save_picture(KINDS["residuals"](), tmp_path / f"a{ending}").read_bytes()
    assert not any(word in written for word in (b"CreationDate", b"<dc:date>", b"Creation Time"))


def test_another_process_writes_the_same_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    program = (
        "import sys; from tests.pictures.test_save import KINDS, BEGINS; from tintmix.pictures import save_picture\n"
        "for ending in BEGINS: save_picture(KINDS['wedge'](), sys.argv[1] + ending)\n"
    )
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    environment = os.environ | {"PYTHONHASHSEED": "1", "PYTHONPATH": os.getcwd()}
    subprocess.run([sys.executable, "-c", program, str(tmp_path / "there")], check=True, env=environment)
    for ending in BEGINS:
        here = save_picture(KINDS["wedge"](), tmp_path / f"here{ending}")
        assert here.read_bytes() == (tmp_path / f"there{ending}").read_bytes()


def test_matplotlibs_settings_are_left_alone(tmp_path: Path) -> None:
    before = dict(mpl.rcParams)
    save_picture(KINDS["swatches"](), tmp_path / "a.png")
    assert dict(mpl.rcParams) == before


@pytest.mark.parametrize(
    ("name", "error"),
    [
        ("wedge.jpg", ValueProblem),
        ("wedge", ValueProblem),
        ("not/there/wedge.png", CannotWrite),
        ("folder.png", CannotWrite),
        ("x" * 300 + ".png", CannotWrite),
        ("nul\0.png", CannotWrite),
    ],
)
def test_bad_places_are_one_sentence_and_leave_nothing(name: str, error: type[TintmixError], tmp_path: Path) -> None:
    (tmp_path / "folder.png").mkdir()
    with pytest.raises(error) as caught:
        save_picture(Figure(), tmp_path / name)
    assert "\n" not in str(caught.value)
    assert [path.name for path in tmp_path.iterdir()] == ["folder.png"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_protected_folder_is_refused(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(CannotWrite):
        save_picture(Figure(), tmp_path / "wedge.png")


def test_a_failed_drawing_leaves_the_old_picture(tmp_path: Path) -> None:
    class Broken(Figure):
        def savefig(self, *args: object, **kwargs: object) -> None:
            raise OSError(28, "No space left on device")

    place = tmp_path / "wedge.png"
    place.write_bytes(b"old")
    with pytest.raises(CannotWrite, match="no space left"):
        save_picture(Broken(), place, replace=True)
    assert [path.name for path in tmp_path.iterdir()] == ["wedge.png"]
    assert place.read_bytes() == b"old"


def test_a_link_keeps_pointing_where_it_did(tmp_path: Path) -> None:
    (tmp_path / "real.png").write_bytes(b"old")
    (tmp_path / "link.png").symlink_to(tmp_path / "real.png")
    save_picture(KINDS["swatches"](), tmp_path / "link.png", replace=True)
    assert (tmp_path / "link.png").is_symlink()
    assert (tmp_path / "real.png").read_bytes().startswith(BEGINS[".png"])


def test_the_package_costs_nothing_to_import() -> None:
    program = "import sys, tintmix.pictures; print(sorted({'matplotlib', 'numpy', 'PIL'} & set(sys.modules)))"
    environment = os.environ | {"PYTHONPATH": os.getcwd()}
    told = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, text=True, env=environment)
    assert told.stdout.strip() == "[]"


def test_pyplot_is_never_imported() -> None:
    program = (
        "import sys; from tests.pictures.test_save import KINDS\n"
        "for make in KINDS.values(): make()\n"
        "print('matplotlib.pyplot' in sys.modules)"
    )
    environment = os.environ | {"PYTHONPATH": os.getcwd()}
    told = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, text=True, env=environment)
    assert told.stdout.strip() == "False"


def test_a_png_says_that_its_colours_are_srgb(tmp_path: Path) -> None:
    with Image.open(save_picture(Figure(), tmp_path / "one.png")) as image:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
    assert "sRGB" in ImageCms.getProfileDescription(profile)
