"""Several vibrations at once, by a subspace method: where looking for one at a time goes astray."""

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from scoring.geometry import BLADE
from scoring.ripple.components import SHAPE_BOUNDS, START_U_MM, Damped
from scoring.ripple.fit import Fit, Problem

SAMPLES = 400
"""Over the zone: three to a wave of 140 Hz at 85 mm/s; the singular values take 20 ms."""


def find_poles(samples: NDArray[np.float64], step_s: float, modes: int) -> NDArray[np.complex128]:
    """The poles (M,), in 1/s, of M <= ``modes`` damped vibrations whose sum ``samples`` (N,) are.

    The matrix pencil (Hua and Sarkar 1990): samples shifted by one lie in the same signal subspace,
    and what turns the one into the other has exp(pole step) as eigenvalues. Of each pair of
    conjugates the upper one is given, of others none.
    """
    rows = linalg.hankel(samples[: samples.size // 2], samples[samples.size // 2 - 1 :])
    _, _, right = linalg.svd(rows, full_matrices=False)
    signal = right[: 2 * modes].conj().T
    turned = np.linalg.eigvals(np.linalg.pinv(signal[:-1]) @ signal[1:])
    poles = np.log(turned[turned != 0]) / step_s
    return np.asarray(poles[poles.imag > 0])


def propose_vibrations(problem: Problem, level: Fit, modes: int) -> tuple[Damped, ...]:
    """Up to ``modes`` vibrations that ``problem``'s light over the zone may show.

    ``level`` is the fit without any. Light is taken back to slopes column by column, which needs
    no start, but takes the line spread for the ripple's own. Vibrations no fit may have are left
    out.
    """
    track = problem.track
    excess = (problem.mean_log - level.predicted) / level.solution.exponent
    slope = problem.response.slope(np.exp(excess))
    zone = (track.u_mm >= START_U_MM) & (track.u_mm < BLADE.facets[0].u_mm[0])
    seen = zone & (problem.weight > 0)
    time_s = np.linspace(track.time_s[zone][0], track.time_s[zone][-1], SAMPLES)
    rate_mm_s = np.interp(time_s, track.time_s[seen], (slope * track.speed_mm_s)[seen])
    poles = find_poles(rate_mm_s, float(time_s[1] - time_s[0]), modes)
    shapes = [Damped.of(complex(pole), 1.0) for pole in poles if pole.real < 0]
    low, high = SHAPE_BOUNDS
    kept = [c for c in shapes if (c.shape() > low).all() and (c.shape() < high).all()]
    if not kept:
        return ()
    waves = np.concatenate([c.slope_derivatives(track)[-2:] for c in kept])[:, seen]
    sizes = np.linalg.lstsq(waves.T, slope[seen])[0].reshape(-1, 2)
    return tuple(c.reshaped(c.shape(), *ab) for c, ab in zip(kept, sizes.tolist(), strict=True))
