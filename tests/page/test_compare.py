"""The page Before and after: its fields, charts and words, on invented prints."""

from collections.abc import Callable
from pathlib import Path

import altair as alt
import pytest
from streamlit.testing.v1 import AppTest

from scoring.comparing.compare import compare_sides
from scoring.comparing.comparison import Comparison, Outcome
from scoring.comparing.prints import gather_prints
from scoring.metrics import FaceName
from scoring.page import site
from scoring.page.compare_choice import offered_factors, usual_sides
from scoring.page.comparison_panel import (
    effect_frame,
    first_record,
    pair_words,
    strongest_pair,
)
from scoring.page.effect_chart import draw_effects, effect_title
from scoring.page.pair_figure import draw_pair
from scoring.reporting.strips import cut_strips
from scoring.store.records import MeasurementRecord
from scoring.store.run_store import RunStore
from tests.page.conftest import Photo, Settings, draw_picture

APP = Path(site.__file__).parents[2] / "app.py"
COMPARE = "scoring/page/pages/compare.py"


@pytest.fixture
def braced(database: Path, settings: Settings, photo: Photo) -> Path:
    """Stock and brace at three accelerations; the brace halves the ripple and leaves the gaps."""
    with RunStore.open(database) as store:
        for place, accel in enumerate((2500, 5000, 10000)):
            for setup, factor in (("stock", 1.0), ("brace", 0.5)):
                run = settings(f"{setup}-{accel}".upper(), setup=setup, accel_mm_s2=accel)
                ripple = (20.0 + 10 * place) * factor
                store.record_photo(run, photo(salt=run.name, value=ripple))
                store.record_photo(run, photo(FaceName.FLOW, salt=run.name, value=20.0 + place))
    return database


@pytest.fixture
def records(braced: Path) -> tuple[MeasurementRecord, ...]:
    with RunStore.open(braced) as store:
        return store.measurements()


@pytest.fixture
def found(records: tuple[MeasurementRecord, ...]) -> Comparison:
    return compare_sides(records, factor="setup", before="stock", after="brace")


def test_only_settings_with_two_sides_are_offered(records: tuple[MeasurementRecord, ...]) -> None:
    assert offered_factors(gather_prints(records)) == ["setup", "accel_mm_s2"]


@pytest.mark.usefixtures("braced")
def test_what_the_address_asks_for_and_is_not_there_is_told(page: AppTest) -> None:
    page.run()
    page.switch_page(COMPARE)
    for key, asked in (("factor", "nope"), ("before_setup", "stok"), ("only_axis", "z")):
        page.query_params[key] = asked
    page.run()
    assert not page.exception
    warned = "".join(warning.value for warning in page.warning)
    for words in ("called nope", "There is no setup stok", "There is no axis z"):
        assert words in warned


@pytest.mark.parametrize(
    ("values", "sides"), [(["brace", "stock"], (1, 0)), (["a", "b"], (0, 1)), (["stock"], (0, 1))]
)
def test_as_built_comes_first(values: list[str], sides: tuple[int, int]) -> None:
    assert usual_sides(values) == sides


def test_effects_are_valid_vega_lite_in_percent_or_points(found: Comparison) -> None:
    ripple = [e for e in found.by_accel if e.metric == "ripple_peak_um"]
    spec = draw_effects(ripple)
    alt.LayerChart.from_dict(spec)
    rows = spec["data"]["values"]
    assert [row["row"] for row in rows] == ["2500 mm/s²", "5000 mm/s²", "10000 mm/s²"]
    assert [row["value"] for row in rows] == pytest.approx([-50.0] * 3)
    assert {row["outcome"] for row in rows} == {"established lower"}
    assert all(row["low"] < row["value"] < row["high"] < 0 for row in rows)
    assert effect_title(ripple[0]) == "change of the ripple peak, %"
    gaps = [e for e in found.overall if e.metric == "gap_fraction"]
    alt.LayerChart.from_dict(draw_effects(gaps))
    assert effect_title(gaps[0]) == "change of the gap fraction, percentage points"
    assert draw_effects(gaps)["data"]["values"][0]["value"] == pytest.approx(0.0, abs=1e-9)


