import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.estimate import Estimate
from scoring.verify.verdict import Outcome, Verdict, disagree, judge

NOTHING_LOST = Estimate(0.2, -1.5, 1.9)
FLAT = Estimate(0.1, 0.0, 0.6)


def _judge(low: float, value: float, high: float) -> Verdict:
    return judge(Estimate(value, low, high), lost_um=NOTHING_LOST, flat_um=FLAT)


def test_an_interval_about_one_is_trusted_to_its_farther_end() -> None:
    verdict = _judge(0.98, 1.03, 1.08)
    assert verdict.outcome is Outcome.TRUSTED
    assert verdict.within_percent == 8
    assert verdict.from_um == 8  # 0.6 um is 8 % of 7.5 um
    assert verdict.sentences == (
        "Heights read +3 % (−2 to +8): ripple from 8 µm up can be trusted to 8 %.",
    )


@pytest.mark.parametrize(
    ("low", "value", "high", "outcome", "said"),
    [
        (0.81, 0.85, 0.9, Outcome.READS_LOW, "flatter than designed"),
        (1.04, 1.1, 1.16, Outcome.READS_HIGH, "higher than designed"),
        (0.8, 1.0, 1.2, Outcome.UNSURE, "too wide"),
        (0.2, 1.0, 1.8, Outcome.UNSURE, "too wide"),
    ],
)
def test_other_outcomes(low: float, value: float, high: float, outcome: Outcome, said: str) -> None:
    verdict = _judge(low, value, high)
    assert verdict.outcome is outcome
    assert said in " ".join(verdict.sentences)


def test_beyond_the_ladder_no_share_is_promised() -> None:
    verdict = _judge(0.2, 1.0, 1.8)
    assert (verdict.within_percent, verdict.from_um) == (None, None)


def test_what_every_ripple_lacks_is_told_and_raises_the_smallest() -> None:
    scale = Estimate(1.0, 0.95, 1.05)
    verdict = judge(scale, lost_um=Estimate(4.0, 2.0, 6.0), flat_um=FLAT)
    assert "4.0 µm too small" in verdict.sentences[-1]
    assert verdict.from_um == 100  # 4.6 um is 5 % of 92 um
    larger = judge(scale, lost_um=Estimate(-4.0, -6.0, -2.0), flat_um=FLAT)
    assert "4.0 µm too large" in larger.sentences[-1]


def test_ripple_on_the_flat_stretch_is_told() -> None:
    scale = Estimate(1.0, 0.95, 1.05)
    verdict = judge(scale, lost_um=NOTHING_LOST, flat_um=Estimate(3.0, 2.5, 3.5))
    assert "3.0 µm are read where the face is flat" in verdict.sentences[-1]


@given(
    value=st.floats(0.5, 1.5),
    below=st.floats(0.001, 0.5),
    above=st.floats(0.001, 0.5),
)
def test_trust_always_covers_the_interval(value: float, below: float, above: float) -> None:
    scale = Estimate(value, value - below, value + above)
    verdict = judge(scale, lost_um=NOTHING_LOST, flat_um=FLAT)
    holds = scale.low <= 1 <= scale.high
    assert holds == (verdict.outcome in (Outcome.TRUSTED, Outcome.UNSURE))
    if verdict.within_percent is not None:
        assert max(abs(scale.low - 1), abs(scale.high - 1)) <= verdict.within_percent / 100 + 1e-7
    if verdict.outcome is Outcome.TRUSTED:
        assert verdict.within_percent is not None
        assert verdict.within_percent <= 15


def _apart(*ends: tuple[float, float], blades: dict[str, str] | None = None) -> str:
    """What is said of photos a, b, ... with these intervals; empty where they agree."""
    scales = {
        name: Estimate.around((low + high) / 2, (high - low) / 2)
        for name, (low, high) in zip("abc", ends, strict=False)
    }
    verdict = disagree(scales, blades or {})
    return " ".join(verdict.sentences) if verdict else ""


def test_two_photos_agree_as_far_apart_as_the_root_of_their_squared_intervals() -> None:
    """Half-widths of 0.03 and 0.04 allow 0.05: the 95 % interval of a difference (GUM, 5.1.2)."""
    assert _apart((0.97, 1.03), (1.009, 1.089)) == ""
    said = _apart((0.97, 1.03), (1.011, 1.091))
    assert "a reads 0 % (−3 to +3), b reads +5 % (+1 to +9)" in said
    assert "different blades" in said


def test_three_photos_by_the_chi_square_table() -> None:
    """5.991 is the 95 % point of two degrees of freedom (any table). Of -d, 0, d with a standard
    deviation of 1 it is reached where 2 d^2 = 5.991."""
    sd, d = 0.01, 0.017307
    for share, apart in ((0.99, False), (1.01, True)):
        ends = [(1 + k * share * d - 1.96 * sd, 1 + k * share * d + 1.96 * sd) for k in (-1, 0, 1)]
        assert bool(_apart(*ends)) is apart


def test_labels_of_different_blades_are_told_though_heights_agree() -> None:
    alike = ((0.97, 1.03), (0.97, 1.03))
    assert _apart(*alike, blades={"a": "C-1, axis x", "b": "C-1, axis x"}) == ""
    assert _apart(*alike, blades={"a": "C-1, axis x"}) == ""
    said = _apart(*alike, blades={"a": "C-1, axis x", "b": "C-2, axis x"})
    assert said.startswith("The labels name different blades: a: C-1, axis x; b: C-2, axis x.")


def test_one_photo_agrees_with_itself() -> None:
    assert _apart((0.97, 1.03)) == ""
