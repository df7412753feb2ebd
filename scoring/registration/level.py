"""Turn the coupon until its layers lie level: they were printed so, and they show its turn best."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from scoring.geometry import BLADE
from scoring.least_squares import MAD_TO_SD
from scoring.photo.opencv import cv2
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, map_face, sample

PX_PER_MM = 25.0
BLOCKS, COLUMNS_A_BLOCK = 24, 4
"""Along the face: places whose light is compared, and what is averaged at each."""

BESIDE_CHAMFER_MM = 1.0
DETREND_MM = 1.0
FREQUENCIES_PER_MM = (0.8, 9.0)
"""Slower waves are the lamp's and the camera's, faster ones no layer's."""

STRANGE_SD = 4.0
MOST_RISE_MM, RISE_STEP_MM = 0.24, 0.005
SD_OUTLINE_MM, SD_LEAST_MM = 0.05, 0.004
"""How far layers may rise along half the face as the outline has it, how well the outline tells it,
and how well layers do at best."""

LEAST_LEAD, SAME_SD = 6.0, 3.0
"""By so much must the best rise be likelier (logarithm) than any so many standard deviations off:
layers repeat, and the next may fit nearly as well."""

OVERCONFIDENT = 2.0
"""Waves of texture and of noise are not white: standard deviations come out so many times small."""

MOST_ALIKE = 0.99
"""Without noise the likelihood would know no bound."""


def level_layers(
    codes: NDArray[np.uint8], pose: Pose, placement: Placement
) -> tuple[Placement, float]:
    """The ``placement`` turned so that layers lie level, and the turn's standard deviation.

    Layers, and what differs between them, run along the whole face of the (M, N, 3) photo: at the
    right turn the light across them is alike in all blocks along it. The likelihood is that of one
    unknown profile in noise of unknown size at each frequency, complex normal, both at their best:
    the blocks' coherence says it all (derived for this). Where no layers show, or another turn
    would do nearly as well, the placement is returned as it was and nothing is claimed: infinity.
    """
    waves, frequency, apart = _read_waves(codes, pose, placement)
    rises = np.arange(-MOST_RISE_MM, MOST_RISE_MM + RISE_STEP_MM / 2, RISE_STEP_MM)
    # Rows run down: what lies higher comes earlier. From block to block by one and the same turn.
    turn = np.exp(-2j * np.pi * frequency[:, None] * rises * apart)
    added = np.zeros(turn.shape, np.complex128)
    for wave in waves.T[::-1]:
        added = added * turn + wave[:, None]
    power = (np.abs(waves) ** 2).sum(axis=1, keepdims=True)
    alike = np.abs(added) ** 2 / (BLOCKS * power + 1e-9)
    likelihood = -(BLOCKS - 1) * np.log1p(-np.minimum(alike, MOST_ALIKE)).sum(axis=0)
    likelihood = likelihood / OVERCONFIDENT**2 - (rises / SD_OUTLINE_MM) ** 2 / 2
    best = int(np.argmax(likelihood[1:-1])) + 1
    before, top, after = likelihood[best - 1 : best + 2]
    bend = (2 * top - before - after) / RISE_STEP_MM**2
    if bend <= 0:
        return placement, np.inf
    others = np.abs(rises - rises[best]) > SAME_SD / np.sqrt(bend) + RISE_STEP_MM
    if top - likelihood[others].max(initial=-np.inf) < LEAST_LEAD:
        return placement, np.inf
    rise_mm = rises[best] + (after - before) / (2 * RISE_STEP_MM * bend)
    half_mm = BLADE.length_mm / 2
    levelled = replace(placement, turn_rad=placement.turn_rad - float(rise_mm) / half_mm)
    return levelled, float(np.hypot(bend**-0.5, SD_LEAST_MM)) / half_mm


def _read_waves(
    codes: NDArray[np.uint8], pose: Pose, placement: Placement
) -> tuple[NDArray[np.complex128], NDArray[np.float64], float]:
    """The light's waves across the layers (F, BLOCKS), their frequencies (F,) per mm, and how far
    blocks lie apart in halves of the face's length."""
    low_mm, high_mm = BLADE.measured_band_w_mm
    end_mm = BLADE.chamfer_leg_mm + BESIDE_CHAMFER_MM
    u = np.linspace(end_mm, BLADE.length_mm - end_mm, BLOCKS * COLUMNS_A_BLOCK)
    w = np.arange(high_mm, low_mm, -1 / PX_PER_MM)
    seen = np.asarray(sample(codes, map_face(pose, placement, u, w)), np.uint8)
    blocks = cv2.resize(seen, (BLOCKS, w.size), interpolation=cv2.INTER_AREA)
    light = blocks.mean(axis=-1, dtype=np.float64)
    relief = light - uniform_filter1d(light, round(DETREND_MM * PX_PER_MM), axis=0)
    spread = MAD_TO_SD * np.median(np.abs(relief), axis=0) + 1e-9
    relief = np.clip(relief / spread, -STRANGE_SD, STRANGE_SD) * np.hanning(w.size)[:, None]
    frequency = np.fft.rfftfreq(w.size, 1 / PX_PER_MM).astype(np.float64)
    kept = (frequency > FREQUENCIES_PER_MM[0]) & (frequency < FREQUENCIES_PER_MM[1])
    apart = COLUMNS_A_BLOCK * (u[1] - u[0]) / (BLADE.length_mm / 2)
    return np.fft.rfft(relief, axis=0)[kept], frequency[kept], float(apart)
