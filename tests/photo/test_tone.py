import struct

import imagecodecs
import numpy as np
import pytest
from PIL import ImageCms

from scoring.errors import PhotoUnreadableError
from scoring.photo.srgb import srgb_curve
from scoring.photo.tone import (
    bt709_curve,
    linear_curve,
    power_curve,
    profile_curve,
)

CODE = np.arange(256) / 255


def icc_profile(gammas: tuple[float, float, float]) -> bytes:
    """A display profile of three power curves, written by hand after ICC.1:2001-04 (from memory).

    A ``curv`` of one entry is an exponent in 8.8 fixed point; the XYZ tags are sRGB's primaries.
    """

    def s15(*values: float) -> bytes:
        return struct.pack(f">{len(values)}i", *(round(v * 65536) for v in values))

    def xyz(*values: float) -> bytes:
        return b"XYZ \0\0\0\0" + s15(*values)

    tags = {
        b"desc": b"desc\0\0\0\0" + struct.pack(">I", 2) + b"t\0" + bytes(78 + 2),
        b"cprt": b"text\0\0\0\0t\0\0\0",
        b"wtpt": xyz(0.9642, 1.0, 0.8249),
        b"rXYZ": xyz(0.4361, 0.2225, 0.0139),
        b"gXYZ": xyz(0.3851, 0.7169, 0.0971),
        b"bXYZ": xyz(0.1431, 0.0606, 0.7141),
    }
    for name, gamma in zip((b"rTRC", b"gTRC", b"bTRC"), gammas, strict=True):
        tags[name] = b"curv\0\0\0\0" + struct.pack(">IHH", 1, round(gamma * 256), 0)
    table, body = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, content in tags.items():
        table += name + struct.pack(">II", start + len(body), len(content))
        body += content + bytes(-len(content) % 4)
    header = struct.pack(
        ">I4sI4s4s4s", start + len(body), bytes(4), 0x02400000, *(b"mntr", b"RGB ", b"XYZ ")
    )
    header += struct.pack(">6H", 2000, 1, 1, 0, 0, 0) + b"acsp" + bytes(28) + s15(0.9642, 1, 0.8249)
    return header.ljust(128, b"\0") + table + body


def test_bt709_at_the_standards_own_points() -> None:
    # ITU-R BT.709-6, item 1.2: V = 1.099 L^0.45 - 0.099 from L = 0.018 on, 4.5 L below.
    light = np.array([0.0, 0.01, 0.018, 0.1, 0.5, 1.0])
    code = np.where(light < 0.018, 4.5 * light, 1.099 * light**0.45 - 0.099)
    assert bt709_curve(code) == pytest.approx(light, abs=2e-4)


def test_linear_and_power() -> None:
    assert linear_curve(CODE) == pytest.approx(CODE)
    assert power_curve(2.0)(CODE)[128] == pytest.approx((128 / 255) ** 2)


@pytest.mark.parametrize("levels", [256, 65536])
def test_pillows_srgb_profile_is_srgb(levels: int) -> None:
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    code = np.linspace(0, 1, levels)
    light = profile_curve(icc)(code)
    assert light.shape == (levels, 3)
    for channel in range(3):
        assert light[:, channel] == pytest.approx(srgb_curve(code), abs=2e-5)


def test_a_wide_profile_keeps_its_own_exponent() -> None:
    # Adobe RGB (1998), 4.3.4.2: the exponent is 2.19921875. Little CMS writes the profile.
    light = profile_curve(imagecodecs.cms_profile("adobergb"))(CODE)
    assert light[:, 1] == pytest.approx(CODE**2.19921875, abs=2e-5)


def test_each_channel_has_its_own_curve() -> None:
    gammas = (1.0, 1.5, 2.5)
    light = profile_curve(icc_profile(gammas))(CODE)
    for channel, gamma in enumerate(gammas):
        assert light[:, channel] == pytest.approx(CODE**gamma, abs=2e-5)


def test_grey_profile_gives_one_column() -> None:
    light = profile_curve(imagecodecs.cms_profile("gray", gamma=1.8))(CODE)
    assert light.shape == (256, 1)
    # The profile holds its exponent in 8.8 fixed point: 1.8 is 461/256 there.
    assert light[:, 0] == pytest.approx(CODE**1.8, abs=5e-4)


@pytest.mark.parametrize(
    ("icc", "words"),
    [
        (icc_profile((1.0, 1.0, 1.0))[:150], "damaged"),
        (icc_profile((1.0, 1.0, 1.0)).replace(b"RGB ", b"CMYK"), "CMYK"),
        (b"", "not for RGB"),
    ],
)
def test_a_profile_that_cannot_be_followed_is_refused(icc: bytes, words: str) -> None:
    with pytest.raises(PhotoUnreadableError, match=words):
        profile_curve(icc)(CODE)
