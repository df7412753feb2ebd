"""Numbers with units, as people write them: ``9000 mm/min``, ``0.15 m/s``, ``5 m/s^2``."""

import math
import re
from functools import cache
from typing import TYPE_CHECKING

from scoring.errors import SettingsError

if TYPE_CHECKING:
    import pint

# A unit is a few words, each to a power of one digit at most: the unit library works out whatever
# it is given, and of 9**9**9**9 it would never come back.
_WORD = r"[A-Za-zµμ]+(?:(?:\^|\*\*)?-?\d|[²³])?"
_NUMBER_THEN_UNIT = re.compile(
    r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
    rf"\s*({_WORD}(?:(?:\s*[*/]\s*|\s+){_WORD}){{0,3}}|°[CF]|%|)\s*"
)
# What people write, where the unit library reads something else (C is the coulomb to it).
_SPELLED = {"C": "degC", "°C": "degC", "F": "degF", "°F": "degF", "%": "percent"}
_UNIT_NAMES = {"°C": "degC", "": "dimensionless", "1": "dimensionless"}


@cache
def _registry() -> "pint.UnitRegistry[float]":
    import pint  # noqa: PLC0415  half a second to load, and most numbers come without a unit

    return pint.UnitRegistry()


def read_quantity(written: object, unit: str) -> float:
    """``written`` as a number of ``unit`` (mm/s, mm/s², °C, Hz, 1).

    A bare number is taken to be in ``unit`` already. Raises :class:`SettingsError` for what is no
    finite number, for an unknown unit, and for a unit of another kind.
    """
    if isinstance(written, int | float) and not isinstance(written, bool):
        value, spelled = float(written), ""
    else:
        match = _NUMBER_THEN_UNIT.fullmatch(written) if isinstance(written, str) else None
        if match is None:
            raise SettingsError(
                f"{written!r} is no number with a unit; write it like 150 or "
                f"'150 {unit}', with a decimal point."
            )
        value, spelled = float(match[1]), match[2]
    value = _convert(value, spelled, unit) if spelled else value
    if not math.isfinite(value):
        raise SettingsError(f"{written!r} is not a finite number.")
    return value


def number_text(value: float) -> str:
    """``value`` in full, so that reading the text gives it again; whole numbers without ``.0``."""
    return repr(float(value)).removesuffix(".0")


def _convert(value: float, spelled: str, unit: str) -> float:
    import pint  # noqa: PLC0415

    target = _UNIT_NAMES.get(unit, unit)
    written = re.sub(r"\bs2\b", "s^2", _SPELLED.get(spelled, spelled))
    try:
        quantity = _registry().Quantity(value, written)
    except Exception as error:  # the library raises many kinds for text that is no unit
        raise SettingsError(
            f"{spelled!r} is not a known unit; give it in {unit} or another unit of that kind."
        ) from error
    try:
        converted = float(quantity.to(target).magnitude)
        # Revolutions and radians count as pure numbers, so rpm would pass for Hz, 2 pi off.
        same = _registry().Quantity(1.0, target).to_base_units().units
        if quantity.to_base_units().units != same:
            raise pint.DimensionalityError(spelled, unit)
    except pint.PintError as error:
        raise SettingsError(
            f"{spelled!r} cannot be turned into {unit}; write the number in {unit}, or with "
            "another unit of that kind."
        ) from error
    return float(f"{converted:.12g}")  # 6 in/s is 152.4 mm/s, not 152.39999999999998
