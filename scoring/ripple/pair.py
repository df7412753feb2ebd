"""Two photos of one face, lamp left and lamp right, as one problem: stains drop out.

Turning the lamp turns the sign of what a slope does to the light and leaves what a stain does. Half
the difference of the two log brightnesses therefore knows shape only, half their sum stains. With
gains alike nothing is lost: the difference tells slopes as well as both photos would together if it
were known that there is no stain.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from scoring.errors import SameLampError
from scoring.ripple.components import Track
from scoring.ripple.fit import Problem
from scoring.ripple.light import LitFace
from scoring.ripple.problem import baseline, level_strips, weigh_columns
from scoring.shading.response import STEP, Response

SD_GAIN_PAIR = 0.009
"""As one photo's ``SD_GAIN``, of which lamp and camera are a part: found on the tuning pairs."""

FLOOR_SHARE_PAIR = 0.7
"""Coding, lens and falloff make faults of each photo's own; texture and warp are in both."""

VALID_SHARE = 0.99


@dataclass(frozen=True)
class JoinedFaces:
    """Both photos as one :class:`LitFace`, and what does not turn with the lamp.

    ``left_log`` and ``right_log`` (K, N) are the strips' log light over the columns of ``lit``.
    ``even_response`` is what slopes leave in half their sum.
    """

    lit: LitFace
    left_log: NDArray[np.float64]
    right_log: NDArray[np.float64]
    even_response: Response

    @property
    def even_log(self) -> NDArray[np.float64]:
        """Half the sum of the two, (K, N): each strip's stain."""
        return np.asarray((self.left_log + self.right_log) / 2)


def join_faces(one: LitFace, other: LitFace) -> JoinedFaces:
    """Half the difference of two photos of the same face, calibrated together, in either order.

    Raises :class:`SameLampError` where both lamps stand on one side.
    """
    if one.facets.agreement * other.facets.agreement > 0:
        side = "left" if one.facets.agreement > 0 else "right"
        raise SameLampError(
            f"In both photos the lamp shines from the face's {side}. Take one with the lamp on the "
            "label's side of the card and one with it opposite, the coupon lying the same way."
        )
    left, right = (one, other) if one.facets.agreement > 0 else (other, one)
    a, b = left.problem, right.problem
    from_u, to_u = b.track.u_mm[[0, -1]]
    kept = (a.track.u_mm >= from_u) & (a.track.u_mm <= to_u)
    track = Track(a.track.u_mm[kept], a.track.time_s[kept], a.track.speed_mm_s[kept])
    at = _between(b.track.u_mm, track.u_mm)
    valid = a.valid[:, kept] & (at(b.valid.T.astype(np.float64)).T > VALID_SHARE)
    left_log = level_strips(a.log_light[:, kept], valid)
    seen = np.where(b.valid, b.log_light, b.mean_log)
    right_log = level_strips(CubicSpline(b.track.u_mm, seen, axis=1)(track.u_mm), valid)
    odd_log = (left_log - right_log) / 2
    base, base_sd = baseline(track.u_mm)
    table_a, table_b = a.response.table[kept], at(b.response.table)
    unmasked = (a.weight[kept] > 0) & (at(b.weight > 0) > VALID_SHARE)
    problem = replace(
        a,
        track=track,
        log_light=odd_log,
        valid=valid,
        weight=weigh_columns(odd_log, valid) * unmasked,
        base=base,
        base_sd=base_sd,
        facet_slope=a.facet_slope[kept],
        response=_as_response(np.sqrt(table_a / table_b)),
        blur_px=_mean_blur_px(a, b),
        stretch_sd=float(np.hypot(a.stretch_sd, b.stretch_sd) / 2),
    )
    share = np.abs([left.gain, right.gain]) / (abs(left.gain) + abs(right.gain))
    steps = share @ np.stack([left.carry_steps, right.carry_steps])
    lit = replace(
        left,
        problem=problem,
        gain=(left.gain - right.gain) / 2,
        # The farther end of one lamp is the nearer of the other: doubts do not run the same way.
        carry_steps=steps,
        shared_sd=SD_GAIN_PAIR,
        floor_share=FLOOR_SHARE_PAIR,
        clipped_share=max(left.clipped_share, right.clipped_share),
        shadow_seen=left.shadow_seen and right.shadow_seen,
    )
    return JoinedFaces(lit, left_log, right_log, _as_response(np.sqrt(table_a * table_b)))


def _between(
    known_u_mm: NDArray[np.float64], u_mm: NDArray[np.float64]
) -> Callable[[NDArray[Any]], NDArray[np.float64]]:
    """Linear interpolation of rows (M, ...) known at ``known_u_mm`` (M,), to ``u_mm`` (N,)."""
    place = np.interp(u_mm, known_u_mm, np.arange(known_u_mm.size))
    k = np.minimum(place.astype(np.int64), known_u_mm.size - 2)
    t = place - k

    def at(rows: NDArray[Any]) -> NDArray[np.float64]:
        share = t.reshape(-1, *([1] * (rows.ndim - 1)))
        return np.asarray(rows[k] * (1 - share) + rows[k + 1] * share)

    return at


def _as_response(table: NDArray[np.float64]) -> Response:
    return Response(table, np.gradient(table, STEP, axis=1), np.zeros(len(table)))


def _mean_blur_px(a: Problem, b: Problem) -> float:
    """The blur that weakens their difference as the two blurs weaken each, in columns of ``a``."""
    steps = [float(p.track.u_mm[1] - p.track.u_mm[0]) for p in (a, b)]
    in_mm = [p.blur_px * step for p, step in zip((a, b), steps, strict=True)]
    return float(np.sqrt(np.mean(np.square(in_mm)))) / steps[0]
