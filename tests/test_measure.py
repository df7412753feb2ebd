"""One photo's whole way: invariants, refusals, and what goes into the JSON."""

import io
import json
from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from scoring.errors import (
    CardNotFoundError,
    PhotoTooCoarseError,
    PhotoUnreadableError,
    ScoringError,
    SettingsError,
    TooFewMarkersError,
    WrongFaceError,
)
from scoring.flags import Flag
from scoring.label import Label
from scoring.measure import measure_photo, place_photo, placing_flags
from scoring.metrics import METRICS, FaceName
from scoring.motion import Motion
from scoring.photo.srgb import srgb_code, srgb_curve
from scoring.shading.paper import FULL_CODE
from tests.reference_photos import photo_named

PHOTO = photo_named("ringdown", "two-modes-red")
with Image.open(PHOTO.path) as _opened:
    PIXELS, EXIF = np.asarray(_opened), _opened.getexif()


def _png(pixels: np.ndarray, exif: Image.Exif = EXIF) -> bytes:
    data = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(pixels)).save(data, "PNG", compress_level=1, exif=exif)
    return data.getvalue()


def _peak(data: bytes, motion: Motion = PHOTO.motion) -> tuple[float, float]:
    metrics = measure_photo(data, name="a.png", motion=motion).measurement.metrics
    return metrics["ripple_peak_um"].value, metrics["ripple_rms_um"].value


UPRIGHT = _peak(_png(PIXELS))
FEW = settings(max_examples=4, suppress_health_check=[HealthCheck.too_slow])


@FEW
@given(quarters=st.integers(1, 3))
def test_a_turned_photo_gives_the_same_ripple(quarters: int) -> None:
    assert _peak(_png(np.rot90(PIXELS, quarters))) == pytest.approx(UPRIGHT, rel=0.02)


@FEW
@given(gain=st.floats(0.5, 0.95))
def test_a_darker_photo_gives_the_same_ripple(gain: float) -> None:
    """Less light on the sensor: of a photo without a tone curve, which would not scale.

    What full scale cut off stays cut off, as its light is not in the file to be scaled.
    """
    plain = photo_named("ringdown", "two-modes-natural")
    codes = np.round(255 * srgb_code(gain * srgb_curve(np.arange(256) / 255))).astype(np.uint8)
    with Image.open(plain.path) as opened:
        pixels, exif = np.asarray(opened), opened.getexif()
    assert plain.truth["conditions"]["development"]["tone_s"] == 0
    darkened = codes[pixels]
    darkened[pixels.max(axis=2) >= FULL_CODE] = 255
    bright, dark = (_peak(_png(p, exif), plain.motion) for p in (pixels, darkened))
    assert dark == pytest.approx(bright, rel=0.03)


@FEW
@given(scale=st.sampled_from([0.9, 0.95, 1.2, 1.5]))
def test_a_rescaled_photo_gives_the_same_ripple(scale: float) -> None:
    image = Image.fromarray(PIXELS)
    size = (round(image.width * scale), round(image.height * scale))
    assert _peak(_png(np.asarray(image.resize(size, Image.Resampling.LANCZOS)))) == pytest.approx(
        UPRIGHT, rel=0.02
    )


def test_json_is_the_contract() -> None:
    measured = measure_photo(PHOTO.path, name="a.jpg", motion=PHOTO.motion)
    said = json.loads(json.dumps(measured.measurement.to_json()))
    assert list(said) == [
        "photo", "face", "run", "axis", "registration", "metrics", "modes", "flags",
    ]  # fmt: skip
    assert set(said["registration"]) == {"markers", "residual_mm", "mm_per_px"}
    assert set(said["metrics"]) <= {m.name for m in METRICS if m.face is FaceName.RINGDOWN}
    for estimate in said["metrics"].values():
        assert estimate["low"] <= estimate["value"] <= estimate["high"]
    assert set(said["modes"][0]) == {
        "envelope_um", "frequency_hz", "damping_ratio", "wavelength_mm",
    }  # fmt: skip


def test_picture_of_the_face_spans_the_coupon_and_its_margins() -> None:
    measured = measure_photo(PHOTO.path, name="a.jpg", motion=PHOTO.motion)
    face = Image.open(io.BytesIO(measured.face_jpeg))
    assert face.width / face.height == pytest.approx(104 / 28, rel=0.01)


