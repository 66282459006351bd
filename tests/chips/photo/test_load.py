"""Opening photos: every kind that is read, upright, in sRGB and linear; and each that is refused, in one sentence."""

from __future__ import annotations

import builtins
import io
import resource
import struct
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageCms

from tests.chips.photo import photo_files as files
from tintmix.chips.photo.curve import curve_to_text, parse_tone_curve, read_tone_curve, srgb_curve
from tintmix.chips.photo.load import Photo, open_photo
from tintmix.errors import FileProblem, LibraryMissing, Note, NotThere, Remedy
from tintmix.files import caps

RAMP = files.ramp()
DEEP = np.random.default_rng(1).integers(0, 65_536, (70, 90, 3)).astype(np.uint16)


def refusal(data: bytes | str | Path, kind: type[Exception], name: str = "chips.jpg", **options: Any) -> str:
    with pytest.raises(kind) as error:
        open_photo(data, name, **options)
    said = str(error.value)
    assert "\n" not in said
    assert said.endswith(".")
    assert 20 < len(said) < 400
    return said


# The curve of sRGB. IEC 61966-2-1:1999, 5.2: E/12.92 up to 0.04045, ((E + 0.055)/1.055)^2.4 above. The decimals are those of
# that formula at E = code/255, worked out with 40 digits (Python's decimal) and rounded.
SRGB = {
    0: 0.0,
    1: 0.000303527,
    10: 0.003035270,
    11: 0.003346536,
    64: 0.051269458,
    128: 0.215860500,
    200: 0.577580440,
    255: 1.0,
}


def test_the_curve_of_srgb() -> None:
    table = srgb_curve().table
    for code, light in SRGB.items():
        assert table[code] == pytest.approx([light] * 3, abs=1e-9)


def test_the_curve_of_srgb_against_colour_science() -> None:
    from colour.models import eotf_sRGB

    assert srgb_curve(65_536).table[::257, 0] == pytest.approx(eotf_sRGB(np.arange(256) / 255), abs=2e-7)


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "WEBP"])
def test_kinds_without_loss_give_the_pixels_themselves(kind: str) -> None:
    options = {"lossless": True} if kind == "WEBP" else {}
    photo = open_photo(files.encoded(RAMP, kind, **options), "chips")
    assert np.array_equal(photo.codes, RAMP)
    assert photo.rendered
    assert photo.light(photo.codes[:1, :1]) == pytest.approx(srgb_curve().table[RAMP[:1, :1], 0])


def test_a_jpeg_and_a_phones_jpeg_of_several_pictures() -> None:
    one = open_photo(files.encoded(RAMP, "JPEG", quality=95), "chips.jpg")
    assert np.abs(np.asarray(one.codes).astype(int) - RAMP).mean() < 4
    stream = io.BytesIO()
    first = Image.fromarray(RAMP)
    first.save(stream, "MPO", save_all=True, append_images=[first.resize((32, 24))], quality=95)
    assert np.array_equal(open_photo(stream.getvalue(), "chips.jpg").codes, one.codes)


@pytest.mark.parametrize("data", [
    files.png(DEEP), files.tiff(DEEP), files.tiff(DEEP, order=">"), files.tiff(DEEP, compression=8),
    files.tiff(DEEP, order=">", compression=8),
], ids=["PNG", "TIFF", "TIFF, high byte first", "TIFF, deflated", "TIFF, deflated, high byte first"])  # fmt: skip
def test_all_sixteen_bits(data: bytes) -> None:
    rendered, linear = open_photo(data, "chips"), open_photo(data, "chips", linear=True)
    assert np.array_equal(rendered.codes, DEEP)
    assert np.array_equal(linear.codes, DEEP)
    assert rendered.rendered
    assert not linear.rendered
    assert linear.light(linear.codes) == pytest.approx(DEEP / 65_535)
    # The curve of sRGB does not depend on the bits.
    assert rendered.light(np.full((1, 3), 128 * 257, np.uint16)) == pytest.approx(SRGB[128], abs=1e-8)


