from collections.abc import Callable

from scoring.ranking.combine import combine
from scoring.ranking.grid import grid_of
from scoring.ranking.rank import rank_runs
from scoring.ranking.run_numbers import RunNumbers
from scoring.ranking.score import read_score_table


def test_machine_and_setup_go_down_and_acceleration_across(run: Callable[..., RunNumbers]) -> None:
    runs = [
        run("1", {"accel_mm_s2": 9000}, ripple_peak_um=40),
        run("2", {"accel_mm_s2": 3000}, ripple_peak_um=20),
        run("3", {"accel_mm_s2": 3000, "axis": "y"}, ripple_peak_um=24),
        run("4", {"machine": "Birch"}, ripple_peak_um=30),
        run("5", {"setup": "brace"}, ripple_peak_um=15),
        run("6", {"machine": "Cedar"}, gap_fraction=0.1),
    ]
    ranked = rank_runs(runs, by="ripple_peak_um", table=read_score_table())
    grid = grid_of(ranked)
    assert grid.rows == (("Alder", "brace"), ("Alder", "stock"), ("Birch", "stock"))
    assert grid.accels_mm_s2 == (3000, 5000, 9000)
    assert len(grid.cells) == 4
    cell = grid.cells[("Alder", "stock"), 3000]
    assert [r.run.settings.name for r in cell.runs] == ["2", "3"]
    assert cell.value == combine([runs[n].metrics["ripple_peak_um"] for n in (1, 2)])


def test_names_that_differ_in_case_alone_are_one_row(run: Callable[..., RunNumbers]) -> None:
    runs = [
        run("1", {"machine": "alder"}, ripple_peak_um=40),
        run("2", {"machine": "Alder", "setup": "Stock"}, ripple_peak_um=20),
        run("3", {"machine": "ALDER", "setup": "brace"}, ripple_peak_um=30),
        run("4", {"machine": "aspen", "setup": "stock"}, ripple_peak_um=50),
    ]
    grid = grid_of(rank_runs(runs, by="ripple_peak_um", table=read_score_table()))
    assert grid.rows == (("Alder", "brace"), ("Alder", "Stock"), ("aspen", "Stock"))
    assert len(grid.cells[("Alder", "Stock"), 5000].runs) == 2


def test_nothing_ranked_gives_an_empty_grid() -> None:
    grid = grid_of(())
    assert (grid.rows, grid.accels_mm_s2, grid.cells) == ((), (), {})
