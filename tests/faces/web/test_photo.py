"""Photos on the page: what is shown is what is read; what a photo cannot be is refused."""

from __future__ import annotations

import io
import struct
import zlib
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.faces.web.conftest import Client, ok
from tests.faces.web.test_chips import at_hand
from tests.photo_simulation import jpeg, photographed, random_shot
from tintmix.desk.read.layout import holder_for
from tintmix.optics.detector import light, rendered_ways
from tintmix.page.recipe import keep_model

CHIPS = {"clear 3 mm": (200, 180, 120), "clear 12 mm": (120, 90, 200)}
PANEL, CARD = (235, 235, 235), (3, 3, 3)
BOXES = {"clear 3 mm": (300, 200, 160, 160), "clear 12 mm": (700, 500, 160, 160)}
OPEN = [(20, 20, 100, 100), (1080, 20, 100, 100), (20, 780, 100, 100), (1080, 780, 100, 100)]
DARK = [(560, 380, 80, 80)]


def picture(turned: int = 1) -> bytes:
    """A light panel with two chips and a black card, 1200 × 900, as PNG; turned: its EXIF orientation."""
    codes = np.full((900, 1200, 3), PANEL, dtype=np.uint8)
    for name, (x, y, w, h) in BOXES.items():
        codes[y - 10 : y + h + 10, x - 10 : x + w + 10] = CHIPS[name]
    for x, y, w, h in DARK:
        codes[y - 20 : y + h + 20, x - 20 : x + w + 20] = CARD
    image = Image.fromarray(codes)
    stream = io.BytesIO()
    if turned == 6:
        # Orientation 6 is shown turned clockwise: the file holds it turned the other way. Exif 2.3, 4.6.4 A.
        exif = Image.Exif()
        exif[274] = 6
        image.transpose(Image.Transpose.ROTATE_90).save(stream, "PNG", exif=exif)
    else:
        image.save(stream, "PNG")
    return stream.getvalue()


def linear(code: float) -> float:
    """IEC 61966-2-1."""
    v = code / 255
    return v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4


def boxes(places: dict[str, Any]) -> dict[str, str]:
    out: dict[str, str] = {}
    for i, (what, box) in enumerate(places):
        out[f"place_{i}_what"] = what
        out |= {f"place_{i}_{side}": str(value) for side, value in zip("xywh", box, strict=True)}
    return out


ALL = [*BOXES.items(), *(("bare panel", box) for box in OPEN), *(("black card", box) for box in DARK)]


def camera_set(client: Client, content: bytes, name: str = "panel.png") -> Any:
    ok(client.fill("/chips/begin", {"kind": "camera", "pigments": "azure", "thicknesses": "3 12"}))
    return client.fill("/chips/photo", files={"photo": (name, content)})


