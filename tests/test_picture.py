import io

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from scoring.metrics import FaceName
from scoring.picture import GAP_RGB, REFERENCE_RGB, ZONE_RGB, draw_face
from scoring.registration.face import RectifiedFace

PX_PER_MM = 20.0


def grey_face(face: FaceName, *, dark_u_mm: float | None = None) -> RectifiedFace:
    """A plain face as it is resampled, 2 mm around; one column dark if asked."""
    light = np.full((28 * 20 + 1, 104 * 20 + 1, 3), 0.3, dtype=np.float32)
    if dark_u_mm is not None:
        light[:, round((dark_u_mm + 2) * PX_PER_MM)] = 0.01
    return RectifiedFace(face, light, np.zeros(light.shape[:2], bool), PX_PER_MM, -2.0, 26.0)


def pixels(jpeg: bytes) -> NDArray[np.int64]:
    with Image.open(io.BytesIO(jpeg)) as picture:
        return np.asarray(picture.convert("RGB"), dtype=np.int64)


def near(picture: NDArray[np.int64], rgb: tuple[int, int, int],
         row: int) -> list[float]:  # fmt: skip
    """The u of each pixel of ``row`` whose colour is about ``rgb``; JPEG blurs thin lines."""
    off = np.abs(picture[row] - np.array(rgb)).max(axis=1)
    return [float(j / PX_PER_MM - 2) for j in np.flatnonzero(off < 60)]


def test_zones_stand_where_the_blade_has_them() -> None:
    picture = pixels(draw_face(grey_face(FaceName.RINGDOWN)))
    assert picture.shape == (561, 2081, 3)
    zone = near(picture, ZONE_RGB, row=280)
    assert min(zone) == pytest.approx(4.0, abs=0.1)  # blade.toml: zone_u_mm = [4.0, 64.0]
    assert max(zone) == pytest.approx(64.0, abs=0.1)
    facets = near(picture, REFERENCE_RGB, row=280)
    assert min(facets) == pytest.approx(68.0, abs=0.1)
    assert max(facets) == pytest.approx(93.0, abs=0.1)


@pytest.mark.parametrize("shift_mm", [0.6, -0.4, 0.013])
def test_a_shift_moves_the_face_and_not_the_zones(shift_mm: float) -> None:
    jpeg = draw_face(grey_face(FaceName.RINGDOWN, dark_u_mm=30.0 + shift_mm), shift_mm=shift_mm)
    picture = pixels(jpeg)
    dark = 255 - picture[280].sum(axis=1) / 3
    dark = np.maximum(dark - np.median(dark), 0)
    u = np.arange(picture.shape[1]) / PX_PER_MM - 2
    inside = (u > 28) & (u < 32)
    assert dark[inside] @ u[inside] / dark[inside].sum() == pytest.approx(30.0, abs=0.03)
    assert min(near(picture, ZONE_RGB, row=280)) == pytest.approx(4.0, abs=0.1)


def test_open_gaps_are_tinted() -> None:
    face = grey_face(FaceName.FLOW)
    mask = np.zeros(face.clipped.shape, bool)
    mask[300:304, 1200:1400] = True
    plain, tinted = pixels(draw_face(face)), pixels(draw_face(face, open_mask=mask))
    inside = tinted[301:303, 1210:1390].mean(axis=(0, 1))
    assert np.abs(inside - (0.4 * plain[301, 1300] + 0.6 * np.array(GAP_RGB))).max() < 25
    assert np.array_equal(plain[400:], tinted[400:])
