"""Known lamp, tone curve and filament in, the same out."""

from collections.abc import Callable
from dataclasses import replace
from operator import attrgetter

import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.shading.account import Shading, trace_line
from scoring.shading.calibrate import Calibration, calibrate, calibrate_together
from scoring.shading.evidence import Evidence, Take
from scoring.shading.tone import luma_light
from tests.shading.drawn_evidence import (
    burnt_out,
    draw_evidence,
    with_layer_line,
    without_card,
    without_ink,
)
from tests.shading.drawn_shading import (
    BAY_MM,
    CAMERA_MM,
    PLACEMENT,
    lamp_at,
    shading_under,
)

NAMES = ("contrast", "power", "stray", "roughness", "strength", "grazing")
LAMP_MM = lamp_at(azimuth_deg=172, elevation_deg=18, flat_mm=420)


def _calibrate(truth: Shading, evidence: Evidence | None = None) -> Calibration:
    return calibrate(evidence or draw_evidence(truth), PLACEMENT, CAMERA_MM)


def _sd(found: Calibration, tell: Callable[[Shading], NDArray[np.float64]]) -> float:
    """Standard deviation of what ``tell`` says, as the steps have it."""
    return float(np.linalg.norm(tell(found.ahead) - tell(found.behind))) / 2


def _doubt(found: Calibration) -> float:
    return _sd(found, _slope_gain)


def _farther_doubt(found: Calibration) -> float:
    """The same by each step's farther side, as sizes have it."""
    here = _slope_gain(found.shading)
    sides = np.abs([_slope_gain(found.ahead) - here, _slope_gain(found.behind) - here])
    return float(np.linalg.norm(sides.max(axis=0)))


def _lamp_distance_mm(shading: Shading) -> NDArray[np.float64]:
    return np.asarray(np.linalg.norm(shading.lamp_mm - np.append(BAY_MM, 0.0), axis=-1))


def _lamp_height_mm(shading: Shading) -> NDArray[np.float64]:
    return shading.lamp_mm[..., 2]


def _slope_gain(shading: Shading) -> NDArray[np.float64]:
    """Relative light per unit of slope at u = 10 mm: what heights hang on."""
    line = trace_line(PLACEMENT, CAMERA_MM, np.array([10.0]))
    low, high = (
        luma_light(shading.code(shading.channels(shading.sight(line), np.array([s]))))[..., 0]
        for s in (-0.02, 0.02)
    )
    return np.asarray((high - low) / (high + low) / 0.02)


@pytest.mark.parametrize("contrast", [0.0, 0.18, 0.4])
@pytest.mark.parametrize("roughness", [0.3, 0.5, 0.7])
def test_known_account_comes_back(contrast: float, roughness: float) -> None:
    """Priors stand elsewhere; of noiseless light only the pull of those may be left.

    Distance, tone curve, stray light, gloss and matt law can partly stand in for each other: each
    comes back within its own 95 %, and what heights hang on within a standard deviation of 3 % at
    most.
    """
    truth = shading_under(LAMP_MM, contrast=contrast, roughness=roughness)
    calibration = _calibrate(truth)
    assert abs(_slope_gain(calibration.shading) - _slope_gain(truth)) < _doubt(calibration)
    assert _doubt(calibration) < 0.03 * _slope_gain(truth)
    tellers: list[Callable[[Shading], NDArray[np.float64]]] = [
        _lamp_distance_mm,
        *map(attrgetter, NAMES),
        *(lambda s, k=k: s.albedo[..., k] for k in range(3)),
    ]
    for told in tellers:
        assert abs(told(calibration.shading) - told(truth)) < 1.96 * _sd(calibration, told)
    assert calibration.shading.exposure == pytest.approx(truth.exposure, rel=0.02)


@pytest.mark.parametrize("power", [0.0, 1.0])
def test_a_lens_that_loses_light_outwards_is_not_taken_for_a_near_lamp(power: float) -> None:
    """A third of the light is lost in the picture's corners: the lamp stays where it is."""
    truth = shading_under(LAMP_MM, vignette=0.4)
    found = _calibrate(truth, draw_evidence(truth, power=power))
    assert found.shading.vignette == pytest.approx(0.4, abs=0.02)
    assert found.shading.lamp_mm == pytest.approx(truth.lamp_mm, abs=0.02 * 420)
    assert _slope_gain(found.shading) == pytest.approx(_slope_gain(truth), rel=0.01)


