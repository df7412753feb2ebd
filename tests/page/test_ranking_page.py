"""The page Ranking, without a browser; and a store with nothing in it."""

from pathlib import Path

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

from scoring.store.run_store import RunStore
from tests.page.conftest import Photo, Settings
from tests.page.drawn_page import RUN, charts, told


def ranking(page: AppTest) -> pd.DataFrame:
    """The ranking; the score's weights are another table."""
    (table,) = [t.value for t in page.dataframe if "run" in t.value]
    return table


def runs_shown(page: AppTest) -> list[str]:
    return list(ranking(page)["run"])


@pytest.mark.usefixtures("database")
@pytest.mark.parametrize("script", [None, RUN])
def test_an_empty_store_says_what_to_do_and_stays_unmade(
    page: AppTest, database: Path, script: str | None
) -> None:
    page.run()
    if script:
        page.switch_page(script).run()
    assert not page.exception
    assert f"No photo is stored in `{database}` yet" in told(page)
    assert any("coupon demo" in code.value for code in page.code)
    assert not database.exists()


def test_a_file_that_is_no_database_is_told(page: AppTest, database: Path) -> None:
    database.write_text("not a database, but long enough to be looked at " * 40)
    page.run()
    assert "no SQLite database" in told(page)
    assert "--db" not in told(page)
    assert not page.exception


@pytest.mark.usefixtures("three_runs")
def test_the_ranking_shows_intervals_shared_ranks_and_who_is_left_out(page: AppTest) -> None:
    page.run()
    assert not page.exception
    table = ranking(page)
    assert list(table["rank"]) == ["1 =", "1 =", "3"]
    assert list(table["run"]) == ["A-02", "A-03", "A-01"]
    assert all(" to " in interval for interval in table["95 % interval"])
    assert charts(page) == 3
    assert "B\\-01: no photo of the ring-down face" in told(page)


@pytest.mark.usefixtures("three_runs")
def test_filters_and_metric_choose_what_is_ranked(page: AppTest) -> None:
    page.run()
    page.selectbox(key="by").select("gap_fraction").run()
    assert runs_shown(page) == ["A-02", "A-03", "A-01", "B-01"]
    page.selectbox(key="machine").select("Birch").run()
    assert runs_shown(page) == ["B-01"]
    page.selectbox(key="setup").select("brace").run()
    assert "No run has the number to rank by" in told(page)
    assert not page.exception


@pytest.mark.usefixtures("three_runs")
def test_a_filter_that_no_run_has_is_told(page: AppTest) -> None:
    page.query_params["machine"] = "zzz"
    page.query_params["accel"] = "10000 mm/s²"
    page.run()
    assert "There is no machine zzz" in told(page)
    assert "no acceleration" not in told(page)
    assert runs_shown(page) == ["A-02"]


@pytest.mark.usefixtures("three_runs")
def test_one_face_scores_runs_that_lack_the_other(page: AppTest) -> None:
    page.run()
    page.selectbox(key="face").select("flow").run()
    assert "B-01" in runs_shown(page)
    assert "recovery, mm" in page.selectbox(key="by").options
    assert "ripple peak, µm" not in page.selectbox(key="by").options
    assert not page.exception


def test_changed_weights_change_the_ranking_at_once(page: AppTest, three_runs: Path) -> None:
    assert three_runs.exists()
    page.run()
    first = list(ranking(page)["score, of 100"])
    page.number_input(key="weight_gap_fraction").set_value(5.0).run()
    assert list(ranking(page)["score, of 100"]) != first
    page.number_input(key="reference_recovery_mm").set_value(0.0).run()
    assert "the reference above 0" in told(page)
    assert not page.exception


@pytest.mark.usefixtures("three_runs")
def test_one_acceleration_can_be_chosen(page: AppTest) -> None:
    page.run()
    page.selectbox(key="accel").select("10000").run()
    assert runs_shown(page) == ["A-02"]


def test_an_acceleration_of_many_digits_can_be_chosen(
    page: AppTest, database: Path, settings: Settings, photo: Photo
) -> None:
    with RunStore.open(database) as store:
        for name, accel in (("A-01", 12345.678), ("A-02", 12345.679)):
            store.record_photo(settings(name, accel_mm_s2=accel), photo(salt=name))
    page.run()
    page.selectbox(key="by").select("ripple_peak_um").run()
    page.selectbox(key="accel").select("12345.679").run()
    assert runs_shown(page) == ["A-02"]
