"""Set u on the flow face by its grooves: their edges lie inside the face, clear of its outline."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray
from scipy.special import erf

from scoring.geometry import BLADE
from scoring.least_squares import MAD_TO_SD, fit_linear
from scoring.registration.face import RectifiedFace
from scoring.registration.u_fit import MIN_SD_STRETCH, UFit

REACH_MM = 0.9
NEAR_MM = 0.4
LAND_MM, LAND_SAMPLES = (0.9, 1.6), 15
"""What lies so far from a groove's centre is face again: the level its walls' dark counts from."""

MIN_DARK, MIN_DARK_SD = 0.06, 5.0
GLINT, GLINT_MM = 0.25, 0.4
"""What is so much brighter than the face, so near outside a wall's darkest place, is a glint on its
edge, which hides where the dark begins."""

RESAMPLED_MM = 0.02
"""What resampling adds to the photo's blur."""

SD_EDGE_MM, SD_OUTLINE_MM = 0.02, 0.1
"""How well one edge is placed, and how well the outline places u where no groove is seen."""

WIDER_MM, SD_WIDER_MM = 0.05, 0.05
"""Printed edges are rounded, so a wall's dark begins outside its drawn place, alike on all."""

SD_UNLIKE_MM = 0.015
"""Lit from one side, left edges look unlike right ones: found on the tuning photos."""

MAX_OFF_MM, MIN_EDGES = 0.08, 4
ENOUGH_EDGES, CONTRADICTING_MM = 9, 0.3
"""With fewer edges another place would do nearly as well (at wrong ones up to seven of twelve were
seen); so far off, outline and grooves contradict each other."""

HALF_WIDTH_MM, NEAR_READING_MM = BLADE.grooves.width_mm / 2, 0.2
"""The standard does not say whether its first groove's place is the middle, as here, or the near
edge: on a blade made by the other reading all lie half a width farther, which the outline tells."""

THIN = 2  # rows: their mean hardly changes

SIDES = np.array([-1.0, 1.0])
_WIDE = np.concatenate([[1e-3], np.geomspace(0.05, 20, 60)])
_SHARES = np.linspace(0, 1, 200)
_SEEN_WIDTH = _WIDE / erf(_WIDE / (2 * np.sqrt(2)))


@dataclass(frozen=True)
class GrooveFit(UFit):
    """Where the grooves lie, stretched about the middle of all six; ``edges`` of 12 were seen.

    ``read_otherwise`` says that the blade was taken for one whose grooves begin where ours have
    their middle: an outline half a groove off would look the same.
    """

    middle_u_mm: ClassVar[float] = (
        BLADE.grooves.centres_u_mm[0] + BLADE.grooves.centres_u_mm[-1]
    ) / 2

    edges: int
    read_otherwise: bool = False

    @property
    def sure(self) -> bool:
        """Whether u is known, by enough edges and about where the outline has them."""
        seen = self.edges >= ENOUGH_EDGES and abs(self.shift_mm) < CONTRADICTING_MM
        return seen and not self.read_otherwise and super().sure


UNSEEN = GrooveFit(0.0, 0.0, SD_OUTLINE_MM, MIN_SD_STRETCH, 0)


def locate_grooves(face: RectifiedFace, *, blur_mm: float, sd_stretch: float) -> GrooveFit:
    """Set u on a flow face by the mean light of its measured band; see :func:`find_grooves`."""
    u, w = face.u_mm(), face.w_mm()
    low, high = BLADE.measured_band_w_mm
    rows = np.flatnonzero((w > low) & (w < high))
    beside = BLADE.grooves.pitch_mm + REACH_MM + LAND_MM[1]
    first, last = np.searchsorted(
        u, [BLADE.grooves.centres_u_mm[0] - beside, BLADE.grooves.centres_u_mm[-1] + beside]
    )
    part = face.linear[rows[0] : rows[-1] + 1 : THIN, first:last]
    light = part.mean(axis=0, dtype=np.float64)
    channel = int(np.argmax(np.median(light, axis=0)))
    return find_grooves(u[first:last], light[:, channel], blur_mm=blur_mm, sd_stretch=sd_stretch)


