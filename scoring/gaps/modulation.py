"""How strongly the layer lines show, in the recovery zone over the steady zone."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from scoring.estimate import Estimate
from scoring.gaps.columns import Columns, split
from scoring.gaps.layers import LayerLines
from scoring.geometry import BLADE

BLOCK_MM, STRIP_MM = 2.0, 3.0


def compare_layer_lines(columns: Columns, lines: LayerLines) -> Estimate | None:
    """Brightness amplitude at the layer frequency over mean brightness: recovery over steady zone.

    Amplitudes are taken coherently in blocks of 2 mm by 3 mm along the lines' own course, then
    averaged; the strips of w stand for each other, so their scatter gives the interval. ``None``
    without layer lines.
    """
    if not lines.found:
        return None
    steady = _contrast(columns, lines, BLADE.steady_zone_u_mm)
    recovery = _contrast(columns, lines, BLADE.recovery_zone_u_mm)
    if np.any(steady <= 0) or np.any(recovery <= 0):
        return None
    ratio = np.log(recovery / steady)
    middle = float(np.log(recovery.mean() / steady.mean()))
    reach = float(stdtrit(ratio.size - 1, 0.975) * ratio.std(ddof=1) / np.sqrt(ratio.size))
    return Estimate(*(float(np.exp(middle + d)) for d in (0.0, -reach, reach)))


def _contrast(
    columns: Columns, lines: LayerLines, zone: tuple[float, float]
) -> NDArray[np.float64]:
    """Relative amplitude at the layer frequency, a mean over the zone for each strip of w, (S,)."""
    low, high = BLADE.measured_band_w_mm
    w = columns.w_mm()
    light, u = columns.average(split(columns.span(zone), round((zone[1] - zone[0]) / BLOCK_MM)))
    wave = np.exp(-2j * np.pi * lines.phase(w[:, None], u[None, :]))
    edges = np.linspace(high, low, round((high - low) / STRIP_MM) + 1)[:, None]
    top, bottom = edges[:-1], edges[1:]
    # Weights (S, M). Tapered, a strip need not hold whole layers, nor whole turns of rows against
    # layers.
    from_middle = w - (top + bottom) / 2
    taper = 1 + np.cos(2 * np.pi * from_middle / (top - bottom))
    taper *= (w <= top) & (w > bottom)
    taper /= taper.sum(axis=1, keepdims=True)
    tilt = taper * from_middle
    mean = taper @ light
    slope = tilt @ light / (tilt * from_middle).sum(axis=1, keepdims=True)
    layered = taper @ (light * wave) - mean * (taper @ wave) - slope * (tilt @ wave)
    return np.asarray((2 * np.abs(layered) / mean).mean(axis=1))
