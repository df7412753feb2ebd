"""Pictures that lie in the scene, as linear reflectance: the card, the label, the desk."""

from typing import Any

import cv2
import numpy as np
import segno
from numpy.typing import NDArray

from reference_images.standard import CARD

Picture = NDArray[np.float32]
PX_PER_MM = 20
INK, PAPER, LABEL_PAPER = 0.05, 0.82, 0.85
GAMMA = 2.2
DESK_PX = 1024
DESKS = {
    "dark": (0.03, 0.03, 0.033),
    "grey": (0.25, 0.25, 0.26),
    "white": (0.7, 0.69, 0.66),
    "blue": (0.05, 0.1, 0.2),
    "green": (0.05, 0.16, 0.09),
}


def draw_card() -> Picture:
    """The card at 20 px/mm, (H, W)."""
    width, height = (round(s * PX_PER_MM) for s in CARD["size_mm"])
    grey = np.full((height, width), 255, np.uint8)
    markers = CARD["markers"]
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, markers["dictionary"]))
    side = round(markers["side_mm"] * PX_PER_MM)
    for number, centre in enumerate(markers["centre_mm"]):
        cells = cv2.aruco.generateImageMarker(dictionary, number, 6)
        left, top = (round((c - markers["side_mm"] / 2) * PX_PER_MM) for c in centre)
        grey[top : top + side, left : left + side] = cv2.resize(
            cells, (side, side), interpolation=cv2.INTER_NEAREST_EXACT
        )
    for name, shade, line in (("bay", 150, PX_PER_MM // 4), ("label", 190, 3)):
        low = np.array(CARD[name]["origin_mm"])
        a, b = (
            (low * PX_PER_MM).astype(int),
            ((low + CARD[name]["size_mm"]) * PX_PER_MM).astype(int),
        )
        cv2.rectangle(grey, a.tolist(), b.tolist(), (shade,), line)
    wedge = CARD["grey_wedge"]
    wide, high = wedge["patch_mm"]
    left, top = wedge["origin_mm"]
    for k, shade in enumerate(np.linspace(0, 224, wedge["patches"])):
        rows = slice(int(top * PX_PER_MM), int((top + high) * PX_PER_MM))
        begin, end = (int((left + n * wide) * PX_PER_MM) for n in (k, k + 1))
        grey[rows, begin:end] = round(float(shade))
    ruler = CARD["ruler"]
    left, top = ruler["origin_mm"]
    for mm in range(int(ruler["length_mm"]) + 1):
        tall = 4 if mm % 10 == 0 else 3 if mm % 5 == 0 else 2
        at = int((left + mm) * PX_PER_MM)
        grey[int(top * PX_PER_MM) : int((top + tall) * PX_PER_MM), at - 1 : at + 2] = 0
    return _reflectance((grey / 255.0) ** GAMMA, PAPER)


def draw_label(text: str) -> Picture:
    """The label's code with its quiet zone, a cell 16 px wide, (S, S)."""
    cells = np.array([list(row) for row in segno.make_qr(text, error="m").matrix], np.float64)
    cells = np.pad(1 - cells, 4, constant_values=1.0)
    return _reflectance(np.kron(cells, np.ones((16, 16))), LABEL_PAPER)


def draw_desk(rng: np.random.Generator, kind: str) -> Picture:
    """A desk's texture, (1024, 1024, 3)."""

    def blotches(count: int) -> Picture:
        coarse = rng.standard_normal((count, count)).astype(np.float32)
        fine = cv2.resize(coarse, (DESK_PX, DESK_PX), interpolation=cv2.INTER_CUBIC)
        return np.asarray(fine, np.float32)

    if kind == "wood":
        across = (np.mgrid[0:DESK_PX, 0:DESK_PX] / DESK_PX)[0]
        rings = across * 60 + 1.2 * blotches(4) + 0.6 * blotches(10)
        grain = 0.5 + 0.25 * np.sin(rings * 2 * np.pi / 2.5) + 0.12 * blotches(200)
        dark, light = np.array([0.12, 0.055, 0.025]), np.array([0.42, 0.25, 0.12])
        shade = rng.uniform(0.6, 1.2)
        colour = dark + (light - dark) * np.clip(grain, 0, 1)[..., None]
        return np.asarray(shade * colour, np.float32)
    grain = 1 + 0.05 * blotches(6) + 0.08 * blotches(500)
    return np.asarray(np.array(DESKS[kind]) * np.clip(grain, 0.3, 1.7)[..., None], np.float32)


def _reflectance(white: NDArray[np.floating[Any]], paper: float) -> Picture:
    return np.asarray(INK + (paper - INK) * white, np.float32)