def test_sixteen_bits_in_planes_are_refused() -> None:
    planes = b"".join(DEEP[..., c].astype("<u2").tobytes() for c in range(3))
    data = files.tiff(np.frombuffer(planes, "<u2").reshape(70, 90, 3)).replace(
        struct.pack("<HHIHH", 284, 3, 1, 1, 0), struct.pack("<HHIHH", 284, 3, 1, 2, 0)
    )
    assert "laid out in an unusual way" in refusal(data, FileProblem, "chips.tif")


# EXIF orientation, CIPA DC-008-2019 (Exif 2.32), tag 274: where row 0 and column 0 of the file are in the upright picture.
FIRST_ROW_AND_COLUMN = {
    1: "top left", 2: "top right", 3: "bottom right", 4: "bottom left",
    5: "left top", 6: "right top", 7: "right bottom", 8: "left bottom",
}  # fmt: skip


def as_the_standard_says(pixels: np.ndarray[Any, Any], orientation: int) -> np.ndarray[Any, Any]:
    """Each pixel carried to where the standard puts it, one by one."""
    first, second = FIRST_ROW_AND_COLUMN[orientation].split()
    height, width = pixels.shape[:2]
    turned = first in ("left", "right")
    out = np.empty((width, height, 3) if turned else (height, width, 3), pixels.dtype)
    high, wide = out.shape[:2]
    for row in range(height):
        for column in range(width):
            # How far from the edge that its row, and its column, counts from.
            from_edge = {first: row, second: column}
            down = from_edge["top"] if "top" in from_edge else high - 1 - from_edge["bottom"]
            across = from_edge["left"] if "left" in from_edge else wide - 1 - from_edge["right"]
            out[down, across] = pixels[row, column]
    return out


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_comes_out_upright(orientation: int) -> None:
    wanted = as_the_standard_says(RAMP, orientation)
    deep = RAMP.astype(np.uint16) * 257
    for data in (
        files.encoded(RAMP, exif=files.exif(orientation)),
        files.encoded(RAMP, "WEBP", lossless=True, exif=files.exif(orientation)),
        files.tiff(RAMP, orientation=orientation), files.tiff(RAMP, orientation=orientation, compression=8),
    ):  # fmt: skip
        assert np.array_equal(open_photo(data, "chips").codes, wanted)
    for data in (files.tiff(deep, orientation=orientation), files.tiff(deep, orientation=orientation, compression=8)):
        assert np.array_equal(open_photo(data, "chips").codes, wanted.astype(np.uint16) * 257)
    jpeg = files.encoded(RAMP, "JPEG", quality=97, subsampling=0, exif=files.exif(orientation))
    assert np.abs(np.asarray(open_photo(jpeg, "chips").codes).astype(int) - wanted).mean() < 2


def test_a_damaged_orientation_is_none() -> None:
    for orientation in (0, 9, 60_000):
        assert np.array_equal(open_photo(files.encoded(RAMP, exif=files.exif(orientation)), "chips").codes, RAMP)


def test_settings_of_the_camera() -> None:
    photo = open_photo(files.encoded(RAMP, "JPEG", exif=files.exif(exposure=(1 / 50, 8.0, 100))), "chips.jpg")
    assert photo.exposure == pytest.approx(100 / 50 / 64)
    assert open_photo(files.encoded(RAMP), "chips").exposure is None
    damaged = files.exif(exposure=(1 / 50, 1e-9, 100))
    assert open_photo(files.encoded(RAMP, "JPEG", exif=damaged), "chips.jpg").exposure is None


