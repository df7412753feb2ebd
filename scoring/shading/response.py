"""How brightness follows slope: the relation that turns a photo into a profile."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.registration.rectify import Placement
from scoring.shading.account import FaceLine, Shading, trace_line
from scoring.shading.calibrate import Calibration
from scoring.shading.tone import luma_light

SLOPES = np.linspace(-1.2, 1.2, 61)
STEP = SLOPES[1] - SLOPES[0]
COARSE_COLUMNS = 24


@dataclass(frozen=True)
class Response:
    """The face's light at each of N columns over the level face's there, as a function of slope.

    ``table`` (N, S) holds it at ``SLOPES``, ``rates`` (N, S) its derivative; between them it is
    cubic. ``level_log`` (N,) is the log light of the level face.
    """

    table: NDArray[np.float64]
    rates: NDArray[np.float64]
    level_log: NDArray[np.float64]

    def light(self, slope: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Relative light and its derivative by slope, both (N,), for ``slope`` (N,)."""
        at = np.clip((slope - SLOPES[0]) / STEP, 0, SLOPES.size - 1.001)
        k = at.astype(np.int64)
        t = at - k
        low = np.arange(len(slope)) * SLOPES.size + k
        a, b = self.table.take(low), self.table.take(low + 1)
        da, db = self.rates.take(low) * STEP, self.rates.take(low + 1) * STEP
        c2, c3 = 3 * (b - a) - 2 * da - db, 2 * (a - b) + da + db
        light = a + t * (da + t * (c2 + t * c3))
        rate = (da + t * (2 * c2 + 3 * t * c3)) / STEP
        return light, rate

    def slope(self, light: NDArray[np.float64]) -> NDArray[np.float64]:
        """The slope (N,) at which each column gives relative ``light`` (N,), held to the table.

        Where light no longer rises with slope the rising part about level is used; under a lamp on
        the face's right light falls with slope, and the falling part is.
        """
        middle = SLOPES.size // 2
        if self.rates[:, middle].mean() < 0:
            mirrored = Response(self.table[:, ::-1], -self.rates[:, ::-1], self.level_log)
            return -mirrored.slope(light)
        rising = np.maximum.accumulate(self.table, axis=1)
        below = (rising <= light[:, None]).sum(axis=1)
        k = np.clip(below - 1, 0, SLOPES.size - 2)
        rows = np.arange(len(light))
        low, high = rising[rows, k], rising[rows, k + 1]
        t = np.clip((light - low) / np.maximum(high - low, 1e-9), 0, 1)
        return np.asarray(SLOPES[k] + t * STEP)


def tabulate_response(
    shading: Shading,
    placement: Placement,
    camera_mm: NDArray[np.float64],
    *,
    u_mm: NDArray[np.float64],
) -> Response:
    """The response of the calibrated ``shading`` over ``u_mm`` (N,), in luma as the file holds it.

    ``camera_mm`` (3,) is the camera in card axes, z up. The camera's tone curve is in it.
    """
    coarse = np.linspace(u_mm[0], u_mm[-1], COARSE_COLUMNS)
    line = trace_line(placement, camera_mm, coarse)
    light = _luma(shading, line, SLOPES[:, None]).T
    level = _luma(shading, line, np.zeros(1))
    relative = np.maximum(light / level[:, None], 1e-3)
    rates = np.gradient(relative, STEP, axis=1)
    at = (u_mm - coarse[0]) / (coarse[1] - coarse[0])
    k = np.minimum(at.astype(np.int64), COARSE_COLUMNS - 2)
    t = (at - k)[:, None]
    return Response(
        relative[k] * (1 - t) + relative[k + 1] * t,
        rates[k] * (1 - t) + rates[k + 1] * t,
        np.asarray(np.interp(u_mm, coarse, np.log(level))),
    )


def carry_steps(
    calibration: Calibration,
    placement: Placement,
    camera_mm: NDArray[np.float64],
    *,
    from_u_mm: NDArray[np.float64],
    to_u_mm: float,
) -> NDArray[np.float64]:
    """How a step of each of V kinds changes the gain at ``to_u_mm``, known at ``from_u_mm``; (V,).

    Changes are of the logarithm; their root sum of squares is its standard deviation. The facets
    anchor brightness per slope where they are; what lamp, gloss and tone curve make of it elsewhere
    is as sure as the calibration.
    """
    line = trace_line(placement, camera_mm, np.append(from_u_mm, to_u_mm))

    def carried(shading: Shading) -> NDArray[np.float64]:
        low, level, high = _luma(shading, line, np.array([[[-STEP]], [[0.0]], [[STEP]]]))
        log_gain = np.log(np.maximum(np.abs(high - low) / level, 1e-6))
        return np.asarray(log_gain[:, -1] - log_gain[:, :-1].mean(axis=1))

    # The farther side, since a glossy surface's gain goes farther one way than the other; the sign
    # is the way that it goes on the whole, by which steps of two photos are joined.
    here = carried(calibration.shading)
    ahead, behind = carried(calibration.ahead) - here, carried(calibration.behind) - here
    return np.copysign(np.maximum(np.abs(ahead), np.abs(behind)), ahead - behind)


def _luma(shading: Shading, line: FaceLine, slope: NDArray[np.float64]) -> NDArray[np.float64]:
    channels = shading.channels(shading.sight(line), slope)
    return luma_light(shading.code(channels))
