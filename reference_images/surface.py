"""The coupon's measured face as a height field: beads, jitter, texture, facets, ripple, slots."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from reference_images.designed_ripple import printed_um
from reference_images.gap_truth import deficit, draw_slots
from reference_images.ripple_truth import mode_signal_um, steady_um
from reference_images.scene import Layers, Scene
from reference_images.standard import (
    BAND_W_MM,
    BLADE,
    CHAMFER_MM,
    HEIGHT_MM,
    LENGTH_MM,
)

Array = NDArray[np.float64]
STEP_U_MM = 0.05
STEP_W_MM = 0.04
EDGE_BLUR_MM = 0.12  # a bead of half a millimetre does not print a knife edge
WALL_MM = 0.1  # run of a groove's side wall along u


@dataclass(frozen=True)
class Surface:
    """The face on a grid, layer by layer: (K layers, R rows a layer, N columns).

    ``u_mm`` (N,) is the grid along u; ``w_mm`` and ``y_mm`` (K, R, N) are the place and height of
    every vertex; neighbouring layers each have their own row at their common boundary, ``slots_mm``
    (K + 1, N) apart. ``mean_ripple_um`` (N,) is the ripple's mean over the measured band.
    """

    u_mm: Array
    w_mm: Array
    y_mm: Array
    slots_mm: Array
    mean_ripple_um: Array


def design_height_mm(scene: Scene, u_mm: Array) -> Array:
    """Height of the designed shape at each u, without ticks: facets or grooves, and corners."""
    fine = np.arange(-2.0, LENGTH_MM + 2.0, 0.01)
    if scene.face == "ringdown":
        slope = np.zeros_like(fine)
        for facet in BLADE["faces"]["ringdown"]["facets"]:
            inside = (fine >= facet["u_mm"][0]) & (fine < facet["u_mm"][1])
            slope[inside] = np.tan(np.radians(facet["slope_deg"]))
        rounding = EDGE_BLUR_MM if scene.designed is None else scene.designed.rounding_mm
        slope = ndimage.gaussian_filter1d(slope, rounding / 0.01)
        y = np.cumsum(slope) * 0.01
        if scene.designed is not None:
            y += printed_um(scene.designed, fine) / 1000
    else:
        y = np.zeros_like(fine)
        grooves = BLADE["faces"]["flow"]["grooves"]
        for k in range(grooves["count"]):
            centre = grooves["first_u_mm"] + k * grooves["pitch_mm"]
            inside = (grooves["width_mm"] / 2 - np.abs(fine - centre)) / WALL_MM + 0.5
            y -= grooves["depth_mm"] * np.clip(inside, 0.0, 1.0)
        y = ndimage.gaussian_filter1d(y, 3.0)
    radius = scene.layers.corner_radius_mm
    height = np.interp(u_mm, fine, y)
    for distance in (u_mm, LENGTH_MM - u_mm):
        short = np.clip(radius - distance, 0.0, radius)
        height = height - (radius - np.sqrt(radius**2 - short**2))
    return np.asarray(height)


def _cut_ticks(scene: Scene, u_mm: Array, w_mm: Array) -> Array:
    """Depth in mm of the tick grooves: one on the X blade, two on the Y blade."""
    ticks = BLADE["faces"]["ringdown"]["ticks"]
    depth = np.zeros(np.broadcast(u_mm, w_mm).shape)
    tall = np.clip((w_mm - ticks["w_mm"][0]) / 0.1 + 0.5, 0, 1)
    tall = tall * np.clip((ticks["w_mm"][1] - w_mm) / 0.1 + 0.5, 0, 1)
    for centre in ticks["u_mm"][: 1 if scene.axis == "x" else 2]:
        wide = np.clip((ticks["width_mm"] / 2 - np.abs(u_mm - centre)) / WALL_MM + 0.5, 0, 1)
        depth = np.maximum(depth, ticks["depth_mm"] * wide * tall)
    return depth


def _layer_ripple_um(
    scene: Scene, u_mm: Array, in_band: NDArray[np.bool_], rng: np.random.Generator
) -> tuple[Array, Array]:
    """Ripple of every layer (K, N), and its mean over the band (N,).

    The layers' jitter is scaled so that the band's mean is exactly the mode asked for.
    """
    layers: Layers = scene.layers
    count = in_band.size
    ripple = np.zeros((count, u_mm.size))
    # The vibration builds up from the corner: at its very edge the tracked path is still rounding.
    rise = np.clip((u_mm - 0.3) / 1.5, 0.0, 1.0)
    rise = rise**2 * (3 - 2 * rise)
    for mode in scene.modes:
        jitter = (1 + layers.amplitude_jitter * rng.standard_normal(count)) * np.exp(
            1j * layers.phase_jitter_rad * rng.standard_normal(count)
        )
        jitter = jitter / jitter[in_band].mean()
        ripple += (jitter[:, None] * mode_signal_um(mode, scene.motion, u_mm)).real * rise
    ripple += steady_um(scene.steady, u_mm) * rise
    return ripple, ripple[in_band].mean(axis=0)


def build_surface(scene: Scene, *, step_u_mm: float = STEP_U_MM) -> Surface:
    """Draw the face of ``scene``; the same seed gives the same face."""
    rng = np.random.default_rng([scene.seed, 1])
    layers = scene.layers
    count = round(HEIGHT_MM / layers.height_mm)
    pitch = HEIGHT_MM / count
    rows = max(5, round(pitch / STEP_W_MM)) + 1
    u = np.linspace(0.0, LENGTH_MM, round(LENGTH_MM / step_u_mm) + 1)
    centre = (np.arange(count) + 0.5) * pitch
    in_band = (centre >= BAND_W_MM[0]) & (centre <= BAND_W_MM[1])

    slots = np.zeros((count + 1, u.size))
    starved = np.zeros_like(u)
    if scene.face == "flow":
        slots = draw_slots(scene.starvation, u, count, rng)
        starved = deficit(scene.starvation, u) * min(1.0, scene.starvation.gaps_per_layer)
    bottom = (np.arange(count) * pitch)[:, None] + slots[:-1] / 2
    top = ((np.arange(count) + 1) * pitch)[:, None] - slots[1:] / 2
    share = np.linspace(0.0, 1.0, rows)[None, :, None]
    w = bottom[:, None, :] + share * (top - bottom)[:, None, :]

    ripple, mean_ripple = _layer_ripple_um(scene, u, in_band, rng)
    wander = rng.standard_normal((count, u.size))
    wander = ndimage.gaussian_filter1d(wander, 2.5 / step_u_mm, axis=1, mode="reflect")
    wander *= layers.wander_um / wander.std()
    texture = rng.standard_normal((count * rows, u.size))
    texture = ndimage.gaussian_filter(texture, (1.0, 0.12 / step_u_mm), mode="reflect")
    texture *= layers.texture_um / texture.std()
    valley = layers.valley_um * rng.uniform(0.9, 1.1, count)[:, None] * (1 + 0.5 * starved)
    offset = layers.offset_um * rng.standard_normal(count)[:, None]

    um = texture.reshape(count, rows, u.size)
    um += (ripple + wander + offset)[:, None, :]
    um -= valley[:, None, :] * (2 * share - 1) ** 2
    y = um / 1000 + design_height_mm(scene, u)
    if scene.face == "ringdown":
        y -= _cut_ticks(scene, u, w)
    return Surface(u_mm=u, w_mm=w, y_mm=y, slots_mm=slots, mean_ripple_um=mean_ripple)


def end_u_mm(scene: Scene, w_mm: Array) -> tuple[Array, Array]:
    """Where the outline begins and ends along u at each ``w_mm``: the chamfer's cut."""
    cut = np.maximum(w_mm - (HEIGHT_MM - CHAMFER_MM), 0.0)
    if scene.face == "ringdown":
        return np.zeros_like(w_mm), LENGTH_MM - cut
    return cut, np.full_like(w_mm, LENGTH_MM)