def wide_gamut() -> bytes:
    """A colour profile with the primaries of Adobe RGB (1998) and a gamma of 2.2: that of ICC.1:2010, a v2 matrix profile."""

    def s15(value: float) -> bytes:
        return struct.pack(">i", round(value * 65_536))

    # D50-adapted columns, Adobe RGB (1998) Color Image Encoding, 2005, §4.3.5.3 (ICC profile's colorants).
    columns = ((0.60974, 0.31111, 0.01947), (0.20528, 0.62567, 0.06087), (0.14919, 0.06322, 0.74457))
    tags = {b"wtpt": b"XYZ \0\0\0\0" + s15(0.9642) + s15(1.0) + s15(0.8249)}
    for name, column in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns, strict=True):
        tags[name] = b"XYZ \0\0\0\0" + b"".join(s15(v) for v in column)
    for name in (b"rTRC", b"gTRC", b"bTRC"):
        tags[name] = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(2.19921875 * 256)) + b"\0\0"
    tags[b"desc"] = b"desc\0\0\0\0" + struct.pack(">I", 5) + b"wide\0" + b"\0" * 78 + b"\0" * 1
    tags[b"cprt"] = b"text\0\0\0\0none\0\0\0\0"
    at, table, body = 128 + 4 + 12 * len(tags), b"", b""
    for name, value in tags.items():
        value += b"\0" * (-len(value) % 4)
        table += name + struct.pack(">II", at + len(body), len(value))
        body += value
    size = at + len(body)
    head = struct.pack(">I4sI4s4s4s", size, b"none", 0x02100000, b"mntr", b"RGB ", b"XYZ ") + b"\0" * 12 + b"acsp"
    head = head.ljust(68, b"\0") + s15(0.9642) + s15(1.0) + s15(0.8249)
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


def test_a_wide_gamut_becomes_srgb() -> None:
    # Adobe RGB to linear sRGB by the two published matrices (both D65, so white stays): R' = 1.3984 R − 0.3984 G, B' of
    # −0.0429 G + 1.0429 B, G' = G (Adobe RGB (1998) §4.3.6 and IEC 61966-2-1; rounded to four places).
    pixels = np.zeros((64, 64, 3), np.uint8) + np.array([150, 140, 120], np.uint8)
    photo = open_photo(files.encoded(pixels, icc_profile=wide_gamut()), "chips.png")
    r, g, b = (pixels[0, 0] / 255.0) ** 2.19921875
    wanted = [1.3984 * r - 0.3984 * g, g, -0.0429 * g + 1.0429 * b]
    assert photo.light(photo.codes[0, 0]) == pytest.approx(wanted, rel=0.02)
    assert photo.warnings == ()
    # 16 bits with no profile: the curve of sRGB is a guess, and told as one.
    (told,) = open_photo(files.png(np.zeros((64, 64, 3), np.uint16)), "deep").warnings
    assert isinstance(told, Note)
    assert told.remedy == Remedy.SAY_LINEAR
    assert open_photo(files.png(np.zeros((64, 64, 3), np.uint16)), "deep", linear=True).warnings == ()


def test_sixteen_bits_with_a_wide_gamut_say_that_eight_are_read() -> None:
    import zlib

    profile = (b"iCCP", b"wide\0\0" + zlib.compress(wide_gamut()))
    photo = open_photo(files.png(DEEP, [profile]), "chips.png")
    assert photo.codes.dtype == np.uint8
    assert "of its 16 bits only 8 are read" in photo.warnings[0]


def test_srgb_profiles_change_nothing_and_damaged_ones_are_told() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    same = open_photo(files.encoded(RAMP, icc_profile=profile), "chips.png")
    assert np.abs(np.asarray(same.codes).astype(int) - RAMP).max() <= 1
    hurt = open_photo(files.encoded(RAMP, icc_profile=profile[:90] + b"junk" * 9), "chips.png")
    assert np.array_equal(hurt.codes, RAMP)
    assert "colour profile is damaged" in hurt.warnings[0]


def test_printing_colours_are_refused() -> None:
    stream = io.BytesIO()
    Image.fromarray(RAMP).convert("CMYK").save(stream, "JPEG")
    assert "printing colours (CMYK)" in refusal(stream.getvalue(), FileProblem)


def test_a_profile_for_other_colours_is_refused() -> None:
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    assert "colour profile is for Lab" in refusal(files.encoded(RAMP, icc_profile=lab), FileProblem)


GREY = RAMP[..., 0]
CLEAR = np.dstack([RAMP, np.full(RAMP.shape[:2], 200, np.uint8)])