def test_motion_may_hang_on_the_label() -> None:
    seen: list[Label | None] = []

    def motion(label: Label | None) -> Motion:
        seen.append(label)
        return PHOTO.motion

    measure_photo(PHOTO.path, name="a.jpg", motion=motion)
    assert seen == [Label(PHOTO.truth["run"], PHOTO.truth["axis"], FaceName.RINGDOWN)]


def test_missing_settings_are_told() -> None:
    def motion(label: Label | None) -> Motion:
        raise SettingsError("no settings")

    with pytest.raises(SettingsError):
        measure_photo(PHOTO.path, name="a.jpg", motion=motion)


def test_another_face_than_asked_for_is_refused() -> None:
    with pytest.raises(WrongFaceError, match="ring-down face"):
        measure_photo(PHOTO.path, name="a.jpg", motion=PHOTO.motion, face=FaceName.FLOW)


def test_a_picture_without_the_card_is_refused() -> None:
    """Photographs from scikit-image's own data: no card, no false marker."""
    from skimage import data  # noqa: PLC0415  slow to import, used here only

    for name in ("coins", "page", "brick"):
        picture = getattr(data, name)()
        with pytest.raises((CardNotFoundError, TooFewMarkersError)):
            measure_photo(_png(picture), name="a.png", motion=PHOTO.motion)


def test_too_few_markers_are_refused() -> None:
    corners = np.array([[c["x_px"], c["y_px"]] for c in PHOTO.truth["picture"]["face_corners"]])
    pixels = PIXELS.copy()
    pixels[: int(corners[:, 1].min()) - 80] = 120
    pixels[int(corners[:, 1].max()) + 80 :] = 120
    with pytest.raises(TooFewMarkersError, match="at least 4"):
        measure_photo(_png(pixels), name="a.png", motion=PHOTO.motion)


@pytest.mark.parametrize("data", [b"", b"no picture", PHOTO.path.read_bytes()[:200_000]])
def test_a_broken_file_is_refused(data: bytes) -> None:
    with pytest.raises(PhotoUnreadableError, match=r"a\.jpg"):
        measure_photo(data, name="a.jpg", motion=PHOTO.motion)


def test_a_white_face_is_refused_as_clipped() -> None:
    brighter = np.clip(PIXELS.astype(np.float64) * 1.9, 0, 255).astype(np.uint8)
    with pytest.raises(ScoringError) as caught:
        measure_photo(_png(brighter), name="a.png", motion=PHOTO.motion)
    assert caught.value.code == "photo-clipped"


@pytest.mark.parametrize(
    ("folder", "name"), [("ringdown", "two-modes-red"), ("demo", "alder-stock-1k-flow")]
)
def test_numbers_are_the_same_without_a_picture(folder: str, name: str) -> None:
    photo = photo_named(folder, name)
    drawn, bare = (
        measure_photo(photo.path, name="a.jpg", motion=photo.motion, picture=picture)
        for picture in (True, False)
    )
    assert bare.face_jpeg == b""
    assert bare.measurement.flags == drawn.measurement.flags
    for metric, estimate in drawn.measurement.metrics.items():
        other = bare.measurement.metrics[metric]
        assert other.value == pytest.approx(estimate.value, rel=1e-6), metric
        assert other.high == pytest.approx(estimate.high, rel=1e-6), metric


def test_markers_that_hardly_fit_make_places_unsure() -> None:
    """Over a third of 0.05 mm at the markers is taken for over 0.05 mm far from them."""
    placed, label = place_photo(PHOTO.path, name="a.jpg", face=None)
    for off_mm, unsure in ((0.015, False), (0.018, True)):
        pose = replace(placed.pose, residual_px=off_mm * placed.px_per_mm)
        sure = replace(placed.coupon, sure=True)
        flags = placing_flags(replace(placed, pose=pose, coupon=sure), label)
        assert (Flag.OUTLINE_UNSURE in flags) == unsure


@pytest.mark.parametrize("threads", [1, 2])
def test_the_label_is_read_alike_beside_the_coupon_and_after_it(threads: int) -> None:
    """Workers of many have one thread; a refusal of the coupon comes through either way."""
    usual = cv2.getNumThreads()
    cv2.setNumThreads(threads)
    try:
        _, label = place_photo(PHOTO.path, name="a.jpg", face=None)
        assert label is not None
        assert label.run == PHOTO.truth["run"]
        with pytest.raises(PhotoTooCoarseError):
            place_photo(photo_named("ringdown", "refuse-too-coarse").path, name="b.jpg", face=None)
    finally:
        cv2.setNumThreads(usual)