def find_grooves(
    u_mm: NDArray[np.float64],
    light: NDArray[np.float64],
    *,
    blur_mm: float,
    sd_stretch: float,
) -> GrooveFit:
    """Place the grooves on the mean light (N,) over evenly spaced ``u_mm`` (N,).

    Under a lamp that shines along the grooves their side walls are dark, and each wall's outer
    edge lies in the face itself: neither the depth, nor where the camera stands, nor a shadow on
    the floor moves it. An edge is where the dark reaches half its depth; a wall narrower than the
    blur (``blur_mm``, a standard deviation) looks wider than it is, which is taken back. Shift,
    stretch and a width that all grooves share follow by least squares; ``sd_stretch`` says how well
    lengths were known before. Grooves half a width farther than drawn are taken for a blade whose
    maker read the standard so. Too few edges seen: the outline's place is kept, with its doubt.
    """
    half, step = BLADE.grooves.width_mm / 2, float(u_mm[1] - u_mm[0])
    off = np.arange(-half - REACH_MM, half + REACH_MM + step / 2, step)
    centres = np.array(BLADE.grooves.centres_u_mm)
    shifts = np.arange(-REACH_MM, REACH_MM + step / 2, step)
    blur = float(np.hypot(blur_mm, RESAMPLED_MM))
    pitch = BLADE.grooves.pitch_mm
    # One dark wall may be taken for the other, on the wrong side of where the outline has it; a
    # white coupon's outline may lie so far off that each groove is taken for the next, or none is
    # near its place.
    starts = []
    for aside in (0.0, pitch / 2):
        mean = np.maximum(_darkness(u_mm, light, centres + aside, off).mean(axis=0), 0.0)
        both = np.interp(shifts - half, off, mean) + np.interp(shifts + half, off, mean)
        starts += [
            aside + shifts[part][np.argmax(both[part])] for part in (shifts <= 0, shifts >= 0)
        ]
    offset = np.zeros((centres.size, SIDES.size))
    kept = np.zeros(offset.shape, bool)
    for start in sorted((s + k * pitch for s in starts for k in (-1, 0, 1)), key=abs):
        dark = _darkness(u_mm, light, centres + start, off)
        peaks = _find_walls(off, dark)
        if np.count_nonzero(peaks) <= kept.sum():
            continue
        tried = start + _place_edges(off, dark, peaks, blur)
        seen = [c[np.isfinite(c)] for c in tried.T]
        middle = [np.median(c) if c.size else np.nan for c in seen]
        good = np.abs(tried - middle) < MAX_OFF_MM
        if good.sum() > kept.sum():
            offset, kept = tried, good
        if kept.all():
            break
    if kept.sum() < MIN_EDGES:
        return UNSEEN
    aside_mm = float(np.mean(offset[kept]))
    otherwise = kept.sum() >= ENOUGH_EDGES and abs(aside_mm - HALF_WIDTH_MM) < NEAR_READING_MM
    if otherwise:
        offset = offset - HALF_WIDTH_MM
    at, side = np.broadcast_arrays((centres - GrooveFit.middle_u_mm)[:, None], SIDES)
    rows = np.stack([np.ones(kept.sum()), at[kept], side[kept]], axis=1) / SD_EDGE_MM
    priors = np.diag(
        [1 / (2 * SD_OUTLINE_MM), 1 / max(sd_stretch, MIN_SD_STRETCH), 1 / SD_WIDER_MM]
    )
    system = np.concatenate([rows, priors])
    target = np.append(offset[kept] / SD_EDGE_MM, [0.0, 0.0, WIDER_MM / SD_WIDER_MM])
    (shift, stretch, _), (sd_shift, sd_stretch, _) = fit_linear(system, target)
    sd_shift = np.hypot(sd_shift, SD_UNLIKE_MM)
    return GrooveFit(
        float(shift),
        float(stretch),
        float(sd_shift),
        float(sd_stretch),
        int(kept.sum()),
        read_otherwise=bool(otherwise),
    )


