"""Our own drawings of how to lay, light and shoot, as SVG; card and coupon by their geometry.

Each stands on a light sheet of its own, so that it reads the same on a light and a dark page.
"""

import math
from collections.abc import Sequence

from scoring.geometry import BLADE, CARD
from scoring.metrics import FACE_WORDS, FaceName

INK, PALE, PAPER, SHEET = "#222222", "#8A8A8A", "#FFFFFF", "#EEF1F4"
COUPON, LAMP, LAMP_EDGE, PHONE = "#D9C7A0", "#E69F00", "#9A5B00", "#0072B2"
LAMP_DEG = {FaceName.RINGDOWN: (15, 25), FaceName.FLOW: (30, 40)}
LEAST_LAMP_MM = 400
PHONE_MM, PHONE_TILT_DEG = 200, 8
TEXT_MM = 10.0
"""Some eleven pixels on a phone's width; the drawings are about 300 mm wide."""
CLOSE_MM = 9.0
"""Where there is less room."""


def draw_from_above(face: FaceName) -> str:
    """Card, coupon, label and the lamp's side, seen from above."""
    wide, high = CARD.size_mm
    left, top = (78.0, 14.0) if face is FaceName.RINGDOWN else (14.0, 62.0)
    parts = [_rect(left, top, wide, high, fill=PAPER, edge=PALE)]
    side = CARD.marker_side_mm
    for x, y in CARD.marker_centre_mm:
        parts.append(
            _rect(left + x - side / 2, top + y - side / 2, side, side, fill=INK, edge="none")
        )
        parts.append(_rect(left + x - 2, top + y - 2, 4, 4, fill=PAPER, edge="none"))
    x, y = left + CARD.label_origin_mm[0], top + CARD.label_origin_mm[1]
    parts.append(_rect(x, y, *CARD.label_size_mm, fill=PAPER, edge=PALE))
    parts.append(_text(x + 10, y + 30, "label", size=CLOSE_MM))
    parts.append(_coupon(left + CARD.bay_origin_mm[0], top + CARD.bay_origin_mm[1], face))
    middle_x = left + CARD.bay_origin_mm[0] + BLADE.length_mm / 2
    middle_y = top + CARD.bay_origin_mm[1] + BLADE.height_mm / 2
    parts.append(_text(middle_x, middle_y + 3, f"{FACE_WORDS[face]} face up", size=CLOSE_MM))
    low, steep = LAMP_DEG[face]
    words = (f"lamp {LEAST_LAMP_MM} mm", "or more away,", f"{low} to {steep}° up")
    if face is FaceName.RINGDOWN:
        parts.append(_lamp(16, middle_y))
        parts.append(_arrow((26, middle_y), (left - 3, middle_y)))
        words_at = (4.0, middle_y + 24)
    else:
        parts.append(_lamp(middle_x, 14))
        parts.append(_arrow((middle_x, 24), (middle_x, top - 3)))
        words_at = (middle_x + 14, 14.0)
    x, y = words_at
    parts += [_text(x, y + 12 * k, line, "start", CLOSE_MM) for k, line in enumerate(words)]
    title = f"Seen from above: the {FACE_WORDS[face]} face, lamp on the card's " + (
        "left, the label's side" if face is FaceName.RINGDOWN else "top, the rim's side"
    )
    return _svg(left + wide + 14, top + high + 14, parts, title)


def draw_from_the_side(face: FaceName) -> str:
    """The lamp's height over the card and the phone above it, to scale in angle."""
    ground, wide = 170.0, 330.0
    card_left, card_right = 190.0, 310.0
    middle = (card_left + card_right) / 2
    low, steep = LAMP_DEG[face]
    reach = 190.0
    parts = [
        f'<line x1="6" y1="{ground}" x2="{wide - 6}" y2="{ground}" stroke="{PALE}"/>',
        _rect(card_left, ground - 2, card_right - card_left, 2, fill=PAPER, edge=INK),
        _rect(middle - 30, ground - 10, 60, 8, fill=COUPON, edge=INK),
    ]
    for degrees in (low, steep):
        end = (middle - reach * math.cos(math.radians(degrees)),
               ground - 10 - reach * math.sin(math.radians(degrees)))  # fmt: skip
        parts.append(_ray(end, (middle, ground - 10)))
    between = math.radians((low + steep) / 2)
    lamp = (middle - reach * math.cos(between), ground - 10 - reach * math.sin(between))
    parts.append(_lamp(*lamp))
    parts.append(_text(lamp[0] - 12, lamp[1] - 18, f"{low} to {steep}° up", "start"))
    parts.append(_text(20, ground - 8, f"{LEAST_LAMP_MM} mm or more", "start"))
    phone = ground - 128.0
    body = _rect(middle - 38, phone - 8, 76, 8, fill=PHONE, edge=INK, round_mm=3)
    # Toward the label, along the coupon: seen from the side of its ends there is no tilt.
    tilt_deg = PHONE_TILT_DEG if face is FaceName.RINGDOWN else 0
    parts.append(f'<g transform="rotate({-tilt_deg} {middle} {ground})">{body}</g>')
    tilt = math.radians(tilt_deg)
    lens_x = middle - (ground - phone) * math.sin(tilt)
    lens_y = ground - (ground - phone) * math.cos(tilt)
    parts += [
        f'<line x1="{lens_x:.1f}" y1="{lens_y:.1f}" x2="{edge}" y2="{ground - 3}" '
        f'stroke="{PHONE}" stroke-dasharray="4 3"/>'
        for edge in (card_left, card_right)
    ]
    parts.append(_text(middle, phone - 27, "phone, tilted to the label,"))
    parts.append(_text(middle, phone - 15, f"about {PHONE_MM} mm"))
    side = "label's" if face is FaceName.RINGDOWN else "rim's"
    parts.append(_text(wide / 2, ground + 14, f"seen from the side; lamp on the {side} side"))
    return _svg(wide, ground + 24, parts, f"Seen from the side: lamp {low} to {steep} degrees up")


