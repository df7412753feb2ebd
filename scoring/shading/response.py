"""How brightness follows slope: the relation that turns a photo into a profile."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.registration.rectify import Placement
from scoring.shading.calibrate import Shading, trace_line

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
        rows = np.arange(len(slope))
        a, b = self.table[rows, k], self.table[rows, k + 1]
        da, db = self.rates[rows, k] * STEP, self.rates[rows, k + 1] * STEP
        c2, c3 = 3 * (b - a) - 2 * da - db, 2 * (a - b) + da + db
        light = a + t * (da + t * (c2 + t * c3))
        rate = (da + t * (2 * c2 + 3 * t * c3)) / STEP
        return light, rate

    def slope(self, light: NDArray[np.float64]) -> NDArray[np.float64]:
        """The slope (N,) at which each column gives relative ``light`` (N,), held to the table.

        Where light no longer rises with slope the rising part about level is used.
        """
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
    mix: NDArray[np.float64],
) -> Response:
    """The response of the calibrated ``shading`` over ``u_mm`` (N,), channels mixed by ``mix``.

    ``camera_mm`` (3,) is the camera in card axes, z up.
    """
    coarse = np.linspace(u_mm[0], u_mm[-1], COARSE_COLUMNS)
    sight = shading.sight(trace_line(placement, camera_mm, coarse))
    light = (shading.channels(sight, SLOPES[:, None]) @ mix).T
    level = shading.channels(sight, np.zeros(1)) @ mix
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
