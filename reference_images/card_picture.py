"""The photo card as a picture: reflectance, 0 to 1, drawn from the geometry file."""

import cv2
import numpy as np
import segno
from numpy.typing import NDArray

from reference_images.standard import CARD

PX_PER_MM = 24  # a marker's module is then a whole number of pixels
PAPER = 0.82
INK = 0.035

Picture = NDArray[np.float32]


def _px(mm: float) -> int:
    return round(mm * PX_PER_MM)


def _fill(card: Picture, box_mm: tuple[float, float, float, float], value: float) -> None:
    x, y, w, h = box_mm
    card[_px(y) : _px(y + h), _px(x) : _px(x + w)] = value


def _draw_markers(card: Picture) -> None:
    spec = CARD["markers"]
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, spec["dictionary"]))
    side = spec["side_mm"]
    for ident, (x, y) in enumerate(spec["centre_mm"]):
        image = cv2.aruco.generateImageMarker(dictionary, ident, _px(side))
        top, left = _px(y - side / 2), _px(x - side / 2)
        card[top : top + image.shape[0], left : left + image.shape[1]] = np.where(
            image > 127, PAPER, INK
        )


def _draw_label(card: Picture, text: str) -> None:
    """A slip of brighter paper with the run's code, as cut out and laid in the label bay."""
    (x, y), (w, h) = CARD["label"]["origin_mm"], CARD["label"]["size_mm"]
    _fill(card, (x, y, w, h), 0.86)
    code = np.array([list(row) for row in segno.make_qr(text, error="m").matrix], dtype=np.uint8)
    code = np.pad(code, 3)
    size = _px(min(w, h))
    image = cv2.resize(code, (size, size), interpolation=cv2.INTER_NEAREST)
    top, left = _px(y), _px(x)
    card[top : top + size, left : left + size] = np.where(image > 0, INK, 0.86)


def _write(
    card: Picture, text: str, at_mm: tuple[float, float], *, height_mm: float, ink: float
) -> None:
    face = cv2.FONT_HERSHEY_SIMPLEX
    scale = cv2.getFontScaleFromHeight(face, _px(height_mm))
    mask = np.zeros(card.shape, dtype=np.uint8)
    cv2.putText(mask, text, (_px(at_mm[0]), _px(at_mm[1])), face, scale, 255, _px(0.2), cv2.LINE_AA)
    share = mask.astype(np.float32) / 255
    card += share * (ink - card)


def draw_card(label: str | None) -> Picture:
    """The card's reflectance, (148 mm, 210 mm) at ``PX_PER_MM``, with a label when one is given."""
    wide, high = CARD["size_mm"]
    card = np.full((_px(high), _px(wide)), PAPER, dtype=np.float32)
    (x, y), (w, h) = CARD["bay"]["origin_mm"], CARD["bay"]["size_mm"]
    cv2.rectangle(card, (_px(x), _px(y)), (_px(x + w), _px(y + h)), 0.55, _px(0.25))
    (lx, ly), (lw, lh) = CARD["label"]["origin_mm"], CARD["label"]["size_mm"]
    cv2.rectangle(card, (_px(lx), _px(ly)), (_px(lx + lw), _px(ly + lh)), 0.55, _px(0.2))
    _draw_markers(card)
    wedge = CARD["grey_wedge"]
    for k, value in enumerate(np.geomspace(0.04, 0.72, wedge["patches"])):
        left = wedge["origin_mm"][0] + k * wedge["patch_mm"][0]
        wide_mm, high_mm = wedge["patch_mm"]
        _fill(card, (left, wedge["origin_mm"][1], wide_mm, high_mm), float(value))
    rx, ry = CARD["ruler"]["origin_mm"]
    for mm in range(int(CARD["ruler"]["length_mm"]) + 1):
        long = 4.0 if mm % 10 == 0 else 2.0
        _fill(card, (rx + mm - 0.1, ry, 0.2, long), INK)
    _write(card, "100 mm", (158.0, 142.0), height_mm=2.0, ink=0.2)
    _write(card, "label", (36.0, 62.6), height_mm=1.6, ink=0.3)
    if label:
        _draw_label(card, label)
    return card