def draw_plate() -> str:
    """Both blades standing on the plate, and which way the outer wall runs."""
    parts = [_rect(14, 14, 210, 150, fill=PAPER, edge=PALE)]
    for x, y, w, h, words, at in (
        (34, 44, 100, 12, "blade x", (84, 38)),
        (172, 34, 12, 100, "blade y", (178, 146)),
    ):
        parts.append(_rect(x, y, w, h, fill=COUPON, edge=INK))
        parts.append(_text(*at, words))
    # Counter-clockwise seen from above: the front wall runs to the right, the right one away.
    parts.append(_arrow((38, 63), (130, 63)))
    parts.append(_text(84, 76, "outer wall runs this way", size=CLOSE_MM))
    parts.append(_arrow((190, 130), (190, 38)))
    parts += [
        _arrow((24, 154), (54, 154)), _text(60, 157, "X", "start"),
        _arrow((24, 154), (24, 124)), _text(24, 119, "Y"),
    ]  # fmt: skip
    return _svg(238, 178, parts, "Both blades on the plate, the outer wall counter-clockwise")


def _coupon(x: float, y: float, face: FaceName) -> str:
    """The outline with its cut corner: top right on the ring-down face, top left on the other."""
    leg, right, foot = BLADE.chamfer_leg_mm, x + BLADE.length_mm, y + BLADE.height_mm
    if face is FaceName.RINGDOWN:
        corners = [(x, y), (right - leg, y), (right, y + leg), (right, foot), (x, foot)]
    else:
        corners = [(x + leg, y), (right, y), (right, foot), (x, foot), (x, y + leg)]
    points = " ".join(f"{a:.1f},{b:.1f}" for a, b in corners)
    return f'<polygon points="{points}" fill="{COUPON}" stroke="{INK}"/>'


def _rect(
    x: float, y: float, w: float, h: float, *, fill: str, edge: str, round_mm: float = 0
) -> str:
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}" rx="{round_mm}" '
        f'fill="{fill}" stroke="{edge}"/>'
    )


def _text(x: float, y: float, words: str, anchor: str = "middle", size: float = TEXT_MM) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}" fill="{INK}">'
        f"{words}</text>"
    )


def _lamp(x: float, y: float) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9" fill="{LAMP}" stroke="{LAMP_EDGE}"/>'


def _ray(start: tuple[float, float], end: tuple[float, float]) -> str:
    return (
        f'<line x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}" '
        f'stroke="{LAMP_EDGE}" stroke-width="1.2"/>'
    )


def _arrow(start: tuple[float, float], end: tuple[float, float]) -> str:
    along = math.atan2(end[1] - start[1], end[0] - start[0])
    head = [
        (end[0] - 6 * math.cos(along + turn), end[1] - 6 * math.sin(along + turn))
        for turn in (0.45, -0.45)
    ]
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in (end, *head))
    return _ray(start, end) + f'<polygon points="{points}" fill="{LAMP_EDGE}"/>'


def _svg(wide: float, high: float, parts: Sequence[str], words: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {high:.0f}" '
        f'width="{2 * wide:.0f}" height="{2 * high:.0f}" role="img" '
        f'font-family="DejaVu Sans, Arial, sans-serif"><title>{words}</title>'
        + _rect(0, 0, wide, high, fill=SHEET, edge="none", round_mm=4)
        + "".join(parts)
        + "</svg>"
    )
