"""The photo card: markers, bay, label bay, wedge and ruler. Millimetres, x right, y down."""

import tomllib
from dataclasses import dataclass
from importlib.resources import files


@dataclass(frozen=True)
class Card:
    """The lengths of ``card.toml``; origins are top-left corners."""

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

    @property
    def words_mm(self) -> tuple[tuple[float, float, float, float], ...]:
        """Boxes (x, y, width, height) in which the printed card carries words and signs.

        The standard leaves these open; they are where this package prints them.
        Beside them, the markers, the two bays, the wedge and the ruler, the card is bare paper.
        """
        wide, high = self.size_mm
        return (
            (8.0, 3.0, wide - 16.0, 4.0),
            (117.0, 7.0, 19.0, 10.0),
            (2.5, 54.0, 6.5, 40.0),
            (31.0, 61.5, 12.0, 2.3),
            (8.0, 131.0, 45.0, high - 133.5),
            (158.0, 131.0, 45.0, high - 133.5),
            (53.0, 133.0, 104.5, high - 135.5),
        )


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
