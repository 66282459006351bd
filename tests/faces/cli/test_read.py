"""`tintmix read` as a maker calls it."""

from __future__ import annotations

from pathlib import Path

from tests.chips.instruments import instrument_texts as texts
from tests.desk.read.test_instrument import colour_set, file, snapshot, spectra_set
from tests.faces.conftest import Call, Refused

BODY = {
    "set", "dry_run", "sources", "chips", "passed_over", "set_changes", "drift", "not_read_yet", "notes", "written",
    "would_write",
}  # fmt: skip


def test_json_is_one_object_and_nothing_else(call: Call, tmp_path: Path) -> None:
    folder = colour_set(tmp_path)
    said = call("read", folder, "--colours", file(tmp_path, "c.txt", "b1 78 -12 -20\nk 60 -10 -30\n"), "--json")
    assert (said.status, said.err) == (0, "")
    assert set(said.json) == BODY
    assert said.json["chips"][0]["action"] == "new"
    assert not said.json["drift"]["drifted"]


def test_text_tells_what_happened(call: Call, tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    path = file(tmp_path, "e.txt", texts.cgats_spectra({"b1": 0.9, "b2": 0.4}))
    said = call("read", folder, "--from", path)
    assert said.status == 0
    assert "CGATS" in said.out
    assert "Not read yet: clear" in said.out
    assert "Written: chips.csv" in said.out


def test_a_dry_run_says_so_and_changes_nothing(call: Call, tmp_path: Path) -> None:
    folder = colour_set(tmp_path)
    before = snapshot(folder)
    said = call("read", folder, "--colours", file(tmp_path, "c.txt", "b1 78 -12 -20\n"), "--dry-run")
    assert "Nothing was changed" in said.out
    assert snapshot(folder) == before


def test_bad_input_is_one_sentence_and_changes_nothing(refused: Refused, tmp_path: Path) -> None:
    folder = colour_set(tmp_path)
    before = snapshot(folder)
    assert "no chip is called zz" in refused("read", folder, "--colours", file(tmp_path, "c.txt", "zz 78 -12 -20\n"))
    assert "there is no such file" in refused("read", folder, "--from", tmp_path / "none.csv")
    assert "one of these" in refused("read", folder)
    assert "--map" in refused("read", folder, "--colours", file(tmp_path, "d.txt", "b1 1 2 3\n"), "--map", "nonsense")
    assert snapshot(folder) == before


def test_what_a_file_holds_is_shown_without_a_set_and_on_a_dry_run(
    call: Call, refused: Refused, tmp_path: Path
) -> None:
    path = file(tmp_path, "b1.csv", "nm;%T\n" + "".join(f"{nm};{nm / 10}\n" for nm in range(400, 710, 10)))
    alone = call("read", "--from", path, "--json").json["files"][0]
    assert {*alone} == {"file", "shape", "samples", "asks"}
    (sample,) = alone["samples"]
    assert (sample["name"], sample["chip"], sample["line"], sample["quantity"]) == ("b1", None, 1, "transmittance")
    assert (sample["values"][0], sample["wavelengths_nm"][0]) == (0.4, 400)
    assert "b1" in call("read", "--from", path).out
    folder = spectra_set(tmp_path)
    stranger = file(tmp_path, "stranger.csv", path.read_text())
    dry = call("read", folder, "--from", path, "--from", stranger, "--dry-run", "--json").json
    assert [file["samples"][0]["chip"] for file in dry["files"]] == ["b1", None]
    assert {*dry} == BODY | {"files"}
    unclear = file(tmp_path, "unclear.csv", "nm;%T\n" + "".join(f"{nm};0.5\n" for nm in range(400, 710, 10)))
    (ask,) = call("read", "--from", unclear, "--json").json["files"][0]["asks"]
    assert "--unit fraction" in ask
    assert call("read", "--from", unclear, "--unit", "fraction", "--json").json["files"][0]["asks"] == []
    assert "--unit fraction" in refused("read", folder, "--from", unclear, "--map", "unclear=b1")
    assert "SET" in refused("read", "--colours", path)