def test_outcomes_differ_in_colour_and_in_shape(found: Comparison) -> None:
    rows = draw_effects(found.overall[:1])["data"]["values"]
    assert found.overall[0].outcome is Outcome.LOWER
    lower = rows[0]["colour"], rows[0]["shape"]
    opened = draw_effects([e for e in found.overall if e.outcome is Outcome.OPEN][:1])
    other = opened["data"]["values"][0]
    assert lower[0] != other["colour"]
    assert lower[1] != other["shape"]


def test_strips_and_traces_share_one_axis(found: Comparison) -> None:
    pair = found.pairs[strongest_pair(found.pairs)]
    assert pair.accel_mm_s2 == 10000
    both = [first_record(side, FaceName.RINGDOWN) for side in (pair.before, pair.after)]
    assert both[0] is not None
    assert both[1] is not None
    strips = cut_strips(draw_picture((20.0,)), draw_picture((20.0,)), face=FaceName.RINGDOWN)
    spec = draw_pair(FaceName.RINGDOWN, strips, [r.measurement.trace for r in both if r])
    alt.LayerChart.from_dict(spec)
    scales = [
        layer["encoding"]["x"]["scale"]["domain"]
        for layer in spec["layer"]
        if "scale" in layer["encoding"]["x"]
    ]
    assert scales == [[4.0, 64.0]] * 3
    traces = spec["layer"][-1]["data"]["values"]
    peak = {s: max(row["value"] for row in traces if row["side"] == s) for s in ("before", "after")}
    assert peak["after"] == pytest.approx(peak["before"] / 2)


def test_pairs_and_effects_are_told_in_words_with_units(found: Comparison) -> None:
    assert pair_words(found.pairs[0]) == (
        "Alder, axis x, outer-wall speed 150 mm/s, acceleration 2500 mm/s², PLA grey"
    )
    frame = effect_frame(found.overall)
    assert frame["change (95 % interval)"].iloc[0].startswith("50")
    assert set(frame["acceleration"]) == {"all accelerations"}
    assert set(frame["pairs"]) == {3}


@pytest.fixture
def open_page() -> Callable[[], AppTest]:
    """The page Before and after; not open before its database is there."""

    def opened() -> AppTest:
        page = AppTest.from_file(str(APP), default_timeout=60)
        page.run()
        return page.switch_page(COMPARE).run()

    return opened


def told(page: AppTest) -> str:
    kinds = (page.title, page.subheader, page.markdown, page.caption, page.info, page.error)
    return "\n".join(str(e.value) for kind in kinds for e in kind).replace("\\", "")


@pytest.mark.usefixtures("braced")
def test_the_verdict_stands_with_what_casts_doubt_on_it(open_page: Callable[[], AppTest]) -> None:
    page = open_page()
    assert not page.exception
    written = told(page)
    assert "lowered the ripple peak by 50" in written
    assert "Know first" in written
    assert "Nothing else that is given differs between the sides" in written
    assert page.selectbox(key="before_setup").value == "stock"
    assert len(page.get("vega_lite_chart") or page.get("arrow_vega_lite_chart")) == 2


@pytest.mark.usefixtures("braced")
def test_another_factor_brings_its_own_sides(open_page: Callable[[], AppTest]) -> None:
    page = open_page()
    page.selectbox(key="factor").select("accel_mm_s2").run()
    assert not page.exception
    assert page.selectbox(key="before_accel_mm_s2").options[0] == "2500 mm/s²"
    page.selectbox(key="after_accel_mm_s2").select("2500 mm/s²").run()
    assert "Choose two sides that differ" in told(page)


@pytest.mark.usefixtures("braced")
def test_the_flow_face_is_set_side_by_side_too(open_page: Callable[[], AppTest]) -> None:
    page = open_page()
    page.button_group(key="strip_face").set_value(FaceName.FLOW).run()
    assert not page.exception
    assert "flowSTOCK-10000.jpg" in told(page)


def test_prints_that_are_all_alike_say_what_to_do(
    open_page: Callable[[], AppTest], database: Path, settings: Settings, photo: Photo
) -> None:
    with RunStore.open(database) as store:
        store.record_photo(settings(), photo())
    assert "there is nothing to compare. Add prints with one setting changed" in told(open_page())


@pytest.mark.usefixtures("database")
def test_an_empty_store_says_what_to_do(open_page: Callable[[], AppTest]) -> None:
    assert "No photo is stored in" in told(open_page())
