from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.errors import SettingsError
from scoring.estimate import Estimate
from scoring.metrics import METRICS, FaceName
from scoring.ranking.score import ScoreTable, ScoreTerm, read_score_table, score

TERMS = (
    ScoreTerm("ripple_peak_um", FaceName.RINGDOWN, 1.0, 50.0),
    ScoreTerm("gap_fraction", FaceName.FLOW, 1.0, 0.05),
)


def test_a_perfect_run_scores_100_and_one_reference_halves_it() -> None:
    zero, at = Estimate(0, 0, 0), Estimate(50, 50, 50)
    assert score({"ripple_peak_um": zero, "gap_fraction": zero}, ScoreTable(TERMS)).value == 100
    assert score({"ripple_peak_um": at, "gap_fraction": zero}, ScoreTable(TERMS)).value == 50


def test_the_interval_covers_as_a_simulation_says() -> None:
    """Monte Carlo of normal metrics (GUM Supplement 1, JCGM 101): 95 % limits of the score."""
    rng = np.random.default_rng(4)
    peak, gaps = rng.normal(40, 3, 400_000), rng.normal(0.03, 0.004, 400_000)
    low, high = np.percentile(100 / (1 + peak / 50 + gaps / 0.05), (2.5, 97.5))
    got = score(
        {
            "ripple_peak_um": Estimate(40, 40 - 1.96 * 3, 40 + 1.96 * 3),
            "gap_fraction": Estimate(0.03, 0.03 - 1.96 * 0.004, 0.03 + 1.96 * 0.004),
        },
        ScoreTable(TERMS),
    )
    assert got.low == pytest.approx(low, abs=0.1)
    assert got.high == pytest.approx(high, abs=0.1)


metrics = st.builds(
    lambda v, below, above: Estimate(v, v * (1 - below), v + above),
    st.floats(0, 1e4),
    st.floats(0, 1),
    st.floats(0, 1e4),
)


@given(metrics, metrics, st.floats(0.1, 1e3))
def test_a_score_lies_in_0_to_100_and_falls_with_every_metric(
    peak: Estimate, gaps: Estimate, more: float
) -> None:
    table = ScoreTable(TERMS)
    one = score({"ripple_peak_um": peak, "gap_fraction": gaps}, table)
    assert 0 <= one.low <= one.value <= one.high <= 100
    worse = Estimate(peak.value + more, peak.low + more, peak.high + more)
    assert score({"ripple_peak_um": worse, "gap_fraction": gaps}, table).value < one.value


def test_the_shipped_table_has_both_faces_and_metrics_that_are_better_lower() -> None:
    table = read_score_table()
    assert {t.face for t in table.terms} == set(FaceName)
    better = {m.name: m.better for m in METRICS}
    assert {better[t.metric] for t in table.terms} == {"lower"}
    assert table.of_face(FaceName.FLOW).missing({}) == ("gap_fraction", "recovery_mm")


def test_a_table_of_one_s_own(tmp_path: Path) -> None:
    own = tmp_path / "weights.toml"
    shipped = files("scoring.ranking").joinpath("score.toml").read_text("utf-8")
    own.write_text(shipped.replace("weight = 0.5", "weight = 0"))
    assert [t.metric for t in read_score_table(own).terms] == ["ripple_peak_um", "gap_fraction"]
    with pytest.raises(SettingsError, match="No metric of the flow face"):
        ScoreTable(TERMS[:1]).of_face(FaceName.FLOW)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[metrics.ripple_peak]\nweight=1\nreference=1", "did you mean ripple_peak_um"),
        ("[metrics.steady_period_mm]\nweight=1\nreference=1", "not a metric that is better lower"),
        ("[metrics.gap_count]\nweight=1", "needs a weight and a reference"),
        ("[metrics.gap_count]\nweight=-1\nreference=1", "gap_count: weight: -1 must be"),
        ("[metrics.gap_count]\nweight=1\nreference=0", "reference: must be above zero"),
        ("[metrics.gap_count]\nweight=1\nreference='a'", "reference: 'a' must be"),
        ("[metrics.gap_count]\nweight=inf\nreference=1", "weight: inf must be"),
        ("[metrics.gap_count]\nweight=0\nreference=1", "no metric has a weight"),
        ("[weights]\n", r"must hold \[metrics.NAME\]"),
        ("[metrics", "not valid TOML"),
    ],
)
def test_a_wrong_table_names_file_and_key(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "weights.toml"
    path.write_text(text)
    with pytest.raises(SettingsError, match=said) as caught:
        read_score_table(path)
    assert str(path) in str(caught.value)


def test_an_absent_table_is_told(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="cannot be read"):
        read_score_table(tmp_path / "absent.toml")
