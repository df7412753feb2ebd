"""The printed card with its label, as a picture of linear reflectance."""

import cv2
import numpy as np
import segno
from numpy.typing import NDArray

from reference_images.raycast.conditions import Paper
from reference_images.standard import CARD

Picture = NDArray[np.float32]
TEXELS_PER_MM = 30
TEXELS_PER_MODULE = 24
TICK_MM, TICK_WIDTH_MM = {10: 4.0, 5: 2.8, 1: 1.8}, 0.16
DARKEST_CODE, CODE_RANGE, CODE_POWER = 0.12, 0.78, 2.2
"""The wedge's patches are even steps of code, by a plain power law."""


def draw_card(rng: np.random.Generator, paper: Paper, label: str) -> Picture:
    """The card (H, W), its ink spread, a label stuck on, and the paper's grain over all."""
    width, height = CARD["size_mm"]
    size = (int(height * TEXELS_PER_MM), int(width * TEXELS_PER_MM))
    card = np.full(size, paper.white, np.float32)
    _draw_markers(card, paper)
    _draw_bay(card, paper)
    _draw_wedge(card, paper)
    _draw_ruler(card, paper)
    card = np.asarray(cv2.GaussianBlur(card, (0, 0), paper.spread_mm * TEXELS_PER_MM), np.float32)
    card = _stick_label(card, paper, label)
    grain = cv2.GaussianBlur(rng.standard_normal(card.shape, dtype=np.float32), (0, 0), 2.0)
    card *= 1 + paper.grain * grain / grain.std()
    return np.clip(card, 0.01, 0.98)


def _fill(card: Picture, box_mm: tuple[float, float, float, float], value: float) -> None:
    """Set left, top, right and bottom to one reflectance."""
    left, top, right, bottom = (round(edge * TEXELS_PER_MM) for edge in box_mm)
    card[top:bottom, left:right] = value


def _draw_markers(card: Picture, paper: Paper) -> None:
    markers = CARD["markers"]
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, markers["dictionary"]))
    side = int(markers["side_mm"] * TEXELS_PER_MM)
    for number, centre in enumerate(markers["centre_mm"]):
        bits = cv2.aruco.generateImageMarker(dictionary, number, side)
        left, top = (round((c - markers["side_mm"] / 2) * TEXELS_PER_MM) for c in centre)
        card[top : top + side, left : left + side] = np.where(bits > 127, paper.white, paper.ink)


def _draw_bay(card: Picture, paper: Paper) -> None:
    (left, top), (width, height) = CARD["bay"]["origin_mm"], CARD["bay"]["size_mm"]
    right, bottom, line = left + width, top + height, paper.line_mm
    _fill(card, (left, top, right, top + line), paper.grey)
    _fill(card, (left, bottom - line, right, bottom), paper.grey)
    _fill(card, (left, top, left + line, bottom), paper.grey)
    _fill(card, (right - line, top, right, bottom), paper.grey)


def _draw_wedge(card: Picture, paper: Paper) -> None:
    wedge = CARD["grey_wedge"]
    (left, top), (width, height) = wedge["origin_mm"], wedge["patch_mm"]
    for k in range(wedge["patches"]):
        code = DARKEST_CODE + CODE_RANGE * k / (wedge["patches"] - 1)
        x = left + k * width
        _fill(
            card,
            (x, top, x + width, top + height),
            max(paper.ink, code**CODE_POWER * paper.white),
        )


def _draw_ruler(card: Picture, paper: Paper) -> None:
    ruler = CARD["ruler"]
    left, top = ruler["origin_mm"]
    words = np.zeros(card.shape, np.uint8)
    for k in range(int(ruler["length_mm"]) + 1):
        tick = next(length for every, length in TICK_MM.items() if k % every == 0)
        x = left + k
        _fill(card, (x - TICK_WIDTH_MM / 2, top, x + TICK_WIDTH_MM / 2, top + tick), paper.ink)
        if k % 10 == 0:
            at = (int((x - 1.2) * TEXELS_PER_MM), int((top + 7.2) * TEXELS_PER_MM))
            cv2.putText(words, str(k), at, cv2.FONT_HERSHEY_SIMPLEX, 2.4, (255,), 5, cv2.LINE_AA)
    card += (paper.ink - card) * (words / np.float32(255))


def _stick_label(card: Picture, paper: Paper, label: str) -> Picture:
    """The card with a sticker on it, a little out of place: a code and its quiet zone."""
    place = CARD["label"]
    code = segno.make(label, error="m", micro=False, boost_error=False)
    modules = np.array([list(row) for row in code.matrix], np.uint8)
    modules = np.pad(modules, paper.label_quiet)
    is_ink = np.kron(modules, np.ones((TEXELS_PER_MODULE, TEXELS_PER_MODULE))) > 0
    sticker = np.where(is_ink, paper.label_ink, paper.label_white).astype(np.float32)
    width = place["size_mm"][0]
    turn = np.radians(paper.label_deg)
    cos, sin = np.cos(turn), np.sin(turn)
    shift_x, shift_y = paper.label_shift_mm
    x = place["origin_mm"][0] + width / 2 + shift_x
    y = place["origin_mm"][1] + width / 2 + shift_y
    zoom = width * TEXELS_PER_MM / sticker.shape[0]
    left = x * TEXELS_PER_MM - (cos - sin) * width * TEXELS_PER_MM / 2
    top = y * TEXELS_PER_MM - (sin + cos) * width * TEXELS_PER_MM / 2
    motion = np.array([[cos * zoom, -sin * zoom, left], [sin * zoom, cos * zoom, top]])
    size = card.shape[::-1]
    cover = cv2.warpAffine(np.ones_like(sticker), motion, size, flags=cv2.INTER_LINEAR)
    stuck = cv2.warpAffine(sticker, motion, size, flags=cv2.INTER_LINEAR)
    stuck = np.where(cover > 0.02, stuck / np.maximum(cover, 0.02), 0)
    return np.asarray(card * (1 - cover) + stuck * cover, np.float32)
