"""The ranking's table, interval chart and grid, on numbers worked out by hand."""

from collections.abc import Sequence
from typing import Any

import altair as alt
import pytest

from scoring.estimate import Estimate
from scoring.metrics import FaceName
from scoring.page.grid_chart import draw_grid
from scoring.page.interval_chart import draw_intervals
from scoring.page.line_chart import draw_lines
from scoring.page.ranking_table import alike_words, band_of, rank_words, ranking_frame
from scoring.ranking.grid import grid_of
from scoring.ranking.rank import RankedRun
from scoring.ranking.run_numbers import RunNumbers
from tests.page.conftest import Settings


@pytest.fixture
def ranked(settings: Settings) -> Sequence[RankedRun]:
    """Ranks 1, 1, 3, the last of Birch."""

    def row(rank: int, value: float, **more: Any) -> RankedRun:
        estimate = Estimate(value, value - 1, value + 1)
        numbers = RunNumbers(settings(**more), (FaceName.RINGDOWN,), 1, {}, (), stale=rank == 3)
        return RankedRun(rank, estimate, numbers)

    return [
        row(1, 20.0, name="A-02", accel_mm_s2=10000),
        row(1, 20.5, name="A-03"),
        row(3, 40.0, name="B-01", machine="Birch", flow_ratio=0.98, filament="sand"),
    ]


def test_shared_ranks_are_marked_and_banded(ranked: Sequence[RankedRun]) -> None:
    assert rank_words(ranked) == ["1 =", "1 =", "3"]
    assert band_of(ranked) == [0, 0, 1]


def test_the_table_has_units_intervals_and_the_settings_that_differ(
    ranked: Sequence[RankedRun],
) -> None:
    frame = ranking_frame(ranked, "ripple_peak_um")
    assert list(frame.columns) == [
        "rank", "run", "ripple peak, µm", "95 % interval", "machine", "filament",
        "acceleration, mm/s²", "flags", "photos", "out of date", "flow ratio",
    ]  # fmt: skip
    assert list(frame["95 % interval"]) == ["19.0 to 21.0", "19.5 to 21.5", "39.0 to 41.0"]
    assert list(frame["out of date"]) == ["", "", "yes"]
    assert "outer-wall speed 150 mm/s" in alike_words(ranked)
    assert "acceleration" not in alike_words(ranked)


@pytest.mark.parametrize("by", ["score", "ripple_peak_um", "frequency_hz"])
def test_the_charts_are_valid_vega_lite(ranked: Sequence[RankedRun], by: str) -> None:
    alt.LayerChart.from_dict(draw_intervals(ranked, by))
    alt.LayerChart.from_dict(draw_grid(grid_of(ranked), by))
    alt.LayerChart.from_dict(draw_lines(grid_of(ranked), by))


def test_the_intervals_stand_in_the_order_of_the_ranking(ranked: Sequence[RankedRun]) -> None:
    rows = draw_intervals(ranked, "ripple_peak_um")["data"]["values"]
    assert [(r["label"], r["low"], r["value"], r["high"]) for r in rows] == [
        ("1 =  A-02", 19.0, 20.0, 21.0),
        ("1 =  A-03", 19.5, 20.5, 21.5),
        ("3  B-01", 39.0, 40.0, 41.0),
    ]
    assert rows[0]["colour"] == rows[1]["colour"] != rows[2]["colour"]


def test_the_grid_has_machines_down_and_accelerations_across(ranked: Sequence[RankedRun]) -> None:
    spec = draw_grid(grid_of(ranked), "ripple_peak_um")
    cells = {(r["machine"], r["accel"]): (r["text"], r["half"]) for r in spec["data"]["values"]}
    assert cells == {
        ("Alder, stock", 5000.0): ("20.5", "± 1.0"),
        ("Alder, stock", 10000.0): ("20.0", "± 1.0"),
        ("Birch, stock", 5000.0): ("40.0", "± 1.0"),
    }
    colour = spec["layer"][0]["encoding"]["color"]
    assert colour["title"] == "ripple peak, µm"


def test_gap_fractions_are_drawn_in_percent(settings: Settings) -> None:
    numbers = RunNumbers(settings(), (FaceName.FLOW,), 1, {}, (), stale=False)
    ranked = [RankedRun(1, Estimate(0.02, 0.019, 0.021), numbers)]
    for draw in (
        draw_intervals(ranked, "gap_fraction"),
        draw_lines(grid_of(ranked), "gap_fraction"),
    ):
        (row,) = draw["data"]["values"]
        assert (row["value"], row["told"]) == (2.0, "2.00 % (1.90 to 2.10)")
    (cell,) = draw_grid(grid_of(ranked), "gap_fraction")["data"]["values"]
    assert (cell["text"], cell["half"]) == ("2.00", "± 0.10")
    assert list(ranking_frame(ranked, "gap_fraction")["gap fraction, %"]) == ["2.00"]


@pytest.mark.parametrize(("by", "turned"), [("score", False), ("ripple_peak_um", True)])
def test_better_is_brighter(ranked: Sequence[RankedRun], by: str, turned: bool) -> None:
    """The scheme runs from dark to bright."""
    spec = draw_grid(grid_of(ranked), by)
    assert spec["layer"][0]["encoding"]["color"]["scale"]["reverse"] is turned
    bright = {r["value"]: r["bright"] for r in spec["data"]["values"]}
    assert bright == {20.0: turned, 20.5: turned, 40.0: not turned}


def test_each_machine_and_setup_has_its_line_told_apart_by_colour_shape_and_dash(
    ranked: Sequence[RankedRun],
) -> None:
    spec = draw_lines(grid_of(ranked), "ripple_peak_um")
    rows = spec["data"]["values"]
    assert [(row["line"], row["accel"], row["value"]) for row in rows] == [
        ("Alder, stock", 5000, 20.5), ("Alder, stock", 10000, 20.0), ("Birch, stock", 5000, 40.0),
    ]  # fmt: skip
    assert [row["told"] for row in rows][2] == "40.0 µm (39.0 to 41.0)"
    channels = (spec["layer"][0]["encoding"]["color"], spec["layer"][0]["encoding"]["strokeDash"],
                spec["layer"][2]["encoding"]["shape"])  # fmt: skip
    for channel in channels:
        first, second = channel["scale"]["range"]
        assert first != second
