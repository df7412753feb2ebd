"""From a rectified ring-down face to a posed problem: the light there is understood."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scoring.errors import LampError, PhotoClippedError
from scoring.flags import Flag, raised
from scoring.geometry import BLADE
from scoring.motion import Motion
from scoring.registration.face import RectifiedFace
from scoring.registration.facets import FacetFit, find_facets
from scoring.registration.place import PlacedCoupon
from scoring.registration.rectify import find_lean_along
from scoring.registration.u_fit import MIN_SD_STRETCH
from scoring.ripple.fit import Problem, Solution, ripple_light
from scoring.ripple.problem import pose_problem, resampled_blur_mm
from scoring.shading.calibrate import Calibration, calibrate
from scoring.shading.evidence import Take
from scoring.shading.gather import FIRST_BLOCK_U_MM, gather_evidence, relight_face
from scoring.shading.layer_line import measure_layer_line
from scoring.shading.paper import NO_PAPER, Paper, read_paper
from scoring.shading.profile import START_MM, StripProfiles, extract_strips
from scoring.shading.response import carry_steps

MIN_AGREEMENT = 0.45
STRETCH_LEFT = 0.2
"""So much of the stretch that the pose leaves open the facets leave open as well; found on tuning
photos without EXIF data (peaks held in 34 of 35 instead of 32)."""

SD_CURVE = 0.25
SD_DEEP, DEEP_CONTRAST = 0.2, 0.38
"""A camera whose exponent is so far from the standard's, or whose contrast is so deep, is likely
unlike it otherwise as well: an exponent of 1.15 or a contrast of 0.55 leaves 3.5 % in doubt."""

MIN_GAIN, WEAK_GAIN = 1.0, 1.6
"""Contrast per slope, about the cotangent of the lamp's elevation: 1 is 45 degrees up."""

EXPONENT_RANGE = (0.7, 1.4)
MAX_CLIPPED, SOME_CLIPPED = 0.35, 0.005
SD_CLIPPED = 0.15
"""Where the camera cut light off the dimmer pixels alone tell a ripple: of drawn ones, with up to
28 % of the first millimetres cut off, sizes are 2 to 10 % off."""

SOFT_BLUR_MM = 0.09
SD_GAIN = 0.02
"""Relative standard deviation of size that neither fit nor calibration sees: beads, print, and laws
of surfaces unlike those of the account."""

RIPPLED_LOG = 0.02
"""A ripple that changes the calibrated part's light by so much (RMS) is taken out of it, and light
and ripple are fitted once more: blocks of 4 mm do not average a slow, lasting one."""

RIPPLE_U_MM = 10.0
"""Where most of a ring-down is: the gain is carried from the facets to here."""

GLOSSY_ALBEDO = 0.12
SD_SHORT_MM2 = 0.03
"""A wave of 1 mm may be 3 % weaker than print and lens were allowed for, shorter ones more."""

STEEP_CONTRAST, SD_STEEP = 0.5, 0.07
"""Beyond such a slope times gain, light and slope part ways: flanks throw shadows on each other."""

SHADED_CONTRAST, SD_SHADED = 1.0, 0.15
"""From there on flanks that turn away get no light of the lamp: how steep they are is not seen."""


@dataclass(frozen=True)
class LitFace:
    """A ring-down face whose facets are placed and whose light is calibrated.

    ``gain`` is log brightness per unit of slope on the facets, negative for a lamp on the far
    side; ``carry_steps`` (V,) what each of the calibration's steps changes in carrying it to the
    ripple, relatively; ``shared_sd`` the relative standard deviation of what neither fit nor
    calibration sees; ``floor_share`` how much of a single photo's floor under heights is left.
    """

    problem: Problem
    facets: FacetFit
    calibration: Calibration
    gain: float
    carry_steps: NDArray[np.float64]
    clipped_share: float
    shadow_seen: bool
    shared_sd: float = SD_GAIN
    floor_share: float = 1.0

    @property
    def carry_sd(self) -> float:
        """Relative standard deviation of the gain's way from the facets to the ripple."""
        return float(np.linalg.norm(self.carry_steps))

    @property
    def drift_per_mm(self) -> float:
        """The same for each millimetre of that way, to ``RIPPLE_U_MM``."""
        return self.carry_sd / (FacetFit.middle_u_mm - RIPPLE_U_MM)

    @staticmethod
    def steepness(contrast: float) -> float:
        """How far ``contrast`` goes beyond what light follows; 0 where it does not."""
        return max(contrast - STEEP_CONTRAST, 0.0)

    def size_sd(self, *, contrast: float, wave_mm: float) -> float:
        """Relative standard deviation of heights that all strips share.

        ``contrast`` is the steepest slope times gain, ``wave_mm`` the wavelength.
        """
        steep = SD_STEEP * self.steepness(contrast)
        shaded = SD_SHADED * max(contrast - SHADED_CONTRAST, 0.0)
        short = SD_SHORT_MM2 / wave_mm**2
        cut = SD_CLIPPED * self.clipped_share
        shading = self.calibration.shading
        exponent = SD_CURVE * abs(float(np.log(shading.power)))
        deep = SD_DEEP * max(float(shading.contrast) - DEEP_CONTRAST, 0.0)
        doubts = [self.shared_sd, self.carry_sd, steep + shaded, short, cut, exponent, deep]
        return float(np.linalg.norm(doubts))


