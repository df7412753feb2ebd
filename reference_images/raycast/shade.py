"""What light leaves the place that a ray of sight meets, in three channels (numba)."""

from math import sqrt

from numba import njit

from reference_images.raycast.heights import find_height, find_slopes
from reference_images.raycast.lamp_rays import find_lamp_power, see_lamp
from reference_images.raycast.march import BOTTOM_MM, FAST, SIDE, SURFACE, Meeting, Sight
from reference_images.raycast.prism import MOUTH
from reference_images.raycast.prism_rays import is_inside, meet_prism
from reference_images.raycast.reflectance import Vector, reflect
from reference_images.raycast.relief_fill import OFF_FACE
from reference_images.raycast.views import (
    Array,
    EyeView,
    FilamentView,
    GroundView,
    LampView,
    Picture,
    PoseView,
    ReliefView,
    WallsView,
)
from reference_images.standard import BLADE

Parts = tuple[float, float, float, float, float, float]
"""The lamp's light and its two factors, share of the room's, light passed on, shade of colour."""

GROOVE_WIDTH_MM: float = BLADE["faces"]["flow"]["grooves"]["width_mm"]
CELLS_PER_SHADE = 20
WALL_MM, MOUTH_DEPTHS_MM = 0.85, (-0.85, -11.15)
"""How thick the print's walls are, and between which heights its mouth is open."""


@njit(fastmath=FAST)
def find_in_coupon(pose: PoseView, place: Array) -> Vector:
    """u, w and y of a ``place`` (3,) of the card's frame."""
    a = place[0] - pose.origin[0]
    b = place[1] - pose.origin[1]
    u = a * pose.along_u[0] + b * pose.along_u[1]
    w = a * pose.along_w[0] + b * pose.along_w[1]
    return u, w, place[2] - pose.thickness


@njit(fastmath=FAST)
def point_to(place: Array, u: float, w: float, y: float) -> tuple[float, float, float, float]:
    """The unit vector from (u, w, y) to ``place`` (3,) of the coupon's frame, and the distance."""
    du = place[0] - u
    dw = place[1] - w
    dy = place[2] - y
    r = sqrt(du * du + dw * dw + dy * dy)
    return du / r, dw / r, dy / r, r


@njit(fastmath=FAST)
def light_place(pose: PoseView, lamp: LampView, u: float, w: float, y: float) -> float:
    """The lamp's light at (u, w, y) of the coupon on a surface that faces it."""
    place = (
        pose.origin[0] + u * pose.along_u[0] + w * pose.along_w[0],
        pose.origin[1] + u * pose.along_u[1] + w * pose.along_w[1],
        pose.thickness + y,
    )
    return float(lamp.intensity * find_lamp_power(place, lamp.place, lamp.axis, lamp.beam))


@njit(fastmath=FAST)
def find_normal(relief: ReliefView, met: Meeting, light: Vector) -> tuple[Vector, float]:
    """The normal where a ray met, and the cosine of the light for the diffuse part.

    Waxy filament's is that of heights smoothed by how far light travels under them.
    """
    if met.kind == SIDE:
        side_u = met.sign if met.across == 0 else 0.0
        side_w = met.sign if met.across == 1 else 0.0
        normal = (side_u, side_w, 0.05)
        return normal, side_u * light[0] + side_w * light[1] + 0.05 * light[2]
    if met.code != 0:
        return (0.0, 0.0, 1.0), light[2]
    row, column = met.w / relief.step_w - 0.5, met.u / relief.step_u - 0.5
    gu, gw = find_slopes(relief.heights, row, column, relief.step_u, relief.step_w)
    m = sqrt(1 + gu * gu + gw * gw)
    normal = (-gu / m, -gw / m, 1 / m)
    cosine = normal[0] * light[0] + normal[1] * light[1] + normal[2] * light[2]
    if relief.smooth.shape[0] > 1:
        gu, gw = find_slopes(relief.smooth, row, column, relief.step_u, relief.step_w)
        m = sqrt(1 + gu * gu + gw * gw)
        cosine = (-gu * light[0] - gw * light[1] + light[2]) / m
    return normal, cosine