def _darkness(
    u_mm: NDArray[np.float64],
    light: NDArray[np.float64],
    centres_mm: NDArray[np.float64],
    off_mm: NDArray[np.float64],
) -> NDArray[np.float64]:
    """How much darker than the face beside it each groove's surroundings are, (grooves, places)."""
    near, far = LAND_MM
    land = np.linspace(near, far, LAND_SAMPLES)
    seen = np.interp(centres_mm[:, None] + SIDES[:, None, None] * land, u_mm, light)
    left, right = np.sort(seen, axis=-1)[..., LAND_SAMPLES // 2, None]
    level = left + (right - left) * np.clip((off_mm + near) / (2 * near), 0, 1)
    around = np.interp(centres_mm[:, None] + off_mm, u_mm, light)
    return np.asarray(1 - around / np.maximum(level, 1e-6))


def _find_walls(off_mm: NDArray[np.float64], dark: NDArray[np.float64]) -> NDArray[np.intp]:
    """Where along ``off_mm`` each groove's walls are darkest, (grooves, sides); 0 for no wall."""
    noise = MAD_TO_SD * np.median(np.abs(dark[:, np.abs(off_mm) > LAND_MM[0]]), axis=1)
    least = np.maximum(MIN_DARK, MIN_DARK_SD * noise)
    found = np.zeros((len(dark), SIDES.size), np.intp)
    for k, drawn_mm in enumerate(SIDES * BLADE.grooves.width_mm / 2):
        inside = np.flatnonzero(np.abs(off_mm - drawn_mm) < NEAR_MM)
        peaks = inside[np.argmax(dark[:, inside], axis=1)]
        clear = (peaks > inside[0]) & (peaks < inside[-1])
        outward = np.sign(drawn_mm) * (off_mm - off_mm[peaks, None])
        beside = np.where((outward > 0) & (outward < GLINT_MM), dark, 0.0)
        clear &= beside.min(axis=1) > -GLINT
        found[:, k] = peaks * (clear & (dark[np.arange(len(dark)), peaks] >= least))
    return found


def _place_edges(
    off_mm: NDArray[np.float64],
    dark: NDArray[np.float64],
    peaks: NDArray[np.intp],
    blur_mm: float,
) -> NDArray[np.float64]:
    """How far from its drawn place each of the walls begins, (grooves, sides), seen from the face.

    NaN where there is none.
    """
    places_mm = np.full(peaks.shape, np.nan)
    for groove, k in np.argwhere(peaks):
        places_mm[groove, k] = _place_edge(
            off_mm, dark[groove], int(peaks[groove, k]), SIDES[k], blur_mm
        )
    return places_mm - SIDES * BLADE.grooves.width_mm / 2


def _place_edge(
    off_mm: NDArray[np.float64],
    dark: NDArray[np.float64],
    peak: int,
    side: float,
    blur_mm: float,
) -> float:
    """Where the wall that is darkest at index ``peak`` begins."""
    depth = float(dark[peak])
    k, way = peak, int(side)
    while 0 < k < off_mm.size - 1 and dark[k] > depth / 2:
        k += way
    step = off_mm[1] - off_mm[0]
    crossing = off_mm[k] - side * step * (depth / 2 - dark[k]) / (dark[k - way] - dark[k])
    lit = np.flatnonzero(dark <= 0)
    begin, end = lit[lit < peak].max(initial=0), lit[lit > peak].min(initial=off_mm.size)
    area = float(dark[begin + 1 : end].sum()) * step
    width = float(np.interp(area / depth / blur_mm, _SEEN_WIDTH, _WIDE)) * blur_mm
    return float(crossing) - side * _spill_mm(width, blur_mm)


def _spill_mm(width_mm: float, blur_mm: float) -> float:
    """How far outside a dark box its half depth is seen through a blur."""
    x = -3 * blur_mm + (width_mm / 2 + 3 * blur_mm) * _SHARES
    soft = np.sqrt(2) * blur_mm
    seen = erf(x / soft) - erf((x - width_mm) / soft)
    return -float(np.interp(seen[-1] / 2, seen, x))
