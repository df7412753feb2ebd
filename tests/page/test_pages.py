"""The pages as Streamlit runs them, without a browser."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

from scoring.page import photo_adding
from scoring.store.run_store import RunStore
from tests.page.conftest import Photo, Settings, store_under_any_name
from tests.stand_in_measure import measure, photo_text

APP = Path(photo_adding.__file__).parents[2] / "app.py"
RUN, ADD = "scoring/page/pages/run.py", "scoring/page/pages/add.py"
PRINT = "scoring/page/pages/print.py"


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """The app, its measurement stood in for; not yet run."""
    monkeypatch.setattr(photo_adding, "load_measure", lambda: measure)
    return AppTest.from_file(str(APP), default_timeout=60)


def told(page: AppTest) -> str:
    """Everything written on the page, a line each."""
    kinds = (page.title, page.subheader, page.markdown, page.caption, page.text, page.info)
    messages = (page.error, page.warning, page.success)
    return "\n".join(str(e.value) for kind in (*kinds, *messages) for e in kind)


def charts(page: AppTest) -> int:
    return len(page.get("vega_lite_chart")) or len(page.get("arrow_vega_lite_chart"))


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
def test_one_face_scores_runs_that_lack_the_other(page: AppTest) -> None:
    page.run()
    page.selectbox(key="face").select("flow").run()
    assert "B-01" in runs_shown(page)
    assert "recovery, mm" in page.selectbox(key="by").options
    assert "ripple peak, µm" not in page.selectbox(key="by").options
    assert not page.exception


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
        r"Flow face: flowA\-02\.jpg", "glossy enough", "Placed by 12 markers",
    ):  # fmt: skip
        assert words in written
    assert charts(page) == 3
    numbers = page.table[0].value
    assert list(numbers[""]) == [
        "ripple peak", "ripple RMS", "envelope", "frequency", "damping ratio", "wavelength",
    ]  # fmt: skip
    assert numbers["95 % interval"].iloc[0] == "19.0 to 21.0 µm".replace(" ", "\u00a0")


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


def test_a_file_that_is_no_database_is_told(page: AppTest, database: Path) -> None:
    database.write_text("not a database, but long enough to be looked at " * 40)
    page.run()
    assert "no SQLite database" in told(page)
    assert "--db" not in told(page)
    assert not page.exception


@pytest.fixture
def add_page(page: AppTest, database: Path) -> Iterator[AppTest]:
    page.run()
    yield page.switch_page(ADD).run()
    assert not page.exception


def fill(page: AppTest, **written: str) -> None:
    for name, value in written.items():
        page.text_input(key=f"{name}/").set_value(value)


def upload(page: AppTest, *photos: tuple[str, bytes]) -> None:
    """Choose files; each time the page draws a new, empty field."""
    (field,) = [f for f in page.file_uploader if str(f.key).startswith("files-")]
    field.set_value([(name, content, "image/jpeg") for name, content in photos]).run()


def send(page: AppTest, **says: Any) -> str:
    """Upload one photo and give what the page says then."""
    upload(page, ("a.jpg", photo_text(**says)))
    page.button(key="send").click().run()
    return told(page).replace("\\", "").replace("\u2060", "")


LEAST = {"machine": "Birch", "outer_wall_speed_mm_s": "9000 mm/min", "accel_mm_s2": "5000"}


def test_a_photo_is_added_with_the_label_s_run(add_page: AppTest, database: Path) -> None:
    fill(add_page, **LEAST, setup="brace")
    assert "a.jpg: added to run B7-012, ring-down face" in send(add_page, run="B7-012", axis="y")
    with RunStore.open(database) as store:
        stored = store.run("B7-012").settings
    assert (stored.setup, stored.axis, stored.outer_wall_speed_mm_s) == ("brace", "y", 150.0)
    assert "already there" in send(add_page, run="B7-012", axis="y")
    with RunStore.open(database) as store:
        assert store.run("B7-012").photos == 1


@pytest.mark.parametrize(
    ("written", "says", "expected"),
    [
        (LEAST, {"run": "B7-012", "axis": "y", "fails": "card"}, "No marker of the card"),
        (LEAST, {}, "write the run's name below"),
        ({"machine": "Birch"}, {"run": "B7-012", "axis": "y"}, "give its settings"),
        ({**LEAST, "accel_mm_s2": "-5"}, {"run": "B7-012", "axis": "y"}, "not a possible"),
        ({**LEAST, "corner_speed_mm_s": "900"}, {"run": "B7-012", "axis": "y"}, "swapped"),
        ({**LEAST, "name": "C-1"}, {"run": "B7-012", "axis": "y"}, "The label says run B7-012"),
        ({**LEAST, "name": "c 1"}, {"run": "C-1", "axis": "y"}, "for example C-1"),
    ],
)
def test_what_fails_is_told_and_nothing_is_recorded(
    add_page: AppTest, database: Path, written: dict[str, str], says: dict[str, Any], expected: str
) -> None:
    fill(add_page, **written)
    said = send(add_page, **says)
    assert expected in said
    assert len(add_page.error) == 1
    if database.exists():
        with RunStore.open(database) as store:
            assert not store.runs()


def test_no_photo_chosen_is_told(add_page: AppTest, database: Path) -> None:
    fill(add_page, **LEAST)
    add_page.button(key="send").click().run()
    assert "Choose at least one photo" in told(add_page)
    assert not database.exists()


@pytest.mark.usefixtures("three_runs")
def test_the_form_can_be_filled_in_from_a_stored_run(add_page: AppTest) -> None:
    add_page.selectbox(key="pattern").select("B-01").run()
    assert add_page.text_input(key="machine/B-01").value == "Birch"
    assert add_page.text_input(key="accel_mm_s2/B-01").value == "5000"
    assert add_page.text_input(key="name/B-01").value == ""
    assert add_page.text_area(key="extra/B-01").value == "belt_hz = 92"


@pytest.mark.usefixtures("three_runs")
def test_a_stored_run_takes_more_photos(add_page: AppTest, database: Path) -> None:
    add_page.radio(key="kind").set_value("A stored run").run()
    add_page.selectbox(key="stored").select("A-01")
    assert "added to run A-01" in send(add_page, face="flow", gaps=0.3)
    with RunStore.open(database) as store:
        assert store.run("A-01").photos == 3


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
        assert [record.settings.name for record in store.runs()] == ["A-01", "A-03", "B-01"]
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


def test_a_half_filled_form_survives_a_look_at_another_page_and_a_refusal(
    add_page: AppTest, database: Path
) -> None:
    fill(add_page, machine="Birch", setup="brace")
    add_page.text_area(key="notes/").set_value("half of it")
    upload(add_page, ("bad.jpg", photo_text(run="B-1", axis="x", fails="card")))
    add_page.switch_page(PRINT).run()
    assert not add_page.exception
    add_page.switch_page(ADD).run()
    assert add_page.text_input(key="machine/").value == "Birch"
    assert add_page.text_area(key="notes/").value == "half of it"
    assert "bad" in told(add_page)
    add_page.text_input(key="outer_wall_speed_mm_s/").set_value("150")
    add_page.text_input(key="accel_mm_s2/").set_value("5000")
    add_page.button(key="send").click().run()
    said = told(add_page)
    assert "was not added" in said
    assert "**What to do:** Lay the coupon on the printed card" in said
    assert add_page.text_input(key="setup/").value == "brace"
    add_page.button[0].click().run()  # its Remove
    assert "was not added" not in told(add_page)


def test_many_photos_at_once_keep_the_refused_one_alone_waiting(
    add_page: AppTest, database: Path
) -> None:
    fill(add_page, **LEAST, name="")
    upload(
        add_page,
        ("a.jpg", photo_text(run="B-1", axis="x")),
        ("b.jpg", photo_text(run="B-1", axis="x", face="flow")),
        ("c.jpg", photo_text(run="B-2", axis="x", fails="card")),
    )
    assert "Waiting to be measured: 3" in told(add_page)
    add_page.button(key="send").click().run()
    assert len(add_page.success) == 2
    assert len(add_page.error) == 1
    with RunStore.open(database) as store:
        assert [(r.settings.name, r.photos) for r in store.runs()] == [("B-1", 2)]


@pytest.mark.usefixtures("three_runs")
def test_the_form_is_filled_from_the_last_run_that_was_added(add_page: AppTest) -> None:
    assert add_page.selectbox(key="pattern").value == "B-01"
    assert add_page.text_input(key="machine/B-01").value == "Birch"


def test_things_to_print_are_offered(page: AppTest, database: Path) -> None:
    page.run()
    page.switch_page(PRINT).run()
    assert not page.exception
    assert len(page.get("download_button")) == 8
    page.text_input(key="label-runs").set_value("b7-012, b7-013").run()
    assert len(page.get("download_button")) == 9
    page.text_input(key="label-runs").set_value("b7/012").run()
    assert len(page.error) == 1
    assert not page.exception
    assert not database.exists()
