"""The photo card: markers, bay, label bay, wedge and ruler. Millimetres, x right, y down."""

import tomllib
from dataclasses import dataclass
from importlib.resources import files


@dataclass(frozen=True)
class Card:
    """Every length of ``card.toml``; origins are top-left corners."""

    revision: int
    size_mm: tuple[float, float]
    marker_dictionary: str
    marker_side_mm: float
    marker_quiet_mm: float
    marker_centre_mm: tuple[tuple[float, float], ...]
    bay_origin_mm: tuple[float, float]
    bay_size_mm: tuple[float, float]
    label_origin_mm: tuple[float, float]
    label_size_mm: tuple[float, float]
    wedge_origin_mm: tuple[float, float]
    wedge_patch_mm: tuple[float, float]
    wedge_patches: int
    ruler_origin_mm: tuple[float, float]
    ruler_length_mm: float


def load_card() -> Card:
    """Read ``card.toml`` from the package."""
    raw = tomllib.loads(files("scoring.geometry").joinpath("card.toml").read_text("utf-8"))
    markers, bay, label = raw["markers"], raw["bay"], raw["label"]
    wedge, ruler = raw["grey_wedge"], raw["ruler"]
    return Card(
        revision=raw["revision"],
        size_mm=tuple(raw["size_mm"]),
        marker_dictionary=markers["dictionary"],
        marker_side_mm=markers["side_mm"],
        marker_quiet_mm=markers["quiet_mm"],
        marker_centre_mm=tuple(tuple(c) for c in markers["centre_mm"]),
        bay_origin_mm=tuple(bay["origin_mm"]),
        bay_size_mm=tuple(bay["size_mm"]),
        label_origin_mm=tuple(label["origin_mm"]),
        label_size_mm=tuple(label["size_mm"]),
        wedge_origin_mm=tuple(wedge["origin_mm"]),
        wedge_patch_mm=tuple(wedge["patch_mm"]),
        wedge_patches=wedge["patches"],
        ruler_origin_mm=tuple(ruler["origin_mm"]),
        ruler_length_mm=ruler["length_mm"],
    )


CARD = load_card()
