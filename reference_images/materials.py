"""Filaments by plain names: linear colour as the principled reflection model takes it."""

from reference_images.scene import Material

COLOURS: dict[str, tuple[float, float, float]] = {
    "black": (0.022, 0.022, 0.024),
    "dark grey": (0.075, 0.075, 0.080),
    "grey": (0.26, 0.26, 0.265),
    "white": (0.78, 0.77, 0.73),
    "red": (0.52, 0.035, 0.030),
    "orange": (0.68, 0.21, 0.030),
    "blue": (0.045, 0.13, 0.42),
    "green": (0.070, 0.32, 0.090),
    "natural": (0.60, 0.52, 0.38),
}


def make_material(colour: str, *, roughness: float, specular: float) -> Material:
    """A filament of a listed colour. Raises KeyError for a colour that is not listed."""
    return Material(colour, COLOURS[colour], roughness, specular)
