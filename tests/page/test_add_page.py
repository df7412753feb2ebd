"""The page Add photos, without a browser; its measurement is stood in for."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from scoring.store.run_store import RunStore
from tests.page.drawn_page import ADD, PRINT, told
from tests.stand_in_measure import photo_text

LEAST = {"machine": "Birch", "outer_wall_speed_mm_s": "9000 mm/min", "accel_mm_s2": "5000"}


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
