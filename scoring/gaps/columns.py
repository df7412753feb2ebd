"""The flow face's light in narrow columns: all that the gap measurement looks at."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.medians import median
from scoring.photo.opencv import cv2
from scoring.registration.face import RectifiedFace
from scoring.registration.grooves import UNSEEN, GrooveFit
from scoring.registration.place import BESIDE_MM

COLUMN_MM = 0.1
"""Gaps run along u for a millimetre or more, so columns this wide lose nothing."""

CLEAR_OF_GROOVE_MM = 0.8

FULL = 0.8
MAX_CLIPPED = 0.02
MIN_LEVEL = 0.4
"""A channel with more than ``MAX_CLIPPED`` of its pixels cut off (or resampled from such, above
``FULL``) gives way to a dimmer one, but not to one dimmer than ``MIN_LEVEL`` of the brightest."""


@dataclass(frozen=True)
class Columns:
    """Linear light of one channel, averaged over columns along u; the grooves are left out.

    ``light`` is (M, C) float32, rows first with w falling: the centre of row i lies at ``w0_mm``
    - i / ``px_per_mm``. ``u_mm`` (C,) are the columns' centres and ``width_mm`` their width.
    ``segments`` are the unbroken runs of columns: before the grooves, and after them.
    ``clipped_share`` is the share of pixels that full scale cut off, 0 to 1.
    """

    light: NDArray[np.float32]
    u_mm: NDArray[np.float64]
    width_mm: float
    segments: tuple[slice, ...]
    w0_mm: float
    px_per_mm: float
    clipped_share: float

    def w_mm(self) -> NDArray[np.float64]:
        """The w of each row, (M,) in mm, falling."""
        return self.w0_mm - np.arange(self.light.shape[0]) / self.px_per_mm

    def inside(self, zone_u_mm: tuple[float, float]) -> NDArray[np.bool_]:
        """Which columns' centres lie inside a zone, (C,)."""
        return np.asarray((self.u_mm >= zone_u_mm[0]) & (self.u_mm <= zone_u_mm[1]))

    def span(self, zone_u_mm: tuple[float, float]) -> slice:
        """The same columns as a slice."""
        return slice(
            int(np.searchsorted(self.u_mm, zone_u_mm[0])),
            int(np.searchsorted(self.u_mm, zone_u_mm[1], "right")),
        )

    def average(self, blocks: Sequence[slice]) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
        """Mean light of some blocks of columns (M, B), and their u (B,)."""
        means = [np.full(b.stop - b.start, 1 / (b.stop - b.start)) for b in blocks]
        light = [
            self.light[:, b] @ m.astype(np.float32) for b, m in zip(blocks, means, strict=True)
        ]
        u_mm = [float(self.u_mm[b] @ m) for b, m in zip(blocks, means, strict=True)]
        return np.stack(light, axis=1), np.array(u_mm)

    def smooth(self, values: NDArray[np.float64], length_mm: float) -> NDArray[np.float64]:
        """Moving mean of (..., C) over ``length_mm`` along u, never across the grooves."""
        width = 2 * round(length_mm / self.width_mm / 2 - 0.01) + 1
        out = np.empty((values.size // values.shape[-1], values.shape[-1]))
        rows = values.reshape(out.shape)
        for part in self.segments:
            full = min(width, 2 * (part.stop - part.start) - 1)
            cv2.blur(rows[:, part], (full, 1), out[:, part], borderType=cv2.BORDER_REFLECT_101)
        return out.reshape(values.shape)


def split(part: slice, count: int) -> list[slice]:
    """A run of columns in ``count`` blocks as equal as may be, the longer ones first."""
    size, longer = divmod(part.stop - part.start, count)
    ends = [part.start + k * size + min(k, longer) for k in range(count + 1)]
    return [slice(*ends) for ends in pairwise(ends)]


def average_columns(face: RectifiedFace, grooves: GrooveFit = UNSEEN) -> Columns:
    """Average the measured band of ``face`` over columns about 0.1 mm wide; u by its ``grooves``.

    The brightest channel is taken, unless much of it is clipped: gloss is white, so it disturbs
    the filament's own colour least, and JPEG codes dim channels coarsely, at half resolution.
    """
    step = max(1, round(COLUMN_MM * face.px_per_mm))
    u, w = grooves.true_u_mm(face.u_mm()), face.w_mm()
    low, high = BLADE.measured_band_w_mm
    # Rows stand right on these bounds: rounding must not decide.
    beside = BESIDE_MM + 0.1 / face.px_per_mm
    rows = np.flatnonzero((w >= low - beside) & (w <= high + beside))
    band = slice(int(rows[0]), int(rows[-1]) + 1)
    edge = BLADE.grooves.width_mm / 2 + CLEAR_OF_GROOVE_MM
    spans = (
        (BLADE.steady_zone_u_mm[0] - BESIDE_MM, BLADE.grooves.centres_u_mm[0] - edge),
        (BLADE.grooves.centres_u_mm[-1] + edge, BLADE.recovery_zone_u_mm[1] + BESIDE_MM),
    )
    parts: list[slice] = []
    for begin, end in spans:
        first = int(np.searchsorted(u, begin))
        parts.append(slice(first, first + (int(np.searchsorted(u, end)) - first) // step * step))
    thin = slice(None, None, 3), slice(None, None, 7)
    channel, clipped = _choose_channel(
        np.concatenate([face.linear[band, p][thin].T.reshape(3, -1) for p in parts], axis=1),
        np.concatenate([face.clipped[band, p][thin].T.ravel() for p in parts]),
    )
    light, at, segments = [], [], []
    done = 0
    for part in parts:
        plane = np.ascontiguousarray(face.linear[band, part, channel])
        count = plane.shape[1] // step
        light.append(cv2.resize(plane, (count, rows.size), interpolation=cv2.INTER_AREA))
        at.append(u[part].reshape(count, step).mean(axis=1))
        segments.append(slice(done, done + count))
        done += count
    return Columns(
        light=np.asarray(np.concatenate(light, axis=1), np.float32),
        u_mm=np.concatenate(at),
        width_mm=step / face.px_per_mm,
        segments=tuple(segments),
        w0_mm=float(w[rows[0]]),
        px_per_mm=face.px_per_mm,
        clipped_share=clipped,
    )


def _choose_channel(light: NDArray[np.float32], clipped: NDArray[np.bool_]) -> tuple[int, float]:
    """Number of the channel to take, and its clipped share, from pixels (3, P) and (P,)."""
    shares = np.count_nonzero(clipped & (light > FULL), axis=1) / clipped.size
    level = np.array([median(plane) for plane in light])
    bright = level >= MIN_LEVEL * level.max()
    least = max(MAX_CLIPPED, float(shares[bright].min()))
    channel = int(np.argmax(np.where(bright & (shares <= least), level, -1.0)))
    return channel, float(shares[channel])