@dataclass(frozen=True)
class ReadFace:
    """A ring-down face whose facets are placed, with what is to be calibrated by.

    ``ripple_log`` (N,) is what a ripple that is known adds to log light over ``strips``.
    """

    placed: PlacedCoupon
    strips: StripProfiles
    facets: FacetFit
    take: Take
    ripple_log: NDArray[np.float64]


def understand_light(
    placed: PlacedCoupon,
    face: RectifiedFace,
    motion: Motion,
    *,
    rippled_u_mm: tuple[float, float] | None = None,
) -> LitFace:
    """Place the facets, calibrate lamp, tone curve and gloss, and pose the ripple's problem.

    Raises as :func:`read_light` does.
    """
    read = read_light(placed, face, rippled_u_mm=rippled_u_mm)
    to_u_mm = RIPPLE_U_MM if rippled_u_mm is None else float(np.mean(rippled_u_mm))
    return calibrate_face(read, motion, to_u_mm=to_u_mm)


def calibrate_face(read: ReadFace, motion: Motion, *, to_u_mm: float = RIPPLE_U_MM) -> LitFace:
    """Calibrate lamp, tone curve and gloss by one photo alone; else as :func:`light_face`."""
    take = read.take
    calibration = calibrate(take.evidence, take.placement, take.camera_mm)
    return light_face(read, calibration, motion, to_u_mm=to_u_mm)


def read_light(
    placed: PlacedCoupon, face: RectifiedFace, *, rippled_u_mm: tuple[float, float] | None = None
) -> ReadFace:
    """Place the facets and gather what the light is calibrated by.

    Where ``rippled_u_mm`` says that the face is not flat by design, its level there is no evidence
    for the calibration. Raises :class:`PhotoClippedError` where over a third of the band, or of
    its first millimetres, gave no light value and :class:`LampError` where the facets do not
    separate.
    """
    strips = extract_strips(face)
    if strips.clipped_share > MAX_CLIPPED:
        raise PhotoClippedError(
            f"{strips.clipped_share:.0%} of the face, or of its first {START_MM:g} mm, is at full "
            f"scale; at most {MAX_CLIPPED:.0%} may be. Lower the exposure (tap the coupon, slide "
            "darker) or move the lamp away."
        )
    facets = locate_facets(placed, strips)
    strips = replace(strips, u_mm=facets.true_u_mm(strips.u_mm))
    paper = NO_PAPER if placed.by_corners else read_paper(placed.photo, placed.pose)
    _require_facets(facets.agreement, paper, placed)
    level = strips
    if rippled_u_mm is not None:
        inside = (strips.u_mm > rippled_u_mm[0]) & (strips.u_mm < rippled_u_mm[1])
        level = replace(strips, valid=np.asarray(strips.valid & ~inside))
    line = measure_layer_line(face, blur_mm=resampled_blur_mm(placed))
    on_right = facets.agreement < 0
    evidence = gather_evidence(placed, paper, level, layer_line=line, lamp_on_right=on_right)
    take = Take(evidence, placed.placement, placed.camera_mm)
    return ReadFace(placed, strips, facets, take, np.zeros_like(strips.u_mm))


def take_ripple_out(read: ReadFace, problem: Problem, solution: Solution) -> ReadFace | None:
    """``read`` with the calibration's evidence as it would be without the ripple of ``solution``.

    ``problem`` is the same face in the light first calibrated; ``None`` where the ripple hardly
    changes that evidence. Not for a face that ripples by design, part of which is no evidence.
    """
    u_mm, ripple_log = problem.track.u_mm, ripple_light(problem, solution)
    if np.sqrt(np.mean(ripple_log[u_mm > FIRST_BLOCK_U_MM] ** 2)) < RIPPLED_LOG:
        return None
    strips = read.strips
    added = np.interp(strips.u_mm, u_mm, ripple_log, left=0.0, right=0.0)
    level = replace(strips, light=strips.light / np.exp(added)[:, None])
    take = replace(read.take, evidence=relight_face(read.take.evidence, level))
    return replace(read, take=take, ripple_log=added)


