import cv2
import numpy as np
import pytest
import segno
from numpy.typing import NDArray

from scoring.label import Label, label_text
from scoring.metrics import FaceName
from scoring.photo.label import read_label

Grey = NDArray[np.uint8]
BAY_MM, CODE_MM = 20, 16
PAPER, INK = 225, 25


def bay(
    text: str,
    rng: np.random.Generator,
    *,
    px_per_mm: int = 12,
    turn_deg: float = 0.0,
    soft_mm: float = 0.0,
    noise: float = 4.0,
    shadow: float = 1.0,
) -> Grey:
    """The label bay as a rectified photo shows it: code by segno, optics by OpenCV."""
    fine = 40
    modules = np.array(list(segno.make(text, error="m", micro=False).matrix_iter(border=4)))
    code = np.where(modules > 0, INK, PAPER).astype(np.uint8)
    side = CODE_MM * fine
    picture = np.full((BAY_MM * fine, BAY_MM * fine), PAPER, np.uint8)
    picture[:side, 2 * fine : 2 * fine + side] = cv2.resize(
        code, (side, side), interpolation=cv2.INTER_NEAREST
    )
    centre = BAY_MM * fine / 2
    turn = cv2.getRotationMatrix2D((centre, centre), turn_deg, 1.0)
    turned = cv2.warpAffine(picture, turn, picture.shape, borderValue=PAPER)
    if soft_mm:
        turned = cv2.GaussianBlur(turned, (0, 0), soft_mm * fine)
    size = BAY_MM * px_per_mm
    seen = cv2.resize(turned, (size, size), interpolation=cv2.INTER_AREA).astype(float)
    seen = seen * np.linspace(1, shadow, size) + rng.normal(0, noise, seen.shape)
    return np.clip(seen, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("run", ["B7-012", "0", "A" * 32])
@pytest.mark.parametrize("face", list(FaceName))
@pytest.mark.parametrize("turn_deg", [0, 7, 90, 180, 268])
def test_round_trip(rng: np.random.Generator, run: str, face: FaceName, turn_deg: float) -> None:
    grey = bay(label_text(run, "y", face.value), rng, turn_deg=turn_deg)
    assert read_label(grey) == Label(run, "y", face)


@pytest.mark.parametrize("px_per_mm", [8, 12, 20, 40])
@pytest.mark.parametrize("soft_mm", [0.0, 0.1, 0.15])
def test_soft_noisy_and_shaded(rng: np.random.Generator, px_per_mm: int, soft_mm: float) -> None:
    text = label_text("B7-012", "x", "flow")
    grey = bay(text, rng, px_per_mm=px_per_mm, soft_mm=soft_mm, noise=6, shadow=0.4, turn_deg=3)
    assert read_label(grey) == Label("B7-012", "x", FaceName.FLOW)


def test_a_dim_photo(rng: np.random.Generator) -> None:
    grey = bay(label_text("B7-012", "x", "flow"), rng, noise=0)
    assert read_label((grey // 3).astype(np.uint8)) == Label("B7-012", "x", FaceName.FLOW)


def test_a_bay_without_label(rng: np.random.Generator) -> None:
    paper = np.clip(200 + rng.normal(0, 5, (240, 240)), 0, 255).astype(np.uint8)
    half_shaded = (paper * np.linspace(1, 0.5, 240)).astype(np.uint8)
    outlined = cv2.rectangle(paper.copy(), (20, 20), (220, 220), 120, 3)
    assert read_label(paper) is None
    assert read_label(half_shaded) is None
    assert read_label(np.asarray(outlined, np.uint8)) is None


def test_a_picture_that_is_no_code(picture: Grey) -> None:
    assert read_label(np.ascontiguousarray(picture[..., 0])) is None


@pytest.mark.parametrize("text", ["https://example.org/", "coupon:b7:x:flow", "coupon:B7:z:flow"])
def test_a_code_that_is_no_run_label(rng: np.random.Generator, text: str) -> None:
    assert read_label(bay(text, rng)) is None


@pytest.mark.parametrize("shape", [(0, 0), (1, 1), (0, 50), (3, 200)])
def test_degenerate_crops(shape: tuple[int, int]) -> None:
    noise = np.indices(shape).sum(axis=0) * 97 % 256
    assert read_label(noise.astype(np.uint8)) is None
