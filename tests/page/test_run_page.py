"""The page One run, without a browser."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from scoring.store.run_store import RunStore
from tests.page.conftest import Photo, Settings, store_under_any_name
from tests.page.drawn_page import RUN, charts, told


@pytest.mark.usefixtures("three_runs")
def test_a_run_shows_settings_photos_numbers_and_flags(page: AppTest) -> None:
    page.query_params["run"] = "A-02"
    page.run()
    page.switch_page(RUN).run()
    page.selectbox(key="run").select("A-02").run()
    assert not page.exception
    written = told(page)
    for words in (
        "10000 mm/s²", "brace", "Notes: brace fitted", r"Ring-down face: ringdownA\-02\.jpg",
        r"Flow face: flowA\-02\.jpg", "dark that gloss counts", "Placed by 12 markers",
    ):  # fmt: skip
        assert words in written
    assert charts(page) == 3
    numbers = page.table[0].value
    assert list(numbers[""]) == [
        "ripple peak", "ripple RMS", "envelope", "frequency", "damping ratio", "wavelength",
    ]  # fmt: skip
    assert numbers["95 % interval"].iloc[0] == "19.0\u00a0to 21.0\u00a0µm"


def test_a_photo_whose_picture_is_broken_still_shows_its_numbers(
    page: AppTest, database: Path, settings: Settings, photo: Photo
) -> None:
    with RunStore.open(database) as store:
        whole = photo()
        broken = type(whole)(whole.name, whole.content, whole.measurement, b"no picture")
        store.record_photo(settings(), broken)
    page.run()
    page.switch_page(RUN).run()
    assert "cannot be read" in told(page)
    assert len(page.table) == 1
    assert not page.exception


def test_names_are_shown_as_they_stand(
    page: AppTest, database: Path, settings: Settings, photo: Photo
) -> None:
    hostile = "<img src=x onerror=alert(1)> **b** :red[x]"
    store_under_any_name(database, hostile, settings(machine="[a](b)", notes="# h"), photo())
    page.run()
    page.switch_page(RUN).run()
    assert not page.exception
    written = told(page)
    assert "**b**" not in written
    assert "<img" not in written


@pytest.mark.usefixtures("three_runs")
def test_a_run_that_is_not_there_is_told_before_another_is_shown(page: AppTest) -> None:
    page.run()
    page.switch_page(RUN)
    page.query_params["run"] = "NOPE"
    page.run()
    assert "There is no run NOPE" in told(page)
    assert page.selectbox(key="run").value == "A-03"
    page.selectbox(key="run").select("A-02").run()
    assert "NOPE" not in told(page)


def test_runs_are_offered_in_order_of_acceleration(
    page: AppTest, database: Path, settings: Settings, photo: Photo
) -> None:
    with RunStore.open(database) as store:
        for name, accel in (("A-10K", 10000), ("A-1K", 1000), ("A-5K", 5000)):
            store.record_photo(settings(name, accel_mm_s2=accel), photo(salt=name))
    page.run()
    page.switch_page(RUN).run()
    assert page.selectbox(key="run").options == ["A-1K", "A-5K", "A-10K"]


@pytest.fixture
def run_page(page: AppTest, three_runs: Path) -> AppTest:
    """The page of run A-02."""
    assert three_runs.exists()
    page.run()
    page.switch_page(RUN).run()
    return page.selectbox(key="run").select("A-02").run()


def test_a_run_is_deleted_only_after_a_question_and_comes_back_by_undo(
    run_page: AppTest, three_runs: Path
) -> None:
    run_page.button(key="ask-A-02").click().run()
    assert "Delete run A\\-02 with its photos (2)?" in told(run_page)
    run_page.button(key="keep-A-02").click().run()
    assert "can be brought back" not in told(run_page)
    run_page.button(key="ask-A-02").click().run()
    run_page.button(key="yes-A-02").click().run()
    assert not run_page.exception
    assert "Run A\\-02 (2 photos) is deleted" in told(run_page)
    assert "A-02" not in run_page.selectbox(key="run").options
    with RunStore.open(three_runs) as store:
        assert [record.settings.name for record in store.runs()] == ["A-03", "A-01", "B-01"]
    run_page.button(key="undo").click().run()
    assert not run_page.exception
    with RunStore.open(three_runs) as store:
        assert store.run("A-02").photos == 2


def test_a_photo_is_deleted_and_brought_back_from_the_list(
    run_page: AppTest, three_runs: Path
) -> None:
    with RunStore.open(three_runs) as store:
        sha256 = store.measurements(run="A-02")[0].photo.sha256
    run_page.button(key=f"ask-{sha256}").click().run()
    run_page.button(key=f"yes-{sha256}").click().run()
    with RunStore.open(three_runs) as store:
        assert store.run("A-02").photos == 1
    run_page.button(key=f"back-{sha256}").click().run()
    assert not run_page.exception
    with RunStore.open(three_runs) as store:
        assert store.run("A-02").photos == 2