@njit(fastmath=FAST)
def find_sky(
    relief: ReliefView, met: Meeting, row: int, column: int, up: float
) -> tuple[float, float]:
    """Share of the room's light that gets there, and of the lamp's that its surroundings pass on.

    Slots and grooves are taken as long trenches: q is depth over height or width.
    """
    sky = 0.5 * (1 + up)
    passed = 0.0
    if 0 < met.code < OFF_FACE:
        wide = max(relief.open_um[row, column] * 0.001, 0.005)
        q = (relief.heights[row, column] - met.y) / wide
        sky = sqrt(1 + q * q) - q
        if met.kind == SIDE:
            sky *= 0.5
        passed = 0.5 * sky * (1 - sky)
    elif relief.groove[column] > 0.03:
        q = relief.groove[column] / GROOVE_WIDTH_MM
        sky *= sqrt(1 + q * q) - q
        passed = 0.16 * min(1.0, q * 1.2)
    return sky, passed


@njit(fastmath=FAST)
def shade_relief(
    relief: ReliefView,
    met: Meeting,
    eye: EyeView,
    pose: PoseView,
    lamp: LampView,
    filament: FilamentView,
    ambient: Array,
) -> Vector:
    """Light that leaves the relief, a slot or a side towards the camera."""
    lu, lw, ly, distance = point_to(lamp.in_coupon, met.u, met.w, met.y)
    vu, vw, vy, _ = point_to(eye.in_coupon, met.u, met.w, met.y)
    light, sight = (lu, lw, ly), (vu, vw, vy)
    normal, cosine = find_normal(relief, met, light)
    rows, columns = relief.heights.shape
    column = int(max(0.0, min(met.u / relief.step_u - 0.5, columns - 1.0)))
    row = int(max(0.0, min(met.w / relief.step_w - 0.5, rows - 1.0)))
    sky, passed = find_sky(relief, met, row, column, normal[2])
    direct = light_place(pose, lamp, met.u, met.w, met.y)
    seen = 0.0
    if cosine > 0 or normal[0] * lu + normal[1] * lw + normal[2] * ly > 0:
        seen = 1.0
        if met.kind == SURFACE or met.code != OFF_FACE:
            place = (met.u, met.w, met.y)
            size = lamp.radius / distance
            step_u, step_w, top = relief.step_u, relief.step_w, relief.top
            seen = see_lamp(relief.heights, relief.codes, step_u, step_w, place, light, size, top)
    diffuse, gloss = 0.0, 0.0
    if seen > 0:
        diffuse, gloss = reflect(filament.law, filament.finish, normal, light, sight, cosine)
    bounced = direct * ly * passed
    shades = filament.shades
    shade = shades[
        min(row // CELLS_PER_SHADE, shades.shape[0] - 1),
        min(column // CELLS_PER_SHADE, shades.shape[1] - 1),
    ]
    parts = (direct * seen, diffuse, gloss, sky, bounced, shade)
    return (
        add_up(0, lamp, filament, ambient, parts),
        add_up(1, lamp, filament, ambient, parts),
        add_up(2, lamp, filament, ambient, parts),
    )


@njit(fastmath=FAST)
def add_up(
    channel: int, lamp: LampView, filament: FilamentView, ambient: Array, parts: Parts
) -> float:
    """One channel of the light that leaves the relief, from its parts."""
    direct, diffuse, gloss, sky, bounced, shade = parts
    rho = filament.rgb[channel] * shade
    return float(
        lamp.rgb[channel] * direct * (rho * diffuse + gloss)
        + ambient[channel] * sky * (rho + filament.ambient_gloss)
        + lamp.rgb[channel] * bounced * rho * rho
    )


@njit(fastmath=FAST)
def shade_wall(
    sight: Sight,
    relief: ReliefView,
    walls: WallsView,
    pose: PoseView,
    lamp: LampView,
    filament: FilamentView,
) -> tuple[bool, Vector]:
    """Whether a ray that missed the relief meets a wall below it, and what light leaves there.

    Through the mouth the far wall's inside is seen. On the other long side layers lean the light's
    cosine a little.
    """
    depth = relief.top - BOTTOM_MM
    start = (sight.u + sight.per_depth_u * depth, sight.w + sight.per_depth_w * depth, BOTTOM_MM)
    ray = (sight.per_depth_u, sight.per_depth_w, -1.0)
    planes = walls.planes
    wall, t = meet_prism(start, ray, pose.thickness + BOTTOM_MM, planes)
    if wall < 0 and is_inside(start, planes):
        wall, t = 0, 0.0
    if wall < 0:
        return False, (0.0, 0.0, 0.0)
    u = start[0] + t * ray[0]
    w = start[1] + t * ray[1]
    y = BOTTOM_MM - t
    nu, nw, ny = planes[wall, 0], planes[wall, 1], 0.0
    lit, share = 1.0, 1.0
    high, low = MOUTH_DEPTHS_MM
    rim_w = relief.heights.shape[0] * relief.step_w
    between = u > walls.first_u + WALL_MM and u < walls.last_u - WALL_MM
    if wall == MOUTH and y < high and y > low and between:
        deeper = y - low
        u += deeper * ray[0]
        w += deeper * ray[1]
        y = low
        nu, nw, ny = 0.0, 0.0, 1.0
        share = 0.35
        climb = (high - low) / (lamp.in_coupon[2] - y)
        lit = 1.0 if w + climb * (lamp.in_coupon[1] - w) > rim_w else 0.0
    elif wall != MOUTH and abs(nw) < 0.9:
        x = w / walls.layer
        x -= int(x)
        nw += walls.bead_slope * (2 * x - 1)
        m = sqrt(nu * nu + nw * nw)
        nu /= m
        nw /= m
    lu, lw, ly, _ = point_to(lamp.in_coupon, u, w, y)
    cosine = nu * lu + nw * lw + ny * ly
    if planes[wall, 0] * lu + planes[wall, 1] * lw <= 0:
        cosine = 0.0
    direct = light_place(pose, lamp, u, w, y) * max(cosine, 0.0) * lit
    indirect = walls.indirect[wall]
    rgb, lamp_rgb = filament.rgb, lamp.rgb
    return True, (
        rgb[0] * (lamp_rgb[0] * direct + indirect[0] * share),
        rgb[1] * (lamp_rgb[1] * direct + indirect[1] * share),
        rgb[2] * (lamp_rgb[2] * direct + indirect[2] * share),
    )


@njit(fastmath=FAST)
def shade_ground(eye: EyeView, ray: Vector, ground: GroundView) -> Vector:
    """Light that leaves the card or the table where a ray of sight meets their plane."""
    t = eye.place[2] / -ray[2]
    x = eye.place[0] + t * ray[0]
    y = eye.place[1] + t * ray[1]
    column = (x - ground.left) / ground.step - 0.5
    row = (ground.top - y) / ground.step - 0.5
    i = int(max(0.0, min(row, ground.light.shape[0] - 1.001)))
    j = int(max(0.0, min(column, ground.light.shape[1] - 1.001)))
    a = min(max(row - i, 0.0), 1.0)
    b = min(max(column - j, 0.0), 1.0)
    on_card = x > 0 and y < 0 and x < ground.card_size[0] and y > -ground.card_size[1]
    at = (i, j, a, b)
    if not on_card:
        return (
            ground.table[i, j, 0] * find_level(ground.light, 0, at),
            ground.table[i, j, 1] * find_level(ground.light, 1, at),
            ground.table[i, j, 2] * find_level(ground.light, 2, at),
        )
    texels = ground.texels_per_mm
    printed = find_height(ground.card, -y * texels - 0.5, x * texels - 0.5)
    return (
        printed * ground.card_rgb[0] * find_level(ground.light, 0, at),
        printed * ground.card_rgb[1] * find_level(ground.light, 1, at),
        printed * ground.card_rgb[2] * find_level(ground.light, 2, at),
    )


@njit(fastmath=FAST)
def find_level(light: Picture, channel: int, at: tuple[int, int, float, float]) -> float:
    """Light between four cells (row, column, and how far to the next of each), bilinear."""
    i, j, a, b = at
    low = light[i, j, channel] * (1 - b) + light[i, j + 1, channel] * b
    high = light[i + 1, j, channel] * (1 - b) + light[i + 1, j + 1, channel] * b
    return float(low * (1 - a) + high * a)
