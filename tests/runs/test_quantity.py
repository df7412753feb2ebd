"""Numbers with units. Conversion factors: the SI Brochure (1 min = 60 s, prefixes), the
international inch (25.4 mm, 1959) and t/°F = 9/5 t/°C + 32 (NIST SP 811)."""

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.errors import SettingsError
from scoring.runs.quantity import read_quantity


@pytest.mark.parametrize(
    ("written", "unit", "value"),
    [
        ("9000 mm/min", "mm/s", 150.0),
        ("0.15 m/s", "mm/s", 150.0),
        ("150mm/s", "mm/s", 150.0),
        ("6 in/s", "mm/s", 152.4),
        (150, "mm/s", 150.0),
        ("150", "mm/s", 150.0),
        ("5 m/s^2", "mm/s^2", 5000.0),
        ("5000 mm/s2", "mm/s^2", 5000.0),
        ("5000 mm/s²", "mm/s^2", 5000.0),
        ("5 m/s**2", "mm/s^2", 5000.0),
        ("5 m s^-2", "mm/s²", 5000.0),
        ("0.005 m / ms / s", "mm/s²", 5000.0),
        ("200 µm", "mm", 0.2),
        ("40 ms", "s", 0.04),
        ("0.05 kHz", "Hz", 50.0),
        ("215 °C", "°C", 215.0),
        ("215 C", "°C", 215.0),
        ("419 F", "°C", 215.0),
        ("98 %", "1", 0.98),
        ("-1.5e1 mm", "mm", -15.0),
    ],
)
def test_reads_other_units_of_the_kind(written: object, unit: str, value: float) -> None:
    assert read_quantity(written, unit) == pytest.approx(value, rel=1e-11)


@pytest.mark.parametrize("written", ["5 furlongz", "5 5", "5 mm/q"])
def test_names_an_unknown_unit(written: str) -> None:
    with pytest.raises(SettingsError, match=r"not a known unit|no number with a unit"):
        read_quantity(written, "mm/s")


@pytest.mark.parametrize(
    "written",
    [
        "5 m*9**9**9**9",
        "5 m**9**9",
        "5 km99999999",
        "5 m⁹⁹⁹⁹⁹⁹⁹⁹",
        "5 m^99",
        "5 m*m*m*m*m",
        "5 m*2",
    ],
)
def test_refuses_a_unit_that_is_a_sum_to_work_out(written: str) -> None:
    with pytest.raises(SettingsError, match="no number with a unit"):
        read_quantity(written, "mm")


@pytest.mark.parametrize(
    ("written", "unit"), [("5 kg", "mm"), ("5 mm", "mm/s"), ("50 rpm", "Hz"), ("50 rad/s", "Hz")]
)
def test_refuses_a_unit_of_another_kind(written: str, unit: str) -> None:
    with pytest.raises(SettingsError, match="cannot be turned into"):
        read_quantity(written, unit)


@pytest.mark.parametrize(
    "written",
    ["", "fast", "0,15 m/s", None, True, float("nan"), "1e999", "1e308 km/s", "nan", ["5"]],
)
def test_refuses_what_is_no_number(written: object) -> None:
    with pytest.raises(SettingsError, match=r"no number with a unit|not a finite number"):
        read_quantity(written, "mm/s")


@given(st.floats(1e-6, 1e6))
def test_a_unit_and_its_thousandth_agree(value: float) -> None:
    assert read_quantity(f"{value!r} m/s", "mm/s") == pytest.approx(
        read_quantity(value * 1000, "mm/s"), rel=1e-9
    )


@given(st.text(max_size=20))
def test_any_text_gives_a_number_or_a_settings_error(text: str) -> None:
    with contextlib.suppress(SettingsError):
        assert math.isfinite(read_quantity(text, "mm/s^2"))
