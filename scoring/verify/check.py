"""Check the measurement on photos of the check blade: one by one, and all of a set-up together."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from scoring.errors import NoDesignedRippleError
from scoring.estimate import Estimate
from scoring.flags import Flag, each_once
from scoring.geometry.check_ripple import CHECK_RIPPLE
from scoring.measure import place_photo, placing_flags
from scoring.metrics import FaceName
from scoring.motion import Motion
from scoring.ranking.combine import combine
from scoring.registration.place import rectify_face
from scoring.remedies import PRINT_CHECK_BLADE
from scoring.ripple.light import light_flags, require_exponent, require_gain, understand_light
from scoring.verify.designed import DesignedFit, fit_designed
from scoring.verify.rounding import Rounding, measure_rounding
from scoring.verify.scale import ScaleResult, scale_heights
from scoring.verify.verdict import Verdict, disagree, judge

LEAST_EXPLAINED, LEAST_LIKENESS, LEAST_SIZE = 0.5, 0.8, 0.3
"""How much of the brightness the designed shape must explain, how alike the sizes must be to the
designed ones (cosine), and how large they must be: less than that is no check blade."""

ANY_MOTION = Motion(20.0, 500.0)
"""The designed ripple is fixed in length, so the motion does not matter: the advised one."""


@dataclass(frozen=True)
class Verification:
    """One photo of a check blade: what was measured, how far it is rounded, and what that says."""

    photo: str
    run: str | None
    axis: str | None
    result: ScaleResult
    rounding: Rounding
    flags: tuple[Flag, ...]
    verdict: Verdict

    def to_json(self) -> dict[str, Any]:
        """Plain data for ``json.dumps``."""
        told = asdict(self.result)
        for internal in ("own_sd", "shared_sd", "t"):
            del told[internal]
        return {
            "photo": self.photo,
            "run": self.run,
            "axis": self.axis,
            **_rounded(told),
            "rounding_mm": round(self.rounding.spread_mm, 4),
            "flags": [flag.value for flag in self.flags],
            "verdict": asdict(self.verdict),
        }


@dataclass(frozen=True)
class Together:
    """What several photos say of one set-up; ``scale`` is ``None`` where they disagree."""

    photos: tuple[str, ...]
    scale: Estimate | None
    verdict: Verdict

    def to_json(self) -> dict[str, Any]:
        """Plain data for ``json.dumps``."""
        told = {"photos": list(self.photos), "scale": self.scale and asdict(self.scale)}
        return {**_rounded(told), "verdict": asdict(self.verdict)}


def verify_photo(source: Path | bytes, *, name: str) -> Verification:
    """Check the measurement on one photo of a check blade's ring-down face.

    Light becomes height by the very steps that measure any ripple; only the ripple's shape is
    known beforehand. Raises what :func:`scoring.measure.measure_photo` raises, and
    :class:`NoDesignedRippleError` where the face does not carry the designed ripple.
    """
    placed, label = place_photo(source, name=name, face=FaceName.RINGDOWN)
    lit = understand_light(
        placed,
        rectify_face(placed, whole=False),
        ANY_MOTION,
        rippled_u_mm=CHECK_RIPPLE.rippled_u_mm,
    )
    require_gain(lit.gain)
    fit = fit_designed(lit.problem)
    _require_designed(fit)
    require_exponent(fit.facet_exponent)
    rounding = measure_rounding(fit.problem, fit.solution)
    result = scale_heights(fit, rounding, lit)
    largest = max(s.measured_um.value for s in result.stretches) / 1e3
    contrast = largest * 2 * np.pi / CHECK_RIPPLE.wavelength_mm * abs(lit.gain)
    return Verification(
        photo=name,
        run=label.run if label else None,
        axis=label.axis if label else None,
        result=result,
        rounding=rounding,
        flags=each_once(
            placing_flags(placed, label),
            light_flags(lit, blur_mm=placed.blur_mm, contrast=float(contrast)),
        ),
        verdict=judge(result.scale, lost_um=result.lost_um, flat_um=result.flat_um),
    )


def join(checks: Sequence[Verification]) -> Together:
    """Several photos of one print, filament, lamp and phone as one check.

    Each photo's own doubt shrinks by their number, or grows where they scatter; the doubt that
    they share, of calibration and print, does not. Photos that cannot be of one blade are not
    averaged (:func:`scoring.verify.verdict.disagree`). Raises ``ValueError`` for none.
    """
    results = [c.result for c in checks]
    photos = tuple(c.photo for c in checks)
    apart = disagree(
        dict(zip(photos, (r.scale for r in results), strict=True)),
        {c.photo: f"run {c.run}, axis {c.axis}" for c in checks if c.run is not None},
    )
    if apart is not None:
        return Together(photos, None, apart)
    own = combine([Estimate.around(r.scale.value, r.t * r.own_sd) for r in results])
    shared = max(r.t * r.shared_sd for r in results)
    scale = Estimate.around(own.value, float(np.hypot(own.half_width, shared)))
    lost, flat = (combine([getattr(r, key) for r in results]) for key in ("lost_um", "flat_um"))
    return Together(photos, scale, judge(scale, lost_um=lost, flat_um=flat))


def _require_designed(fit: DesignedFit) -> None:
    designed = np.array([s.amplitude_um for s in CHECK_RIPPLE.stretches])
    a, b = designed @ fit.amplitude_um / (designed @ designed)
    found = float(np.hypot(a, b))
    likeness = found * float(np.linalg.norm(designed)) / float(np.linalg.norm(fit.amplitude_um))
    if fit.explained < LEAST_EXPLAINED or likeness < LEAST_LIKENESS or found < LEAST_SIZE:
        raise NoDesignedRippleError(
            f"The check blade's ripple is not there ({found:.0%} of its size found, "
            f"{max(fit.explained, 0):.0%} of the shading explained by it). Is it an ordinary "
            f"blade? {PRINT_CHECK_BLADE} and photograph its ring-down face."
        )


def _rounded(value: Any) -> Any:
    """The same structure with numbers to five decimals."""
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(item) for item in value]
    return round(value, 5) if isinstance(value, float) else value