@pytest.mark.parametrize("vignette", [0.0, 0.4])
@pytest.mark.parametrize("aim_mm", [(105.0, 74.0), (165.0, 34.0), (60.0, 74.0)])
def test_a_lamp_in_a_shade_is_not_taken_for_another_place_or_tone_curve(
    aim_mm: tuple[float, float], vignette: float
) -> None:
    """The cosine's fourth power; taken for a bulb's, heights were 5 % off, the lamp 54 mm."""
    truth = shading_under(LAMP_MM, vignette=vignette)
    found = _calibrate(truth, draw_evidence(truth, power=4.0, aim_mm=aim_mm))
    assert found.shading.beam == pytest.approx(4.0, abs=1.96 * _sd(found, attrgetter("beam")))
    assert found.shading.lamp_mm == pytest.approx(truth.lamp_mm, abs=0.05 * 420)
    assert _slope_gain(found.shading) == pytest.approx(_slope_gain(truth), rel=0.01)


@pytest.mark.parametrize("power", [0.85, 1.2])
def test_a_camera_of_another_exponent_is_within_its_doubt(power: float) -> None:
    """1.2 is a curve of 1/1.8 read as one of 1/2.2, 0.85 one of 1/2.6.

    Within 95 %, not one standard deviation: the exponent's prior is 6 %, and 0.85 lies 2.7 of it
    away. Contrast and shoulder stand in for what the exponent itself lags behind.
    """
    truth = shading_under(LAMP_MM, power=power)
    found = _calibrate(truth)
    assert (found.shading.power - 1) * (power - 1) > 0
    assert abs(_slope_gain(found.shading) - _slope_gain(truth)) < 1.96 * _doubt(found)


def test_a_camera_that_flattens_highlights_is_within_its_doubt() -> None:
    truth = shading_under(LAMP_MM, shoulder=0.3)
    found = _calibrate(truth)
    assert float(found.shading.shoulder) > 0.1
    assert abs(_slope_gain(found.shading) - _slope_gain(truth)) < 1.96 * _doubt(found)


@pytest.mark.parametrize("contrast", [0.0, 0.4])
def test_ink_makes_heights_surer_most_of_all_where_paper_is_burnt_out(contrast: float) -> None:
    """Grey filament, whose colour tells nothing of the tone curve."""
    truth = replace(shading_under(LAMP_MM, contrast=contrast), albedo=np.full(3, 0.3))
    whole = draw_evidence(truth)
    for evidence, share in ((whole, 0.98), (burnt_out(whole), 0.88)):
        told, blind = _calibrate(truth, evidence), _calibrate(truth, without_ink(evidence))
        assert _sd(told, attrgetter("contrast")) < _sd(blind, attrgetter("contrast"))
        assert _doubt(told) < share * _doubt(blind)


@pytest.mark.parametrize(
    ("veil", "gloss", "ink"), [(0.0, 0.0, 0.045), (0.01, 0.0, 0.045), (0.002, 0.8, 0.03)]
)
def test_a_veil_and_glossy_ink_are_not_taken_for_a_tone_curve(
    veil: float, gloss: float, ink: float
) -> None:
    """A veil adds a quarter to what the ink returns, a varnish about as much as the ink itself."""
    truth = shading_under(LAMP_MM, veil=veil, ink_gloss=gloss, ink=ink)
    found = _calibrate(truth)
    assert found.shading.contrast == pytest.approx(0.1, abs=0.04)
    assert found.shading.veil == pytest.approx(veil, abs=0.0025)
    assert abs(_slope_gain(found.shading) - _slope_gain(truth)) < _doubt(found)


def test_paper_that_returns_light_is_not_taken_for_a_near_lamp() -> None:
    """By Lambert's law alone the lamp would come out 6 % nearer and heights 6 % off."""
    truth = shading_under(LAMP_MM, paper_returning=0.25)
    found = _calibrate(truth)
    assert found.shading.paper_returning == pytest.approx(0.25, abs=0.1)
    assert _lamp_distance_mm(found.shading) == pytest.approx(_lamp_distance_mm(truth), rel=0.02)
    assert _slope_gain(found.shading) == pytest.approx(_slope_gain(truth), rel=0.01)


def test_filament_that_returns_light_is_within_its_doubt() -> None:
    truth = shading_under(LAMP_MM, returning=0.3)
    found = _calibrate(truth)
    assert abs(_slope_gain(found.shading) - _slope_gain(truth)) < 1.96 * _doubt(found)


