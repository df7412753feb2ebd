"""An account of a photo's light: lamp, stray light, tone curve, filament, gloss; what it shows."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.registration.rectify import Placement
from scoring.shading.lamp import intensity, light_bay
from scoring.shading.surface import PAPER_ALBEDO, SEEN_SURROUND, Sight, gloss_light, matt_light
from scoring.shading.tone import bend, bend_with_luma

MATT_ROUGHNESS = 0.45
"""Of the matt law: the gloss's roughness says nothing of the matt part, and ``grazing`` departs
from this where face and facets say so."""

Number = float | NDArray[np.float64]
"""One, or several at once."""


@dataclass(frozen=True)
class FaceLine:
    """N places on the face: ``at_mm`` (N, 3) in card axes, z up.

    ``axes`` (3, 3) has the face's u, w and outward unit vectors as rows; ``to_camera`` (N, 3) are
    unit vectors in these.
    """

    at_mm: NDArray[np.float64]
    axes: NDArray[np.float64]
    to_camera: NDArray[np.float64]


@dataclass(frozen=True)
class Shading:
    """The fitted account.

    ``lamp_mm`` (3,) in card axes, z up; ``beam`` and ``lean`` (2,) as in :func:`intensity`;
    ``stray`` light over the lamp's on the bay's centre;
    ``contrast``, ``power`` and ``shoulder`` of the tone curve as in :func:`bend`; ``strength`` and
    ``roughness`` of the gloss as in :func:`gloss_light`; ``albedo`` (3,) over paper's; ``exposure``
    (3,) the linear light of paper at the bay's centre under the lamp alone; ``vignette`` the
    logarithm of light that the lens loses in the picture's corners; ``bounce`` what the coupon's
    walls, were they as bright as paper, would send to paper that sees nothing else; ``grazing``,
    ``returning`` and ``bead`` as in :func:`matt_light`, ``paper_returning`` the paper's; ``ink``
    the black ink's albedo over paper's, ``ink_gloss`` its gloss over a varnish's; ``veil`` what the
    lens scatters over all the picture, of paper's light at the bay's centre. Several
    accounts are one whose numbers are arrays (...) and whose vectors are (..., 3) or (..., 2).
    """

    lamp_mm: NDArray[np.float64]
    stray: Number
    contrast: Number
    strength: Number
    roughness: Number
    albedo: NDArray[np.float64]
    exposure: NDArray[np.float64]
    power: Number = 1.0
    vignette: Number = 0.0
    bounce: Number = 0.0
    grazing: Number = 0.0
    bead: Number = 1.0
    shoulder: Number = 0.0
    paper_returning: Number = 0.0
    returning: Number = 0.0
    ink: Number = 0.045
    ink_gloss: Number = 0.0
    veil: Number = 0.0
    beam: Number = 0.0
    lean: NDArray[np.float64] = field(default_factory=lambda: np.zeros(2))

    def code(self, light: NDArray[np.float64]) -> NDArray[np.float64]:
        """``light`` (..., N, 3) as a standard reader takes it from the file: the tone curve."""
        return bend(light, *self._tone())

    def code_with_luma(self, light: NDArray[np.float64]) -> NDArray[np.float64]:
        """As :meth:`code`, with the luma's light besides, (..., N, 4)."""
        return bend_with_luma(light, *self._tone())

    def _tone(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        contrast, power, shoulder = (
            with_axis(with_axis(x)) for x in (self.contrast, self.power, self.shoulder)
        )
        return contrast, power, shoulder

    def sight(self, line: FaceLine) -> Sight:
        """Directions to lamp and camera, and the lamp's irradiance, along ``line``."""
        to_lamp = (self.lamp_mm[..., None, :] - line.at_mm) @ line.axes.T
        distance2 = np.einsum("...k,...k->...", to_lamp, to_lamp)
        return Sight(
            to_lamp / np.sqrt(distance2)[..., None],
            line.to_camera,
            self.sent(line.at_mm) / distance2 / with_axis(light_bay(self.lamp_mm)),
        )

    def sent(self, at_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """The lamp's intensity towards (N, 3), over that to the bay's centre; (..., N)."""
        return intensity(self.lamp_mm, np.asarray(self.beam), self.lean, at_mm)

    def channels(self, sight: Sight, slope: NDArray[np.float64]) -> NDArray[np.float64]:
        """True linear light of the face, (..., N, 3), for ``slope`` (..., N)."""
        matt, gloss = (part.mean(axis=-2) for part in self._lamp_light(sight, slope))
        return self._channels(matt * sight.irradiance, gloss * sight.irradiance)

    def layers(self, sight: Sight) -> NDArray[np.float64]:
        """True linear light (..., beads, 3) across a layer of the level face; N is 1."""
        matt, gloss = self._lamp_light(sight, np.zeros(1))
        return self._channels(matt[..., 0] * sight.irradiance, gloss[..., 0] * sight.irradiance)

    def _lamp_light(
        self, sight: Sight, slope: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Matt and glossy light, (..., beads, N)."""
        roughness, strength = with_axis(self.roughness), with_axis(self.strength)
        matt = matt_light(
            sight,
            slope,
            roughness=MATT_ROUGHNESS,
            grazing=with_axis(self.grazing),
            bead=self.bead,
            returning=with_axis(self.returning),
        )
        gloss = gloss_light(sight, slope, roughness=roughness, strength=strength, bead=self.bead)
        return matt, gloss

    def _channels(
        self, matt: NDArray[np.float64], gloss: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        lamp = matt[..., None] * self.albedo[..., None, :] + gloss[..., None]
        strength = with_axis(self.strength)
        surround = SEEN_SURROUND * with_axis(self.stray) * (self.albedo + strength / PAPER_ALBEDO)
        light = lamp + (surround + with_axis(self.veil))[..., None, :]
        return np.asarray(light * self.exposure[..., None, :])


def trace_line(
    placement: Placement, camera_mm: NDArray[np.float64], u_mm: NDArray[np.float64]
) -> FaceLine:
    """The face's middle line at ``u_mm`` (N,), seen from ``camera_mm`` (3,), card axes, z up."""
    at = placement.card_mm(u_mm, np.full_like(u_mm, BLADE.height_mm / 2)) * np.array([1, 1, -1])
    cos, sin = np.cos(placement.turn_rad), np.sin(placement.turn_rad)
    axes = np.array([[cos, sin, 0], [sin, -cos, 0], [0, 0, 1]])
    to_camera = (camera_mm - at) @ axes.T
    return FaceLine(at, axes, to_camera / np.linalg.norm(to_camera, axis=1, keepdims=True))


def with_axis(number: Number) -> NDArray[np.float64]:
    """Numbers (...) with an axis more, to go with what stands at several places or channels."""
    return np.asarray(number)[..., None]