@pytest.mark.parametrize(("data", "kind", "words"), [
    (files.encoded(GREY), FileProblem, "black and white, with one channel"),
    (files.encoded(GREY, "JPEG"), FileProblem, "one channel"),
    (files.encoded(GREY.astype(np.uint16) * 257), FileProblem, "one channel"),
    (files.encoded(GREY > 90), FileProblem, "one channel"),
    (files.encoded(np.asarray(Image.fromarray(RAMP).convert("P")), "PNG"), FileProblem, "one channel"),
    (files.encoded(CLEAR), FileProblem, "parts of it are transparent"),
    (files.encoded(RAMP[:63]), FileProblem, "96 × 63 pixels, too few to hold chips"),
    (files.encoded(np.zeros((64, 1025, 3), np.uint8)), FileProblem, "1025 × 64 pixels, a strip that no camera takes"),
    (b"", FileProblem, "it is empty"),
    (b"chip,thickness_mm\nb1,3\n", FileProblem, "of no kind that is known"),
    (files.encoded(RAMP, "GIF"), FileProblem, "of no kind that is known"),
    (files.encoded(RAMP, "JPEG")[:700], FileProblem, "damaged or cut short"),
    (files.encoded(RAMP)[:3000], FileProblem, "damaged or cut short"),
    (b"\0\0\0\x20ftypheic" + b"\0" * 40, FileProblem, "HEIC"),
    (b"%PDF-1.7\n", FileProblem, "of no kind that is known"),
])  # fmt: skip
def test_what_is_no_photo_of_chips(data: bytes, kind: type[Exception], words: str) -> None:
    assert words in refusal(data, kind)