def light_face(
    read: ReadFace, calibration: Calibration, motion: Motion, *, to_u_mm: float = RIPPLE_U_MM
) -> LitFace:
    """Pose the ripple's problem in the calibrated light, for a ripple about ``to_u_mm``."""
    placed, facets = read.placed, read.facets
    problem = replace(
        pose_problem(placed, read.strips, calibration.shading, motion),
        shift_sd_mm=facets.sd_shift_mm,
        stretch_sd=max(facets.sd_stretch, placed.stretch_sd if placed.by_corners else 0.0),
    )
    known = np.interp(problem.track.u_mm, read.strips.u_mm, read.ripple_log)
    gain = _facet_gain(problem, problem.mean_log - known)
    carry = carry_steps(
        calibration,
        placed.placement,
        placed.camera_mm,
        from_u_mm=np.array([np.mean(f.u_mm) for f in BLADE.facets]),
        to_u_mm=to_u_mm,
    )
    shadow_seen = read.take.evidence.shadow is not None
    clipped_share = read.strips.clipped_share
    return LitFace(problem, facets, calibration, gain, carry, clipped_share, shadow_seen)


def locate_facets(placed: PlacedCoupon, strips: StripProfiles) -> FacetFit:
    """Set u on the ring-down face's ``strips`` by the facets.

    From them to the corner is three times their own length, so a little of what an unknown focal
    length does to lengths is left in the stretch.
    """
    fit = find_facets(
        strips.u_mm,
        strips.light.mean(axis=(0, 2)),
        sd_stretch=max(MIN_SD_STRETCH, placed.stretch_sd),
        view_tangent=find_lean_along(placed.pose, placed.placement, strips.u_mm),
    )
    left = STRETCH_LEFT * placed.stretch_sd
    return replace(fit, sd_stretch=float(np.hypot(fit.sd_stretch, left)))


def require_gain(gain: float) -> None:
    """Raise :class:`LampError` where the facets hardly differ in brightness."""
    if abs(gain) < MIN_GAIN:
        raise LampError(
            f"The facets hardly differ in brightness (contrast {abs(gain):.2f} per unit of slope, "
            f"at least {MIN_GAIN:g} is needed): the lamp is too high or the light too diffuse. Put "
            "it 15 to 25 degrees up on the label's side, 400 mm or more away, and darken the room."
        )


def require_exponent(facet_exponent: float) -> None:
    """Raise :class:`LampError` where the facets ask for another light than the calibrated one."""
    if not EXPONENT_RANGE[0] < facet_exponent < EXPONENT_RANGE[1]:
        raise LampError(
            "The facets' brightness does not fit a lamp on the label's side (off by a factor of "
            f"{facet_exponent:.2f}). Use one lamp, on the label's side, 15 to 25 "
            "degrees up, with no second light."
        )


def light_flags(lit: LitFace, *, blur_mm: float, contrast: float) -> tuple[Flag, ...]:
    """The flags that speak of photo, place, lamp and filament; ``contrast`` as for ``size_sd``."""
    return raised(
        {
            Flag.CLIPPED: lit.clipped_share > SOME_CLIPPED,
            Flag.LAMP_UNCERTAIN: not lit.shadow_seen,
            Flag.WEAK_SHADING: abs(lit.gain) < WEAK_GAIN,
            Flag.GLOSSY: float(lit.calibration.shading.albedo.max()) < GLOSSY_ALBEDO,
            Flag.LAMP_FROM_FAR_SIDE: lit.facets.agreement < 0,
            Flag.OUTLINE_UNSURE: not lit.facets.sure,
            Flag.SOFT_FOCUS: blur_mm > SOFT_BLUR_MM,
            Flag.STEEP_RIPPLE: contrast > STEEP_CONTRAST,
        }
    )


def _require_facets(agreement: float, paper: Paper, placed: PlacedCoupon) -> None:
    if abs(agreement) < MIN_AGREEMENT:
        raise LampError(
            f"The facets do not separate (agreement {abs(agreement):.2f} of 1, at least "
            f"{MIN_AGREEMENT:g} is needed): the lamp is too high, shines across the face's "
            "length, or they are covered. Put it on the label's side, 15 to 25 degrees up, 400 mm "
            "or more away."
        )
    if paper.enough:
        turn = paper.lamp_azimuth_rad - placed.placement.turn_rad
        if abs(np.cos(turn)) < np.cos(np.deg2rad(50)):
            raise LampError(
                "The lamp shines across the face's length, so ripples cast no shade: it must stand "
                "on the label's side for the ring-down face (the rim's side is for the flow face)."
            )


def _facet_gain(problem: Problem, log_light: NDArray[np.float64]) -> float:
    """``log_light`` (N,) per unit of slope over the facets, the baseline's line taken out; 0 if
    none of them is seen."""
    u = problem.track.u_mm
    inside = (u > BLADE.facets[0].u_mm[0]) & (problem.weight > 0)
    if not inside.any():
        return 0.0
    x = u[inside] - u[inside].mean()
    columns = np.stack([np.ones_like(x), x, problem.facet_slope[inside]], axis=1)
    return float(np.linalg.lstsq(columns, log_light[inside], rcond=None)[0][2])