@pytest.mark.parametrize("turned", [1, 6])
def test_windows_are_read_in_the_pixels_that_are_shown(client: Client, turned: int) -> None:
    answer = camera_set(client, picture(turned))
    assert "1200 × 900 pixels" in answer.text
    shown = client.get("/chips/photo/shown")
    assert shown.headers["content-type"] == "image/png"
    with Image.open(io.BytesIO(shown.content)) as small:
        assert small.size == (1200, 900)
        assert small.getpixel((380, 280)) == CHIPS["clear 3 mm"]
    answer = client.fill("/chips/photo/read", boxes(ALL))
    assert "2 chips read from the photo." in answer.text, answer.text
    dark = np.array([linear(c) for c in CARD])
    bare = np.array([linear(c) for c in PANEL]) - dark
    chips_read = {chip.name: chip.values for chip in at_hand(client).chips}
    for chip in at_hand(client).chips:
        wanted = (np.array([linear(c) for c in CHIPS[chip.name]]) - dark) / bare
        assert np.allclose(chip.values, wanted, atol=0.005)
    ok(client.fill("/undo"))
    assert not any(chip.is_read for chip in at_hand(client).chips)
    # Against a plan that foresees each as the other, it is asked how they lie.
    seen = {name: "#{:02x}{:02x}{:02x}".format(*colour) for name, colour in CHIPS.items()}
    turned_round = dict(zip(seen, reversed(seen.values()), strict=True))
    area = client.workspace.now().area("chips")
    plan = {"cups": [{"chips": [{"chip": name, "predicted": colour} for name, colour in turned_round.items()]}]}
    area["plans"] = {area["active"]: client.workspace.keep_json(plan)}
    client.workspace.change("a plan", {"chips": area}, {})
    asked = client.fill("/chips/photo/read", boxes(ALL))
    assert asked.status_code == 422
    assert "clear 3 mm and clear 12 mm look exchanged" in asked.text
    assert not any(chip.is_read for chip in at_hand(client).chips)
    pair = {"one_chip": "clear 3 mm", "other_chip": "clear 12 mm"}
    ok(client.fill("/chips/photo/read", boxes(ALL) | pair | {"laid": "exchanged"}))
    other = {chip.name: chip.values for chip in at_hand(client).chips}
    ok(client.fill("/chips/photo/read", boxes(ALL) | pair | {"laid": "as laid", "replace": "1"}))
    as_laid = {chip.name: chip.values for chip in at_hand(client).chips}
    assert list(other.values()) == list(reversed(as_laid.values()))
    again = ok(client.fill("/chips/photo/read", boxes(ALL) | pair | {"laid": "as laid", "replace": "1"})).text
    assert "2 chips read from the photo just as they stand in the set already." in again
    assert "0 chips" not in again
    assert as_laid["clear 3 mm"] == pytest.approx(chips_read["clear 3 mm"])


def test_the_holder_sheet_is_found_and_printed(client: Client) -> None:
    rng = np.random.default_rng(5)
    shot = random_shot(rng)
    taken = photographed(rng, shot, rendered=True)
    ok(
        client.fill(
            "/chips/begin",
            {"kind": "camera", "pigments": "azure", "thicknesses": " ".join(str(i) for i in range(2, 18))},
        )
    )
    chips = at_hand(client)
    assert len(holder_for(chips)) == 1
    files = {
        "photo": ("chips.jpg", jpeg(taken.chips, taken.camera, shot, rng)),
        "panel": ("bare.jpg", jpeg(taken.bare, taken.camera, shot, rng)),
    }
    ok(client.fill("/chips/photo", files=files))
    answer = client.fill("/chips/photo/read", {"holder": "1", "laid": "as laid"})
    assert answer.status_code in (200, 422)
    if answer.status_code == 422:
        # A drawn chip may be too dark for a JPEG, which is told by its place.
        assert " in row " in answer.text
    pdf = client.get("/chips/holder.pdf")
    assert pdf.content[:5] == b"%PDF-"
    assert pdf.headers["content-disposition"] == 'attachment; filename="my-chips-holder.pdf"'


@pytest.mark.parametrize(
    "places",
    [
        [],
        [("clear 3 mm", (1150, 200, 160, 160))],
        [("clear 3 mm", (300, 200, 2, 160))],
        [("clear 3 mm", (300, 200, 160, 160)), ("clear 3 mm", (300, 200, 160, 160))],
        [("clear 3 mm", ("x", 200, 160, 160))],
        [("nobody", (300, 200, 160, 160))],
    ],
)
def test_places_that_cannot_be_are_told_and_nothing_is_read(client: Client, places: Any) -> None:
    camera_set(client, picture())
    before = client.workspace.now()
    answer = client.fill("/chips/photo/read", boxes(places))
    assert answer.status_code == 422
    assert client.workspace.now() == before


