"""A metric's name, mistyped."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.errors import SettingsError
from scoring.estimate import Estimate
from scoring.metric_words import (
    KNOWN,
    closest_metrics,
    format_shown,
    known_metrics,
    shown_unit,
)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("ripple", "did you mean ripple_peak_um, ripple_rms_um or steady_ripple_um?"),
        ("Ripple peak", "did you mean ripple_peak_um?"),
        ("riple_rms", "did you mean ripple_rms_um?"),
        ("gap_fracton", "did you mean gap_fraction?"),
        ("frequency", "did you mean frequency_hz?"),
        ("frequncy", "did you mean frequency_hz?"),
    ],
)
def test_the_close_ones_are_listed(written: str, said: str) -> None:
    assert closest_metrics(written, KNOWN) == said


@pytest.mark.parametrize(
    ("name", "estimate", "unit", "said"),
    [
        ("gap_fraction", Estimate(0.0072, 0.006, 0.0084), "%", ("0.72", "0.60 to 0.84")),
        ("gap_count", Estimate(26.0, 24.4, 27.6), "", ("26", "24 to 28")),
        ("recovery_mm", Estimate(15.0, 14.0, 16.0), "mm", ("15.0", "14.0 to 16.0")),
        ("layer_modulation", Estimate(1.0, 0.9, 1.1), "", ("1.00", "0.90 to 1.10")),
    ],
)
def test_fractions_are_told_in_percent_and_counts_whole(
    name: str, estimate: Estimate, unit: str, said: tuple[str, str]
) -> None:
    assert format_shown(name, [estimate]) == [said]
    assert shown_unit(name) == unit


@pytest.mark.parametrize("written", ["xyz", "", " "])
def test_where_none_is_close_all_are(written: str) -> None:
    assert closest_metrics(written, KNOWN) == f"there are {', '.join(KNOWN)}."


@given(st.text(max_size=30))
def test_what_is_said_names_metrics_that_there_are(written: str) -> None:
    said = closest_metrics(written, KNOWN)
    named = said.partition("are " if said.startswith("there") else "mean ")[2].strip("?.")
    assert set(named.replace(" or ", ", ").split(", ")) <= set(KNOWN)


def test_known_ones_are_given_back_once_and_others_refused() -> None:
    assert known_metrics(["gap_count", "recovery_s", "gap_count"]) == ("gap_count", "recovery_s")
    assert known_metrics([]) == ()
    with pytest.raises(SettingsError, match="'gaps' is no metric; there are ripple_peak_um"):
        known_metrics(["gap_count", "gaps"])
