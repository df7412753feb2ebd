"""Two lamps joined: against made-up light of known truth, and on a path-traced stained pair."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.errors import DifferentCouponsError, SameLampError
from scoring.motion import Motion
from scoring.photo.decode import read_photo
from scoring.registration.place import place_coupon, rectify_face
from scoring.ripple.components import Damped, slopes
from scoring.ripple.fit import Solution, evaluate, predict, refine
from scoring.ripple.light import LitFace, ReadFace, light_face, read_light
from scoring.ripple.pair import JoinedFaces, join_faces
from scoring.ripple.search import find_components
from scoring.ripple.stain import allow_leak, find_stain, require_one_coupon
from scoring.shading.calibrate import calibrate_together
from scoring.shading.response import SLOPES, Response
from tests.reference_photos import photo_named
from tests.ripple.synthetic import COTANGENT, synthesise

MOTION = Motion(150, 5000, 5)
TRUTH = Damped(60, 0.05, 0.012, -0.005)


@cache
def _read(name: str) -> ReadFace:
    placed = place_coupon(read_photo(photo_named("pair", name).path))
    return read_light(placed, rectify_face(placed))


@cache
def _lit(name: str) -> LitFace:
    """Calibrated by itself."""
    read = _read(name)
    return light_face(read, calibrate_together([read.take])[0], photo_named("pair", name).motion)


@cache
def _lit_together(left: str, right: str) -> tuple[LitFace, LitFace]:
    reads, motion = (_read(left), _read(right)), photo_named("pair", left).motion
    one, other = calibrate_together([r.take for r in reads])
    return light_face(reads[0], one, motion), light_face(reads[1], other, motion)


@cache
def _joined(name: str) -> JoinedFaces:
    return join_faces(*_lit_together(f"{name}-left", f"{name}-right"))


def _made_up(
    stain: float, *, noise: float = 1e-6, cotangents: tuple[float, float] = (COTANGENT, COTANGENT)
) -> tuple[LitFace, LitFace]:
    """A coupon with a ripple and a 3 mm wave of colour under two far matt lamps."""
    faces = []
    for seed, (side, cotangent) in enumerate(zip((1.0, -1.0), cotangents, strict=True)):
        problem = synthesise(np.random.default_rng(seed), (TRUTH,), MOTION, noise=noise)
        u = problem.track.u_mm
        gain = side * cotangent
        light = 1 + gain * (problem.facet_slope + slopes((TRUTH,), problem.track))
        rough = np.random.default_rng(9).normal(0, noise, problem.log_light.shape)
        log_light = np.log(light) + stain * np.cos(2 * np.pi * u / 3) + side * rough
        table = np.tile(np.maximum(1 + gain * SLOPES, 1e-3), (u.size, 1))
        rates = np.tile(np.where(1 + gain * SLOPES > 1e-3, gain, 0.0), (u.size, 1))
        lit = _lit_together("stained-grey-left", "stained-grey-right")[seed]
        response = Response(table, rates, np.zeros(u.size))
        problem = replace(problem, log_light=log_light, response=response)
        faces.append(replace(lit, problem=problem, gain=gain))
    return faces[0], faces[1]


def _with(lit: LitFace, added: NDArray[np.float64]) -> LitFace:
    return replace(lit, problem=replace(lit.problem, log_light=lit.problem.log_light + added))


@pytest.mark.parametrize("cotangents", [(2.75, 2.75), (2.4, 3.2)])
def test_the_difference_knows_the_shape_alone(cotangents: tuple[float, float]) -> None:
    joined = join_faces(*_made_up(0.05, cotangents=cotangents))
    problem = joined.lit.problem
    flat = Solution(1.0, 0.0, np.zeros(problem.base.shape[1]), (TRUTH,))
    # The response is tabled in slopes 0.04 apart; ripples of 0.03 fall between.
    left = (problem.mean_log - predict(problem, flat))[problem.weight > 0]
    assert np.ptp(left) < 2e-3
    beside = replace(flat, components=(Damped(61, 0.06, 0.011, 0.0),))
    found = refine(problem, evaluate(problem, beside)).solution
    (mode,) = found.modes
    assert (mode.frequency_hz, mode.damping_ratio) == pytest.approx((60, 0.05), rel=5e-3)
    assert (mode.a_mm, mode.b_mm) == pytest.approx((0.012, -0.005), abs=1e-4)


def test_half_the_sum_is_the_stain() -> None:
    joined = join_faces(*_made_up(0.02))
    problem = joined.lit.problem
    truth = Solution(1.0, 0.0, np.zeros(problem.base.shape[1]), (TRUTH,))
    stain = find_stain(joined, truth)
    assert stain.share == pytest.approx(0.02 / np.sqrt(2), rel=0.03)
    wave = 0.02 * np.cos(2 * np.pi * problem.track.u_mm / 3)
    assert np.corrcoef(stain.profile, wave)[0, 1] > 0.99
    assert stain.stands_out


def test_without_a_stain_none_stands_out() -> None:
    joined = join_faces(*_made_up(0.0))
    solution = find_components(joined.lit.problem).solution
    assert not find_stain(joined, solution).stands_out


@pytest.mark.parametrize("period_mm", [1.5, 3.0, 9.0])
def test_any_further_stain_changes_nothing(period_mm: float) -> None:
    left, right = _lit_together("stained-orange-left", "stained-orange-right")
    before = join_faces(left, right).lit.problem
    more = [0.03 * np.cos(2 * np.pi * p.problem.track.u_mm / period_mm) for p in (left, right)]
    after = join_faces(_with(left, more[0]), _with(right, more[1])).lit.problem
    change = (after.mean_log - before.mean_log)[before.weight > 0]
    # What is left is the level: each strip's mean over whole and broken periods.
    assert np.ptp(change) < 1e-4


def test_either_photo_may_come_first() -> None:
    left, right = _lit_together("stained-orange-left", "stained-orange-right")
    one, other = join_faces(left, right), join_faces(right, left)
    assert (one.lit.problem.log_light == other.lit.problem.log_light).all()
    assert one.lit.gain == other.lit.gain > 0


def test_doubts_of_two_photos_are_smaller_than_of_one() -> None:
    lit = _joined("stained-orange").lit
    for name in ("stained-orange-left", "stained-orange-right"):
        assert lit.size_sd(contrast=0.1, wave_mm=3) < _lit(name).size_sd(contrast=0.1, wave_mm=3)
    assert lit.facets.agreement > 0


def test_the_gains_way_to_the_ripple_is_surer_than_the_mean_of_two_sure_apart() -> None:
    """What one lamp's near end gains too much the other's loses: doubts run against each other."""
    for name in ("stained-grey", "stained-orange"):
        apart = [_lit(f"{name}-{side}").carry_sd for side in ("left", "right")]
        assert 0 < _joined(name).lit.carry_sd < float(np.linalg.norm(apart)) / 2


def test_a_leak_of_the_stain_is_not_taken_for_a_ripple() -> None:
    """A twenty-fifth of a strong stain is left in the difference, as gloss may leave it."""
    left, right = _made_up(0.0, noise=2e-3)
    u = left.problem.track.u_mm
    wave = 0.04 * np.cos(2 * np.pi * u / 2)
    joined = join_faces(_with(left, 1.04 * wave), _with(right, 0.96 * wave))
    first = find_components(joined.lit.problem).solution
    assert len(first.components) == 2
    lit = allow_leak(joined.lit, find_stain(joined, first))
    (mode,) = find_components(lit.problem).solution.components
    assert isinstance(mode, Damped)
    assert mode.frequency_hz == pytest.approx(60, rel=0.01)


@pytest.mark.parametrize("side", ["left", "right"])
def test_lamps_on_one_side_are_refused(side: str) -> None:
    lit = _lit(f"stained-grey-{side}")
    with pytest.raises(SameLampError, match=f"face's {side}"):
        join_faces(lit, lit)


@pytest.mark.parametrize("name", ["stained-grey", "stained-orange"])
def test_one_coupons_layers_are_recognised(name: str) -> None:
    require_one_coupon(_joined(name))


@pytest.mark.parametrize(
    ("left", "right"), [("stained-grey", "stained-orange"), ("stained-orange", "stained-grey")]
)
def test_two_coupons_are_told_apart_by_their_layers(left: str, right: str) -> None:
    joined = join_faces(*_lit_together(f"{left}-left", f"{right}-right"))
    with pytest.raises(DifferentCouponsError, match="fine pattern"):
        require_one_coupon(joined)