def test_places_stay_where_they_were_drawn_when_reading_fails(client: Client) -> None:
    camera_set(client, picture())
    answer = client.fill(
        "/chips/photo/read", boxes([("clear 3 mm", (300, 200, 160, 160)), ("clear 3 mm", (301, 200, 160, 160))])
    )
    assert answer.status_code == 422
    answer = client.fill(
        "/chips/photo/read", boxes([("clear 3 mm", BOXES["clear 3 mm"]), ("bare panel", (570, 390, 60, 60))])
    )
    if answer.status_code == 422:
        assert 'value="300"' in answer.text


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few kilobytes that says it is huge."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 10_000))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("bomb.png", bomb(60_000, 60_000)),
        ("bomb.png", bomb(9000, 9000)),
        ("x.jpg", b""),
        ("x.jpg", b"GIF89a"),
        ("x.heic", b"\0\0\0\x18ftypheic"),
        ("../../x.png", picture()[:2000]),
    ],
)
def test_what_is_no_photo_is_refused(client: Client, name: str, content: bytes) -> None:
    answer = camera_set(client, content, name)
    assert answer.status_code == 422
    assert str(client.workspace.folder) not in answer.text
    assert "photos" not in client.workspace.now().area("chips")


def test_a_photo_needs_a_set_that_is_read_so(demo: Client) -> None:
    assert "are read in another way" in demo.get("/chips/photo").text


def test_without_a_set_there_is_no_photo(client: Client) -> None:
    assert client.get("/chips/photo").status_code == 404
    assert client.get("/chips/photo/shown").status_code == 404
    assert client.get("/recipes/photo/shown").status_code == 404


