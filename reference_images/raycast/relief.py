"""The relief of the face as a height field: ripple or slots, layers, edges and texture."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, gaussian_filter1d

from reference_images.raycast.conditions import Conditions, GapPlan, Print
from reference_images.raycast.motion import mode_signal_mm
from reference_images.raycast.relief_fill import fill_relief
from reference_images.raycast.slots import draw_slots, find_gap_truth
from reference_images.standard import (
    BAND_W_MM,
    BLADE,
    CHAMFER_MM,
    HEIGHT_MM,
    LENGTH_MM,
    RECOVERY_ZONE_U_MM,
)

Array = NDArray[np.float64]
STEP_U_MM = 0.025
STEP_W_MM = {"ringdown": 0.01, "flow": 0.005}
FADE_MM = (0.4, 1.8)
"""Where the ripple begins, and over what length it comes up to its full size."""


@dataclass(frozen=True)
class Relief:
    """Heights (W, U) in mm over the face's plane; rows along w, columns along u, cells' middles.

    ``codes`` (W, U) is 0 on the face, 255 off it, else an open slot's depth in 5 um; ``open_um``
    (W, U) is that slot's height. ``groove_mm`` (U,) is how deep grooves are.
    """

    heights_mm: NDArray[np.float32]
    codes: NDArray[np.uint8]
    open_um: NDArray[np.uint8]
    groove_mm: NDArray[np.float32]
    step_w_mm: float


@dataclass(frozen=True)
class _Lines:
    """What makes up the relief: along u for all layers (U,), and for each layer or line."""

    common_mm: Array
    layers_mm: NDArray[np.float32]
    groove_mm: Array
    open_mm: Array
    depth_mm: Array


def build_relief(rng: np.random.Generator, scene: Conditions) -> tuple[Relief, dict[str, Any]]:
    """The relief, and the gaps' truth, empty on the ring-down face. No draw may be moved."""
    made, step_w = scene.made, STEP_W_MM[scene.face]
    columns, rows = round(LENGTH_MM / STEP_U_MM), round(HEIGHT_MM / step_w)
    u = np.asarray((np.arange(columns) + 0.5) * STEP_U_MM, float)
    w = np.asarray((np.arange(rows) + 0.5) * step_w, float)
    layers = count_layers(made.layer_mm)
    weights = weigh_layers(w, made.layer_mm)
    truth: dict[str, Any] = {}
    if scene.gaps is None:
        lines = _draw_ringdown(rng, scene, u, weights)
    else:
        lines, truth = _draw_flow(rng, scene, scene.gaps, u, layers)
    wander = gaussian_filter1d(
        rng.standard_normal((layers, columns)), made.wander_length_mm / STEP_U_MM, axis=1
    )
    wander *= made.wander_um * 1e-3 / wander.std()
    wander -= (weights[:, None] * wander).sum(0)
    lines.layers_mm[:] += wander.astype(np.float32)
    x = (u - LENGTH_MM / 2) / (LENGTH_MM / 2)
    lines.common_mm[:] += 1e-3 * (made.bow_um * x * x + made.lean_um * x)
    offsets = 1e-3 * made.offset_um * rng.standard_normal(layers)
    uneven = np.clip(1 + 0.15 * rng.standard_normal(layers + 1), 0.6, 1.5)
    heights = rng.standard_normal((rows, columns), dtype=np.float32)
    heights = gaussian_filter(heights, (made.texture_w_mm / step_w, made.texture_u_mm / STEP_U_MM))
    heights *= made.texture_um * 1e-3 / heights.std()
    codes, opening = np.zeros((rows, columns), np.uint8), np.zeros((rows, columns), np.uint8)
    profile = shape_bead(np.linspace(0, 1, 401), made.bead_kind, made.bead_power)
    fill_relief(
        *(heights, codes, opening, STEP_U_MM, step_w, made.layer_mm, layers, profile),
        *(1e-3 * made.bead_um * uneven, offsets, lines.layers_mm, lines.open_mm, lines.depth_mm),
        *_find_ends(scene.face, layers, made.layer_mm),
        *(made.corner_radius_mm, lines.common_mm, made.foot_width_mm, made.foot_mm),
    )
    if scene.face == "ringdown":
        heights -= _cut_ticks(scene.axis, made, u, w)
    groove = lines.groove_mm.astype(np.float32)
    return Relief(heights, codes, opening, groove, step_w), truth


def count_layers(layer_mm: float) -> int:
    """How many layers the face has, the last perhaps cut off."""
    return int(np.ceil(HEIGHT_MM / layer_mm - 1e-9))


def weigh_layers(w_mm: Array, layer_mm: float) -> Array:
    """Each layer's share (layers,) of the measured band, as rows at ``w_mm`` sample it."""
    layers = count_layers(layer_mm)
    band = w_mm[(w_mm > BAND_W_MM[0]) & (w_mm < BAND_W_MM[1])]
    at = np.minimum((band / layer_mm).astype(int), layers - 1)
    counts = np.bincount(at, minlength=layers).astype(float)
    return np.asarray(counts / counts.sum())


def shape_bead(across: Array, kind: str, power: float) -> Array:
    """A bead's fall from its crest (0) to its valleys (1), ``across`` going from 0 to 1, any shape.

    ``power`` is the arc's half width over its radius, or the flat bead's exponent.
    """
    q = np.abs(2 * across - 1)
    if kind == "arc":
        k = power
        return np.asarray((1 - np.sqrt(1 - (k * q) ** 2)) / (1 - np.sqrt(1 - k * k)))
    if kind == "parabola":
        return np.asarray(q**2)
    if kind == "cosine":
        return np.asarray((1 - np.cos(np.pi * q)) / 2)
    return np.asarray(q**power)