@pytest.mark.parametrize("packed", ["tiff_lzw", "tiff_adobe_deflate"])
def test_a_tiff_that_is_cut_short_is_told_so(packed: str) -> None:
    whole = files.encoded(RAMP, "TIFF", compression=packed)
    for missing in (1, 20, len(whole) // 50, len(whole) // 2):
        assert "cut short" in refusal(whole[:-missing], FileProblem)


@pytest.mark.parametrize("pixels", [RAMP, DEEP])
def test_rows_that_a_png_lacks_are_not_black(pixels: np.ndarray[Any, Any]) -> None:
    height, width = pixels.shape[:2]
    for rows in (height - 1, height // 2):
        assert "rows are missing" in refusal(files.png(pixels[:rows], size=(width, height)), FileProblem, "chips.png")
    black = pixels.copy()
    black[-2:, :, :3] = 0
    assert open_photo(files.png(black), "chips.png").codes.shape[:2] == (height, width)


def test_a_palette_is_refused() -> None:
    stream = io.BytesIO()
    Image.fromarray(RAMP).convert("P", palette=Image.Palette.ADAPTIVE).save(stream, "PNG")
    assert "palette of at most 256 colours" in refusal(stream.getvalue(), FileProblem)


@pytest.mark.parametrize("kind", ["HEIF", "AVIF"])
@pytest.mark.parametrize("orientation", [1, 6, 3])
def test_what_phones_write_beside_jpeg(kind: str, orientation: int) -> None:
    pillow_heif = pytest.importorskip("pillow_heif")
    pillow_heif.register_heif_opener()
    photo = open_photo(files.encoded(RAMP, kind, quality=95, exif=files.exif(orientation)), "chips.heic")
    wanted = as_the_standard_says(RAMP, orientation)
    assert photo.codes.shape == wanted.shape
    assert np.abs(np.asarray(photo.codes).astype(int) - wanted).mean() < 4
    assert photo.rendered
    assert not photo.tones_open


def test_what_befell_a_photo_is_told() -> None:
    def happened(**tags: Any) -> str:
        block = Image.Exif()
        block[271], block[272], block[305], block[306] = (
            "Plain",
            "One",
            "1.2",
            tags.get("changed", "2027:03:01 10:00:00"),
        )
        inner = block.get_ifd(0x8769)
        inner[36867], inner[40962], inner[40963] = "2027:03:01 10:00:00", *tags.get("size", (96, 72))
        data = files.encoded(RAMP, "JPEG", quality=tags.get("quality", 95), exif=block.tobytes())
        photo = open_photo(data, "chips.jpg")
        assert photo.taken_with == "Plain One 1.2"
        return " ".join(map(str, photo.warnings))

    assert happened() == ""
    assert "it was scaled: it has 96 × 72 pixels, and the camera wrote 4032 × 3024" in happened(size=(4032, 3024))
    assert "it was cropped" in happened(size=(4032, 2268))
    assert "changed after it was taken" in happened(changed="2027:03:02 10:00:00")
    assert "to a quality of about 70" in happened(quality=70)
    assert "names no camera" in str(open_photo(files.encoded(RAMP, "JPEG", quality=95), "chips.jpg").warnings[0])


def linear_profile() -> bytes:
    """`wide_gamut` with a gamma of 1: light goes with the code (ICC.1:2010, curveType of one entry, u8Fixed8Number)."""
    return wide_gamut().replace(struct.pack(">IH", 1, round(2.19921875 * 256)), struct.pack(">IH", 1, 256))


def test_a_file_that_says_it_is_linear_is_read_so() -> None:
    import zlib

    profile = (b"iCCP", b"wide\0\0" + zlib.compress(linear_profile()))
    managed = open_photo(files.png(DEEP, [profile]), "chips.png")
    # Adobe RGB to linear sRGB, as in `test_a_wide_gamut_becomes_srgb`.
    r, g, b = DEEP[0, 0] / 65_535
    assert managed.light(managed.codes)[0, 0] == pytest.approx(
        [1.3984 * r - 0.3984 * g, g, -0.0429 * g + 1.0429 * b], abs=2e-3
    )
    assert managed.rendered
    plain = open_photo(files.png(DEEP, [(b"gAMA", struct.pack(">I", 100_000))]), "chips.png")
    assert np.allclose(plain.light(plain.codes), DEEP / 65_535)
    assert not plain.rendered
    said = open_photo(files.png(DEEP, [(b"sRGB", b"\0")]), "chips.png")
    assert not said.tones_open
    assert said.rendered


@pytest.mark.parametrize("size", [(20_000, 10_000), (9_000, 9_000), (60_000, 60_000), (2**31 - 1, 2**31 - 1)])
def test_a_bomb_is_refused_by_its_header(size: tuple[int, int]) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    said = refusal(files.png(RAMP, size=size), FileProblem)
    assert f"{caps.PHOTO_PIXELS / 1e6:.0f} million" in said
    # Kilobytes: a 200-megapixel picture would be 600 MB.
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 60_000


def test_a_webp_that_says_it_is_huge_is_refused_by_its_header() -> None:
    lossless = bytearray(files.encoded(RAMP, "WEBP", lossless=True))
    at = lossless.index(b"VP8L") + 9
    # 14 bits each of width − 1 and height − 1 (WebP Lossless Bitstream Specification, §3).
    bits = struct.unpack_from("<I", lossless, at)[0]
    struct.pack_into("<I", lossless, at, bits | 0x0FFF_FFFF)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    refusal(bytes(lossless), FileProblem)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 60_000


def test_too_many_bytes(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(caps, "PHOTO", 1000)
    assert "at most" in refusal(files.encoded(RAMP), FileProblem)
    (tmp_path / "chips.png").write_bytes(files.encoded(RAMP))
    refusal(tmp_path / "chips.png", FileProblem)


def test_files_that_are_not_there(tmp_path: Path) -> None:
    assert "no such file" in refusal(tmp_path / "none.jpg", NotThere)
    assert "a photo is needed" in refusal(tmp_path, NotThere)
    refusal("a\0b.jpg", NotThere)
    path = tmp_path / "chips.png"
    path.write_bytes(files.encoded(RAMP))
    assert np.array_equal(open_photo(path).codes, RAMP)
    assert open_photo(path).name == str(path)


def test_linear_pictures_have_no_curve() -> None:
    few = open_photo(files.encoded(RAMP), "chips.png", linear=True)
    assert np.allclose(few.light(few.codes), RAMP / 255.0)
    assert not few.rendered
    assert [said.remedy for said in few.warnings if isinstance(said, Note)] == [Remedy.WRITE_16_BITS]
    assert "keeps too little" in refusal(files.encoded(RAMP, "JPEG"), FileProblem, linear=True)
    assert "tone curve was given" in refusal(files.png(DEEP), FileProblem, linear=True, curve=srgb_curve())


def test_hdr_is_noticed() -> None:
    data = files.encoded(RAMP, "JPEG")
    photo = open_photo(data[:-2] + b"<x hdrgm:Version='1.0'/>" + data[-2:], "chips.jpg")
    assert any("HDR" in said for said in photo.warnings)


# Raw files.

LIGHT = np.zeros((72, 100, 3)) + np.array([0.5, 0.25, 0.1])
LIGHT[:36, :50] = [0.8, 0.01, 0.3]


def opened_raw(data: bytes, name: str = "chips.dng") -> Photo:
    pytest.importorskip("rawpy")
    return open_photo(data, name)


@pytest.mark.parametrize("name", ["chips.dng", "CHIPS.DNG", "upload"])
def test_raw_gives_linear_channels_as_the_sensor_had_them(name: str) -> None:
    photo = opened_raw(files.dng(files.mosaic_of(LIGHT)), name)
    assert not photo.rendered
    # Black off, no white balance, no matrix, no curve: to half a step of the sensor's 14 bits.
    assert photo.light(photo.codes) == pytest.approx(LIGHT, abs=4e-5)


def test_raw_is_upright_and_knows_when_it_is_full() -> None:
    full = np.array(LIGHT)
    full[:10] = 1.0
    photo = opened_raw(files.dng(files.mosaic_of(full), orientation=6))
    assert photo.codes.shape == (100, 72, 3)
    assert np.array_equal(photo.codes >= photo.clipped_at, as_the_standard_says(full, 6) == 1.0)


def test_raw_does_not_stretch_to_its_brightest_pixel() -> None:
    dim = opened_raw(files.dng(files.mosaic_of(0.1 * LIGHT)))
    assert dim.light(dim.codes) == pytest.approx(0.1 * LIGHT, abs=4e-5)


def test_raw_settings() -> None:
    settings = [
        (33_434, 5, 1, struct.pack("<2I", 1, 50)),
        (33_437, 5, 1, struct.pack("<2I", 8, 1)),
        (34_855, 3, 1, struct.pack("<H", 100)),
    ]
    photo = opened_raw(files.dng(files.mosaic_of(LIGHT), extra=settings))
    assert photo.settings["exposure_s"] == pytest.approx(1 / 50)
    assert photo.settings["f_number"] == pytest.approx(8)


def test_raw_that_is_damaged() -> None:
    pytest.importorskip("rawpy")
    for data in (b"", b"II*\0", b"junk" * 99, files.dng(files.mosaic_of(LIGHT))[:60]):
        refusal(data, FileProblem, "chips.dng")


def test_a_raw_file_is_no_rendered_photo() -> None:
    assert "tone curve was given" in refusal(b"II*\0", FileProblem, "chips.nef", curve=srgb_curve())


def test_raw_without_the_library(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name: str, *rest: Any, **more: Any) -> Any:
        if name == "rawpy":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    said = refusal(files.dng(files.mosaic_of(LIGHT)), LibraryMissing, "chips.dng")
    assert "needs the library rawpy, which is not installed" in said


# Tone-curve files.


def test_a_tone_curve_comes_back(tmp_path: Path) -> None:
    path = tmp_path / "curve.csv"
    path.write_text(curve_to_text(srgb_curve()), encoding="utf-8")
    assert read_tone_curve(path).table == pytest.approx(srgb_curve().table, rel=1e-5)


GOOD = curve_to_text(srgb_curve())


@pytest.mark.parametrize(("text", "words"), [
    (GOOD.replace("code,R,G,B", "code,R,G"), "columns"),
    ("\n".join(GOOD.split("\n")[:200]) + "\n", "rows"),
    (GOOD.replace("\n7,", "\n8,"), "not the code 7"),
    (GOOD.replace("\n255,1,", "\n255,0.5,"), "does not rise"),
    (GOOD.replace("\n255,1,", "\n255,nan,"), "three numbers"),
    (GOOD.replace("\n255,1,", "\n255,-1,"), "does not rise"),
])  # fmt: skip
def test_bad_tone_curves(text: str, words: str) -> None:
    with pytest.raises(FileProblem, match=words):
        parse_tone_curve(text, "curve.csv")