def test_glass_that_is_clicked_becomes_the_target(demo: Client) -> None:
    answer = demo.fill("/recipes/photo", files={"photo": ("glass.png", picture())})
    assert "No holder sheet to read by" in answer.text
    marked = boxes([("the glass", BOXES["clear 12 mm"]), ("bare panel", OPEN[0]), ("black card", DARK[0])])
    answer = demo.fill("/recipes/photo/read", marked | {"thing_0_mm": "6", "piece_name": "shard"})
    assert answer.url.path == "/recipes"
    target = demo.workspace.now().area("recipes")["target"]
    assert (target["kind"], target["thickness_mm"], target["name"]) == ("piece", 6.0, "shard")
    # The same colour by colour-science: linear sRGB relative to the panel, D65.
    colour = pytest.importorskip("colour")
    black = linear(CARD[0])
    ratio = (np.array([linear(c) for c in CHIPS["clear 12 mm"]]) - black) / (
        np.array([linear(c) for c in PANEL]) - black
    )
    xyz = colour.RGB_to_XYZ(ratio, "sRGB")
    wanted = colour.XYZ_to_Lab(xyz, colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"])
    assert np.allclose(target["lab"], wanted, atol=0.3)
    assert (
        demo.fill("/recipes/photo/read", boxes([("the glass", BOXES["clear 12 mm"])]) | {"thing_0_mm": "6"}).status_code
        == 422
    )


def test_glass_and_trial_are_read_by_the_camera_of_the_chips(demo: Client) -> None:
    now = demo.workspace.now()
    pigments = now.area("pigments")
    learnt = demo.workspace.model(pigments["model"])
    # A camera that makes JPEGs, as the eye sees on a panel of D65: its channels are those of sRGB.
    seen = replace(learnt, camera_weights=rendered_ways(light("D65")).mean(axis=0), camera_tone=np.array([0.0, -0.2]))
    thing = keep_model(demo.workspace, seen)
    demo.workspace.change("a camera", {"pigments": {**pigments, "model": thing}}, {})
    ok(demo.fill("/recipes/photo", files={"photo": ("glass.png", picture())}))
    places = [("bare panel", OPEN[0]), ("black card", DARK[0])]
    marked = boxes([("the glass", BOXES["clear 12 mm"]), *places])
    answer = demo.fill("/recipes/photo/read", marked | {"thing_0_mm": "6", "piece_name": "shard"})
    assert answer.url.path == "/recipes"
    target = demo.workspace.now().area("recipes")["target"]
    black = linear(CARD[0])
    ratio = [(linear(code) - black) / (linear(PANEL[0]) - black) for code in CHIPS["clear 12 mm"]]
    assert target["lab"] is None
    assert target["camera"] == pytest.approx(ratio, abs=2e-3)
    ok(demo.fill("/trial/photo", files={"photo": ("trial.png", picture())}))
    marked = boxes([("the trial chip", BOXES["clear 3 mm"]), *places])
    answer = demo.fill("/trial/photo/read", marked | {"thing_0_mm": "12"})
    assert answer.url.path == "/trial"
    asked = demo.workspace.now().area("trial")["asked"]
    assert asked["space"] == "camera"
    [chip] = asked["chips"]
    parts = [100 * (linear(code) - black) / (linear(PANEL[0]) - black) for code in CHIPS["clear 3 mm"]]
    assert (chip["thickness_mm"], chip["colour"]) == (12.0, pytest.approx(parts, abs=0.2))


def test_what_a_place_reads_is_told_while_it_is_drawn(client: Client) -> None:
    """The same numbers as the reading itself gives, without keeping anything."""
    camera_set(client, picture())
    before = client.workspace.now()
    one = client.get("/chips/photo/look", params=boxes([("clear 3 mm", BOXES["clear 3 mm"])])).json()
    assert one["rows"]["0"]["says"] == "mark the bare panel to see what it reads"
    assert one["rows"]["0"]["srgb"] == "#{:02x}{:02x}{:02x}".format(*CHIPS["clear 3 mm"])
    seen = client.get("/chips/photo/look", params=boxes(ALL)).json()
    dark = np.array([linear(c) for c in CARD])
    bare = np.array([linear(c) for c in PANEL]) - dark
    for row, name in enumerate(BOXES):
        wanted = 100 * (np.array([linear(c) for c in CHIPS[name]]) - dark) / bare
        said = [float(x.split()[1]) for x in seen["rows"][str(row)]["says"].removeprefix("reads ").split(" %,")]
        assert np.allclose(said, wanted, atol=0.6)
        assert seen["rows"][str(row)]["doubt"] == ""
    assert client.workspace.now() == before


def test_a_doubtful_place_is_told_at_once(client: Client) -> None:
    camera_set(client, picture())
    edge = [("clear 3 mm", (400, 200, 160, 160)), *(("bare panel", box) for box in OPEN), ("black card", DARK[0])]
    rows = client.get("/chips/photo/look", params=boxes(edge)).json()["rows"]
    assert "brighter on one side" in rows["0"]["doubt"]
    without = [("clear 12 mm", BOXES["clear 12 mm"]), *(("bare panel", box) for box in OPEN)]
    rows = client.get("/chips/photo/look", params=boxes(without)).json()["rows"]
    assert "mark a piece of black card beside it" in rows["0"]["doubt"]
    assert "--" not in rows["0"]["doubt"]
    twice = [("clear 12 mm", BOXES["clear 12 mm"])] * 2
    wrong = boxes([("clear 3 mm", ("x", 0, 99, 99)), *twice])
    rows = client.get("/chips/photo/look", params=wrong).json()["rows"]
    assert "cannot be used" in rows["0"]["doubt"]
    assert "already" in rows["2"]["doubt"]
    assert client.get("/chips/photo/look", params=boxes([("bare panel", DARK[0])])).status_code == 200
    small = client.get("/chips/photo/look", params=boxes([("bare panel", (20, 20, 8, 8))]))
    assert small.status_code == 200
    assert "pixels once its edges are left out" in small.json()["says"]


def test_looking_needs_a_photo(client: Client) -> None:
    ok(client.fill("/chips/begin", {"kind": "camera", "pigments": "azure", "thicknesses": "3"}))
    headers = {"accept": "application/json"}
    assert client.get("/chips/photo/look", headers=headers).status_code == 404
    assert client.get("/recipes/photo/look", headers=headers).status_code == 404


def test_places_that_were_drawn_stay_when_something_else_is_wrong(demo: Client) -> None:
    ok(demo.fill("/recipes/photo", files={"photo": ("glass.png", picture())}))
    marked = boxes([("the glass", BOXES["clear 12 mm"]), ("bare panel", OPEN[0])])
    answer = demo.fill("/recipes/photo/read", marked | {"thing_0_mm": "thick", "place_2_x": "oops"})
    assert answer.status_code == 422
    for value in (*BOXES["clear 12 mm"], "thick", "oops"):
        assert f'value="{value}"' in answer.text
    assert answer.text.count("<rect x=") == 2


def test_photos_are_kept_a_piece_at_a_time_and_a_bad_one_not_at_all(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tintmix.files import caps

    ok(client.fill("/chips/begin", {"kind": "camera", "pigments": "azure", "thicknesses": "3"}))
    before = set((client.workspace.folder / "things").iterdir())
    assert client.fill("/chips/photo", files={"photo": ("chips.jpg", b"\xff\xd8\xff no more")}).status_code == 422
    monkeypatch.setattr(caps, "PHOTO", 1000)
    answer = client.fill("/chips/photo", files={"photo": ("chips.jpg", b"a" * 1001)})
    assert answer.status_code == 422
    assert "larger than 0.001 MB" in answer.text
    assert set((client.workspace.folder / "things").iterdir()) == before


def test_photos_are_decoded_one_at_a_time(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Four at once took 4.9 GB: each holds half a gigabyte while it is decoded."""
    import io
    import threading
    import time

    from tintmix.errors import FileProblem
    from tintmix.page.chips import kept_photo as page_photo

    at_once, most = [0], [0]

    def slowly(*_: object, **__: object) -> object:
        at_once[0] += 1
        most[0] = max(most[0], at_once[0])
        time.sleep(0.02)
        at_once[0] -= 1
        raise FileProblem(what="no photo")

    def keep() -> None:
        with pytest.raises(FileProblem):
            page_photo.keep_photo(client.workspace, "a.jpg", io.BytesIO(b"a"))

    monkeypatch.setattr(page_photo, "open_photo", slowly)
    threads = [threading.Thread(target=keep) for _ in range(4)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert most == [1]


def test_a_holder_that_was_laid_out_elsewhere_stays_so(client: Client) -> None:
    """A set that brings its holder.csv is read by it; what is left out or added later moves no chip that was printed."""
    table = "chip,cup,thickness_mm,azure_phr,R,G,B\n" + "".join(f"b{i},b{i},3,0.0{i},,,\n" for i in range(1, 5))
    laid = "photo,window,chip,predicted\n1,3.2,b1,#80c0a0\n1,1.2,b2,34 %\n1,2.2,b3,#80c0a0\n"
    files = [
        ("files", ("chips.csv", table.encode())),
        ("files", ("set.toml", b'format = 1\n[reading]\nkind = "camera"\n')),
        ("files", ("holder.csv", laid.encode())),
    ]
    answer = ok(client.fill("/chips/upload", files=files))
    assert "holder.csv" not in answer.text.partition("</nav>")[2].partition("Another set")[0].partition("told")[2]
    # The one that it does not name comes into the first window that is free.
    wanted = "photo,window,chip,predicted\n1,1.2,b2,34 %\n1,1.3,b4,\n1,2.2,b3,#80c0a0\n1,3.2,b1,#80c0a0\n"
    assert client.get("/chips/holder.csv").text.replace("\r\n", "\n") == wanted
    ok(client.fill("/chips/chip?chip=b2", {"thickness": "3", "dose.azure": "0.02"}))
    assert client.get("/chips/holder.csv").text.replace("\r\n", "\n") == wanted.replace("1,1.2,b2,34 %\n", "")
    # Chips that are three times as thick as they were meant are a slip, until it is said that they are not.
    assert client.fill("/chips/chip?chip=b1", {"thickness": "30", "use": "1"}).status_code == 422
    ok(client.fill("/chips/chip?chip=b1", {"thickness": "30", "use": "1", "as_thick": "1", "check": "1"}))
    assert "1,2.3,b1," in client.get("/chips/holder.csv").text