def shape_facets(u_mm: Array, sigma_mm: float) -> Array:
    """The facets' height, mm, (U,) at columns ``STEP_U_MM`` apart, their edges smoothed."""
    height = np.zeros_like(u_mm)
    for facet in BLADE["faces"]["ringdown"]["facets"]:
        start, end = facet["u_mm"]
        slope = np.tan(np.radians(facet["slope_deg"]))
        height += slope * np.clip(u_mm - start, 0, end - start)
    return np.asarray(gaussian_filter1d(height, sigma_mm / STEP_U_MM, mode="nearest"))


def shape_grooves(u_mm: Array, sigma_mm: float) -> Array:
    """How deep the flow face's grooves are at each u, mm, their edges smoothed."""
    grooves, step = BLADE["faces"]["flow"]["grooves"], 0.005
    fine = np.arange(-400, int(LENGTH_MM / step) + 400) * step
    depth = np.zeros_like(fine)
    for k in range(grooves["count"]):
        middle = grooves["first_u_mm"] + k * grooves["pitch_mm"]
        depth[np.abs(fine - middle) < grooves["width_mm"] / 2] = grooves["depth_mm"]
    return np.asarray(np.interp(u_mm, fine, gaussian_filter1d(depth, sigma_mm / step)))


def draw_ripples(
    rng: np.random.Generator, scene: Conditions, u_mm: Array, weights: Array
) -> NDArray[np.float32]:
    """Every layer's own ripple, mm, (layers, U): amplitude and phase scatter from layer to layer.

    They are scaled so that the mean over the band, by ``weights`` (layers,), is the truth.
    """
    share = np.clip((u_mm - FADE_MM[0]) / FADE_MM[1], 0, 1)
    fade = share * share * (3 - 2 * share)
    ripples = np.zeros((weights.size, u_mm.size), np.float32)
    scatter = scene.made.scatter
    for mode in scene.ripple.modes:
        signal = mode_signal_mm(u_mm, mode, scene.motion) * fade
        size = 1 + scatter * rng.standard_normal(weights.size)
        factors = size * np.exp(1j * scatter * rng.standard_normal(weights.size))
        factors /= (weights * factors).sum()
        ripples += (factors[:, None] * signal[None]).real.astype(np.float32)
    return ripples


def _draw_ringdown(rng: np.random.Generator, scene: Conditions, u: Array, weights: Array) -> _Lines:
    ripple = scene.ripple
    common = np.zeros(u.size) + shape_facets(u, scene.made.edge_sigma_mm)
    layers_mm = draw_ripples(rng, scene, u, weights)
    if ripple.steady_um > 0:
        turn = 2 * np.pi * u / ripple.steady_period_mm + ripple.steady_phase_rad
        common += ripple.steady_um * 1e-3 * np.cos(turn)
    none = np.zeros((weights.size + 1, u.size))
    return _Lines(common, layers_mm, np.zeros(u.size), none, none)


def _draw_flow(
    rng: np.random.Generator, scene: Conditions, plan: GapPlan, u: Array, layers: int
) -> tuple[_Lines, dict[str, Any]]:
    groove = shape_grooves(u, scene.made.edge_sigma_mm)
    slots = draw_slots(rng, plan, u, layer_mm=scene.made.layer_mm, layers=layers)
    start = RECOVERY_ZONE_U_MM[0]
    starved = np.where(u > start, np.exp(-(u - start) / plan.decay_mm), 0) * (plan.share > 0)
    common = -groove - plan.starved_um * 1e-3 * gaussian_filter1d(starved, 20)
    no_ripple = np.zeros((layers, u.size), np.float32)
    lines = _Lines(common, no_ripple, groove, slots.height_mm, slots.depth_mm)
    return lines, find_gap_truth(slots, scene.made.layer_mm)


def _find_ends(face: str, layers: int, layer_mm: float) -> tuple[Array, Array]:
    """Where each layer begins and ends in u (layers,): the corner is cut off layer by layer."""
    w = (np.arange(layers) + 0.5) * layer_mm
    cut = np.maximum(0, w - (HEIGHT_MM - CHAMFER_MM))
    start, end = np.zeros(layers), np.full(layers, LENGTH_MM)
    return (start, end - cut) if face == "ringdown" else (start + cut, end)


def _cut_ticks(axis: str, made: Print, u: Array, w: Array) -> NDArray[np.float32]:
    """How deep the grooves are that tell the axis, (W, U): one for x, two for y."""
    ticks = BLADE["faces"]["ringdown"]["ticks"]
    start, end = ticks["u_mm"]
    along = ((u > start) & (u < end)).astype(float)
    along = gaussian_filter1d(along, made.edge_sigma_mm / STEP_U_MM)
    depth = np.zeros((w.size, u.size), np.float32)
    step_w = w[1] - w[0]
    for middle in [3.0] if axis == "x" else [1.5, 4.5]:
        across = (np.abs(w - middle) < ticks["width_mm"] / 2).astype(float)
        across = gaussian_filter1d(across, 0.06 / step_w)
        depth += (ticks["depth_mm"] * across[:, None] * along[None]).astype(np.float32)
    return depth
