"""A metric's name, mistyped."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.errors import SettingsError
from scoring.metric_words import KNOWN, closest_metrics, known_metrics


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
