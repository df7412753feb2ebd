"""The standard card and coupon, read from the package's own copies of the geometry files."""

from scoring.geometry.blade import BLADE, Blade, Facet
from scoring.geometry.card import CARD, Card

__all__ = ["BLADE", "CARD", "GEOMETRY_REVISION", "Blade", "Card", "Facet"]

GEOMETRY_REVISION = f"card {CARD.revision}, blade {BLADE.revision}"
"""Stands beside every stored number: which geometry it was measured against."""
