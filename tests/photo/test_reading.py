"""Photos are foreign files: read upright, in sRGB, and written again with nothing but pixels."""

import struct
import zlib
from contextlib import suppress
from io import BytesIO

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms, PngImagePlugin

from pmulab.errors import UserError
from pmulab.photo.reading import MOST_BYTES, clean_jpeg, read_photo

NAMES = (b"Somebody", b"Phone 7", b"2026:03", b"GPS", b"secret")


def picture(width=40, height=24):
    pixels = np.zeros((height, width, 3), dtype=np.uint8)
    pixels[:, : width // 2] = (200, 40, 40)
    pixels[:, width // 2 :] = (40, 40, 200)
    pixels[: height // 2] //= 2
    return pixels


def saved(pixels, kind="JPEG", **how):
    target = BytesIO()
    Image.fromarray(pixels).save(target, kind, **how)
    return target.getvalue()


def telling():
    exif = Image.Exif()
    exif[271], exif[306], exif[315] = "Phone 7", "2026:03:01 10:00:00", "Somebody"
    place = exif.get_ifd(0x8825)
    place[1], place[2] = "N", (10.0, 20.0, 30.0)
    return exif


# Exif 2.32, tag 0x0112: how row 0 and column 0 of the file are to be seen.
@pytest.mark.parametrize(
    ("orientation", "turn"),
    [
        (1, lambda a: a),
        (2, lambda a: a[:, ::-1]),
        (3, lambda a: a[::-1, ::-1]),
        (4, lambda a: a[::-1]),
        (5, lambda a: a.transpose(1, 0, 2)),
        (6, lambda a: np.rot90(a, -1)),
        (7, lambda a: a[::-1, ::-1].transpose(1, 0, 2)),
        (8, lambda a: np.rot90(a, 1)),
    ],
)
def test_a_photo_comes_upright_in_all_eight_orientations(orientation, turn):
    exif = Image.Exif()
    exif[274] = orientation
    seen = read_photo(saved(picture(), "PNG", exif=exif))

    assert np.array_equal(turn(picture()), seen)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIF"])
def test_nothing_but_pixels_survives(kind):
    if kind == "HEIF":
        pytest.importorskip("pillow_heif").register_heif_opener()
    text = PngImagePlugin.PngInfo()
    text.add_text("Author", "Somebody secret")
    more = {"JPEG": {"comment": b"secret"}, "PNG": {"pnginfo": text}, "HEIF": {}}[kind]
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    told = saved(picture(64, 64), kind, exif=telling(), icc_profile=profile, **more)
    assert any(name in told for name in NAMES)

    clean = clean_jpeg(told)

    assert not any(name in clean for name in NAMES)
    with Image.open(BytesIO(clean)) as image:
        assert not image.getexif()
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert image.size == (64, 64)
    # every segment of the file: only what a picture needs (ITU-T T.81, table B.1)
    assert markers(clean) <= {0xD8, 0xE0, 0xDB, 0xC0, 0xC4, 0xDA, 0xD9}


def markers(jpeg):
    found, at = {0xD8}, 2
    while jpeg[at + 1] != 0xDA:
        found.add(jpeg[at + 1])
        at += 2 + struct.unpack(">H", jpeg[at + 2 : at + 4])[0]
    return found


def test_mirroring_swaps_left_and_right_only():
    clean = clean_jpeg(saved(picture(), "PNG"), mirror=True)

    assert np.abs(read_photo(clean).astype(int) - picture()[:, ::-1]).max() < 25


@pytest.mark.parametrize(("longest", "size"), [(20, (20, 12)), (500, (40, 24)), (None, (40, 24))])
def test_a_photo_is_only_ever_made_smaller(longest, size):
    with Image.open(BytesIO(clean_jpeg(saved(picture(), "PNG"), longest=longest))) as image:
        assert size == image.size


def test_longest_must_leave_a_pixel():
    with pytest.raises(ValueError, match="at least 1"):
        clean_jpeg(saved(picture()), longest=0)


def wide_profile():
    """A profile with the primaries of SMPTE EG 432-1 on D65 and a power law of 2.2.

    Built as ICC.1:2001-04 lays a matrix profile out; columns adapted to D50 (from memory: the
    figures that phone makers ship).
    """

    def xyz(*values):
        return b"XYZ \0\0\0\0" + b"".join(struct.pack(">i", round(v * 65536)) for v in values)

    text = b"desc\0\0\0\0" + struct.pack(">I", 5) + b"Wide\0" + bytes(8 + 3 + 67)
    gamma = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(2.2 * 256)) + bytes(2)
    tags = {
        b"desc": text, b"cprt": b"text\0\0\0\0none\0", b"wtpt": xyz(0.9642, 1.0, 0.8249),
        b"rXYZ": xyz(0.51512, 0.24120, -0.00105), b"gXYZ": xyz(0.29198, 0.69225, 0.04189),
        b"bXYZ": xyz(0.15710, 0.06657, 0.78407), b"rTRC": gamma, b"gTRC": gamma, b"bTRC": gamma,
    }  # fmt: skip
    at, table, body = 128 + 4 + 12 * len(tags), b"", b""
    for name, content in tags.items():
        content += bytes(-len(content) % 4)
        table += name + struct.pack(">II", at + len(body), len(content))
        body += content
    head = struct.pack(
        ">I4sI4s4s4s12s4s44s", at + len(body), b"", 0x02400000, b"mntr", b"RGB ", b"XYZ ",
        struct.pack(">6H", 2020, 1, 1, 0, 0, 0), b"acsp", b"",
    )  # fmt: skip
    head = head[:68] + struct.pack(">3i", 63190, 65536, 54061) + bytes(48)
    return head + struct.pack(">I", len(tags)) + table + body


def test_a_wider_colour_space_is_converted():
    """The red of a wide space lies outside sRGB; a grey stays the grey that it is."""
    wide = np.array([[[200, 100, 60], [128, 128, 128]]], dtype=np.uint8)
    seen = read_photo(saved(wide, "PNG", icc_profile=wide_profile())).astype(float)

    # primaries on D65 (SMPTE EG 432-1, IEC 61966-2-1), worked out in floating point
    light = (wide / 255.0) ** 2.2
    wide_to_srgb = np.array(
        [[1.2249, -0.2247, 0.0], [-0.0420, 1.0419, 0.0], [-0.0197, -0.0786, 1.0979]]
    )  # from memory
    expected = light @ wide_to_srgb.T
    encoded = np.where(
        expected <= 0.0031308, 12.92 * expected, 1.055 * expected ** (1 / 2.4) - 0.055
    )
    assert np.abs(seen - 255 * encoded).max() < 2.5
    assert seen[0, 0, 0] > 205


def test_what_is_transparent_becomes_white():
    hidden = np.dstack([picture(), np.zeros((24, 40), dtype=np.uint8)])

    assert np.unique(read_photo(saved(hidden, "PNG"))).tolist() == [255]


def chunk(kind, body):
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def huge(width, height):
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


@pytest.mark.parametrize(("width", "height"), [(10_000, 8_000), (40_000, 40_000), (2**30, 2**30)])
def test_a_picture_that_would_unpack_too_large_is_not_unpacked(width, height):
    with pytest.raises(UserError, match="megapixels"):
        read_photo(huge(width, height))


def test_a_file_that_is_too_large_is_not_opened():
    with pytest.raises(UserError, match="MB"):
        read_photo(bytes(MOST_BYTES + 1))


@pytest.mark.parametrize(
    "data",
    [b"", b"hello", saved(picture())[:200], saved(picture(), "PNG")[:60], saved(picture(), "GIF"),
     saved(picture(), "TIFF"), b"\x00\x00\x00\x18ftypheic" + bytes(40)],
)  # fmt: skip
def test_what_is_no_photo_is_refused_in_words(data):
    with pytest.raises(UserError) as told:
        read_photo(data)

    assert "photo" in told.value.what
    assert told.value.remedy


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["JPEG", "PNG"]), st.integers(0, 2**31), st.integers(1, 20))
def test_a_damaged_photo_is_read_or_refused_and_nothing_else(kind, seed, many):
    rng = np.random.default_rng(seed)
    data = bytearray(saved(picture(), kind, exif=telling()))
    for place in rng.integers(0, len(data), many):
        data[place] = rng.integers(0, 256)

    with suppress(UserError):
        assert read_photo(bytes(data)).ndim == 3