@pytest.mark.parametrize("grazing", [-1.1, -0.3, 0.3])
def test_filaments_that_take_a_low_lamps_light_in_otherwise(grazing: float) -> None:
    """-1.1 is colour under a clear skin; taken for Burley's plastic, heights would be 3 % off."""
    truth = shading_under(LAMP_MM, grazing=grazing)
    found = _calibrate(truth)
    assert found.shading.grazing == pytest.approx(grazing, abs=0.2)
    assert _slope_gain(found.shading) == pytest.approx(_slope_gain(truth), rel=0.012)


@pytest.mark.parametrize("albedo", [0.03, 0.1])
@pytest.mark.parametrize("roughness", [0.3, 0.6, 0.9])
def test_dark_filament_under_smooth_or_rough_gloss_is_within_its_doubt(
    albedo: float, roughness: float
) -> None:
    truth = replace(
        shading_under(LAMP_MM, roughness=roughness, strength=0.03), albedo=np.full(3, albedo)
    )
    found = _calibrate(truth, draw_evidence(truth, power=1.0))
    assert abs(_slope_gain(found.shading) - _slope_gain(truth)) < 1.96 * _farther_doubt(found)
    assert _farther_doubt(found) < 0.25 * _slope_gain(truth)


def test_where_two_accounts_fit_a_dark_filament_the_doubt_spans_both(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Smooth gloss on dark grey: a rough one explains the same light nearly as well."""
    truth = replace(shading_under(LAMP_MM, roughness=0.3, strength=0.03), albedo=np.full(3, 0.1))
    evidence = draw_evidence(truth, power=1.0)
    spanned = _farther_doubt(_calibrate(truth, evidence))
    monkeypatch.setattr("scoring.shading.calibrate.DARK_ALBEDO", 0.0)
    assert spanned > 1.5 * _farther_doubt(_calibrate(truth, evidence))


@pytest.mark.parametrize("bead", [0.4, 1.7])
def test_layer_lines_tell_how_steep_the_beads_are(bead: float) -> None:
    """Flat beads taken for usual ones would make heights 4 % too large here, steep ones too low."""
    truth = shading_under(LAMP_MM, bead=bead)
    blind, told = _calibrate(truth), _calibrate(truth, with_layer_line(draw_evidence(truth), truth))
    assert abs(np.log(told.shading.bead / bead)) < 0.5 * abs(np.log(blind.shading.bead / bead))
    assert _sd(told, attrgetter("bead")) < _sd(blind, attrgetter("bead"))
    off = [abs(np.log(_slope_gain(c.shading) / _slope_gain(truth))) for c in (told, blind)]
    assert off[0] < 0.6 * off[1]
    assert off[1] < 1.96 * _doubt(blind)


def test_light_from_bright_walls_is_not_taken_for_the_lamps() -> None:
    """A white coupon sends 5 % more light to the paper beside it."""
    truth = replace(shading_under(LAMP_MM), albedo=np.array([0.9, 0.9, 0.88]), bounce=0.4)
    found = _calibrate(truth)
    assert found.shading.bounce == pytest.approx(0.4, abs=0.04)
    assert _slope_gain(found.shading) == pytest.approx(_slope_gain(truth), rel=0.01)


@pytest.mark.parametrize("stray", [0.03, 0.15])
def test_the_shade_tells_how_much_light_strays_in(stray: float) -> None:
    truth = shading_under(LAMP_MM, stray=stray)
    evidence = draw_evidence(truth)
    found = _calibrate(truth, evidence)
    assert found.shading.stray == pytest.approx(stray, rel=0.1)
    assert _sd(found, attrgetter("stray")) < _sd(
        _calibrate(truth, replace(evidence, shaded=None)), attrgetter("stray")
    )


def test_without_a_shadow_the_falloff_still_tells_the_lamp() -> None:
    truth = shading_under(LAMP_MM)
    with_shadow, without = (
        _calibrate(truth),
        _calibrate(truth, draw_evidence(truth, with_shadow=False)),
    )
    assert _slope_gain(without.shading) == pytest.approx(_slope_gain(truth), rel=0.02)
    # Not the doubt of the gain: the facets carry it, and it hardly hangs on the lamp's height.
    assert _sd(without, _lamp_height_mm) > 2 * _sd(with_shadow, _lamp_height_mm)


def test_without_a_card_the_doubt_grows() -> None:
    """Shadow, facets and priors alone still give an account."""
    truth = shading_under(LAMP_MM)
    bare = draw_evidence(truth)
    alone = _calibrate(truth, without_card(bare))
    assert abs(_slope_gain(alone.shading) - _slope_gain(truth)) < 3 * _doubt(alone)
    assert _doubt(alone) > _doubt(_calibrate(truth))


def test_photos_calibrated_together_share_filament_and_tone_and_keep_their_lamps() -> None:
    """Two noiseless photos of one coupon; the second lamp stands opposite and elsewhere."""
    opposite = lamp_at(azimuth_deg=6, elevation_deg=21, flat_mm=380)
    truths = [
        shading_under(LAMP_MM, contrast=0.25, roughness=0.6),
        shading_under(opposite, contrast=0.25, roughness=0.6, stray=0.09),
    ]
    # The drawn shadow falls as if from the first side.
    seen = [draw_evidence(truths[0]), draw_evidence(truths[1], with_shadow=False)]
    both = calibrate_together([Take(e, PLACEMENT, CAMERA_MM) for e in seen])
    one, other = (c.shading for c in both)
    assert (one.contrast, one.roughness, one.strength) == (
        other.contrast,
        other.roughness,
        other.strength,
    )
    assert (one.albedo == other.albedo).all()
    assert one.contrast == pytest.approx(0.25, abs=0.01)
    for found, truth in zip((one, other), truths, strict=True):
        assert _slope_gain(found) == pytest.approx(_slope_gain(truth), rel=0.005)
        assert found.lamp_mm == pytest.approx(truth.lamp_mm, abs=0.02 * 420)
    for together, truth, evidence in zip(both, truths, seen, strict=True):
        assert _doubt(together) < _doubt(_calibrate(truth, evidence))


def test_what_two_opposite_lamps_leave_in_doubt_partly_cancels() -> None:
    """The k-th steps are one: the mean gain is surer than if the doubts were unlinked."""
    opposite = lamp_at(azimuth_deg=-8, elevation_deg=18, flat_mm=420)
    seen = [draw_evidence(shading_under(LAMP_MM)), draw_evidence(shading_under(opposite))]
    seen[1] = replace(seen[1], shadow=None)
    both = calibrate_together([Take(e, PLACEMENT, CAMERA_MM) for e in seen])
    one, other = (np.log(_slope_gain(c.ahead) / _slope_gain(c.behind)) / 2 for c in both)
    assert one.shape == other.shape
    linked = float(np.linalg.norm((one + other) / 2))
    unlinked = float(np.hypot(np.linalg.norm(one), np.linalg.norm(other)))
    assert linked < unlinked / 2


def test_steps_foretell_the_scatter() -> None:
    """Monte Carlo: noise of the stated size scatters the gain as the steps say, or less.

    Priors add doubt that noise does not show; 40 runs know a standard deviation to 11 %.
    """
    truth = shading_under(LAMP_MM)
    clean = draw_evidence(truth)
    rng = np.random.default_rng(3)
    gains = []
    for _ in range(40):
        noisy = replace(clean, face=clean.face * np.exp(rng.normal(0, clean.face_sd)))
        gains.append(_slope_gain(_calibrate(truth, noisy).shading))
    scatter = np.std(gains, ddof=1)
    assert scatter < (1 + 3 * 0.11) * _doubt(_calibrate(truth))
    assert scatter > 0.3 * _doubt(_calibrate(truth))


def test_face_axes_follow_the_coupon() -> None:
    """The camera right over a place is seen along the face's own normal; u runs along the face."""
    u = np.array([20.0, 60.0])
    ends = trace_line(PLACEMENT, CAMERA_MM, u)
    above = ends.at_mm[0] + np.array([0, 0, 200.0])
    assert trace_line(PLACEMENT, above, u).to_camera[0] == pytest.approx([0, 0, 1])
    along = ends.axes @ (ends.at_mm[1] - ends.at_mm[0])
    assert along == pytest.approx([40.0, 0, 0], abs=1e-9)
    assert np.linalg.norm(ends.to_camera, axis=1) == pytest.approx(1.0)


def test_matt_channels_fall_off_as_cosine_over_square() -> None:
    """A level face without gloss or stray light: Lambert's cosine over the distance squared."""
    truth = shading_under(LAMP_MM, strength=0.0, roughness=0.5, stray=0.0)
    line = trace_line(PLACEMENT, CAMERA_MM, np.array([10.0, 90.0]))
    light = truth.channels(truth.sight(line), np.zeros(2))
    r = np.linalg.norm(truth.lamp_mm - line.at_mm, axis=1)
    lambert = (truth.lamp_mm[2] - BLADE.thickness_mm) / r**3
    # The grazing factor differs a little between the ends, by under 3 % for so low a lamp.
    assert light[0] / light[1] == pytest.approx(np.full(3, lambert[0] / lambert[1]), rel=0.03)
