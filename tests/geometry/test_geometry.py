"""The package's geometry is the standard's, to the letter."""

import tomllib
from importlib.resources import files

import pytest

from scoring.geometry import BLADE, CARD
from scoring.metrics import FaceName


def test_card_holds_every_length_of_its_file() -> None:
    raw = tomllib.loads(files("scoring.geometry").joinpath("card.toml").read_text("utf-8"))
    assert list(CARD.size_mm) == raw["size_mm"] == [210.0, 148.0]  # ISO 216, A5
    assert [list(c) for c in CARD.marker_centre_mm] == raw["markers"]["centre_mm"]
    assert list(CARD.bay_origin_mm) == raw["bay"]["origin_mm"]
    assert CARD.wedge_patches == raw["grey_wedge"]["patches"]


def test_bay_is_as_large_as_the_coupon() -> None:
    assert CARD.bay_size_mm == (BLADE.length_mm, BLADE.height_mm)


def test_quiet_zones_keep_clear_of_bay_and_label() -> None:
    reach = CARD.marker_side_mm / 2 + CARD.marker_quiet_mm
    for x, y in CARD.marker_centre_mm:
        for (left, top), (width, height) in (
            (CARD.bay_origin_mm, CARD.bay_size_mm),
            (CARD.label_origin_mm, CARD.label_size_mm),
        ):
            apart = max(
                left - x - reach,
                x - reach - left - width,
                top - y - reach,
                y - reach - top - height,
            )
            assert apart >= 0


def test_facet_slopes_are_tangents() -> None:
    """tan 3 degrees = 0.0524078, tan 1.5 degrees = 0.0261859 (tables)."""
    assert [f.slope for f in BLADE.facets] == pytest.approx(
        [0, 0.0524078, -0.0524078, 0.0261859, -0.0261859], abs=1e-7
    )


def test_outlines_are_mirror_images() -> None:
    ring = {(u, w) for u, w in BLADE.outline_uw_mm(FaceName.RINGDOWN)}
    flow = {(BLADE.length_mm - u, w) for u, w in BLADE.outline_uw_mm(FaceName.FLOW)}
    assert ring == flow
