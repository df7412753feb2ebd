"""Read the run label's code from a picture of the label bay."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from scoring.errors import SettingsError
from scoring.label import Label, parse_label
from scoring.photo.opencv import cv2

Grey = NDArray[np.uint8]
Detector = cv2.QRCodeDetector | cv2.QRCodeDetectorAruco
# An empty bay, levelled, keeps above this share of its paper's brightness; a code's ink does not.
INK_BELOW = 0.7
PAPER_CODE = 230.0
QUIET_PX = 24
# Beyond this a code gets no clearer and the decoder only slower.
MAX_SIDE_PX = 300


def read_label(grey: Grey) -> Label | None:
    """The label whose QR code (ISO/IEC 18004) ``grey`` shows, or ``None`` where none is read.

    ``grey`` is (M, N) uint8, the label bay seen square on with 8 px/mm or more (12 is good), turned
    any way, with a little of the card around it. A code that is no run label counts as none, and
    so does a bay without contrast.
    """
    if grey.size == 0:
        return None
    shrink = MAX_SIDE_PX / max(grey.shape)
    if shrink < 1:
        small = cv2.resize(grey, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
        grey = np.asarray(small, np.uint8)
    level = _levelled(grey)
    if not _has_ink(level):
        return None
    for detector, attempt in _attempts(grey, level):
        try:
            text = detector.detectAndDecode(attempt)[0]
        except cv2.error:
            # The decoder trips over some shapes that it took for a code; the next attempt differs.
            continue
        if text:
            try:
                return parse_label(text)
            except SettingsError:
                return None
    return None


def _has_ink(level: Grey) -> bool:
    """Whether the middle of the levelled bay is darker somewhere than an empty bay ever is."""
    rows, cols = level.shape
    middle = level[rows // 4 : rows - rows // 4, cols // 4 : cols - cols // 4]
    return bool(np.percentile(cv2.blur(middle, (3, 3)), 1) < INK_BELOW * PAPER_CODE)


def _attempts(grey: Grey, level: Grey) -> Iterator[tuple[Detector, Grey]]:
    """The picture itself, then versions of it that help a soft, unevenly lit or small code.

    The first detector takes half the other one's time and reads nearly every code.
    """
    padded = cv2.copyMakeBorder(
        grey, QUIET_PX, QUIET_PX, QUIET_PX, QUIET_PX, cv2.BORDER_CONSTANT, value=_paper(grey)
    )
    yield cv2.QRCodeDetectorAruco(), np.asarray(padded, np.uint8)
    thorough = cv2.QRCodeDetector()
    yield thorough, np.asarray(padded, np.uint8)
    yield thorough, level
    for scale, soft_px in ((2.0, 2.0), (2.0, 4.0), (3.0, 6.0)):
        large = cv2.resize(level, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
        sharp = _sharpened(np.asarray(large, np.uint8), soft_px)
        yield thorough, sharp
        yield thorough, np.asarray(cv2.threshold(sharp, 0, 255, cv2.THRESH_OTSU)[1], np.uint8)


def _paper(grey: Grey) -> float:
    return float(np.percentile(grey, 90))


def _levelled(grey: Grey) -> Grey:
    """Divide by the paper's own brightness nearby, and put the code in a white margin."""
    rows, cols = grey.shape
    # The paper changes slowly: a quarter of the scale is enough, and far quicker.
    small = cv2.resize(grey, (max(cols // 4, 1), max(rows // 4, 1)), interpolation=cv2.INTER_AREA)
    reach = max(3, min(small.shape) // 4) | 1
    paper = cv2.dilate(small, np.ones((reach, reach), np.uint8))
    paper = cv2.GaussianBlur(paper, (0, 0), reach / 3)
    paper = cv2.resize(paper, (cols, rows), interpolation=cv2.INTER_LINEAR)
    level = np.clip(grey * (PAPER_CODE / np.maximum(paper, 1)), 0, 255).astype(np.uint8)
    margin = cv2.copyMakeBorder(
        level, QUIET_PX, QUIET_PX, QUIET_PX, QUIET_PX, cv2.BORDER_CONSTANT, value=PAPER_CODE
    )
    return np.asarray(margin, np.uint8)


def _sharpened(grey: Grey, soft_px: float) -> Grey:
    """Unsharp masking: add back twice what a blur of ``soft_px`` takes away."""
    soft = cv2.GaussianBlur(grey, (0, 0), soft_px)
    return np.asarray(cv2.addWeighted(grey, 3.0, soft, -2.0, 0.0), np.uint8)
