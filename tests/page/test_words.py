"""Words and numbers of the page."""

from typing import Any

import pytest

from scoring.adding import add_photos
from scoring.batch import PhotoTask
from scoring.errors import ScoringError, SettingsError
from scoring.estimate import Estimate
from scoring.measurement import Mode
from scoring.metrics import METRICS, MODE_METRICS
from scoring.page.error_words import in_page_words
from scoring.page.metric_words import explain_metric, metric_title, setting_title
from scoring.page.number_table import metric_rows, mode_rows, number_frame
from scoring.page.refusal import LAYING
from scoring.page.run_settings import known_settings, unknown_settings
from scoring.ranking.rank import RANKABLE
from scoring.runs.plan import RunPlan
from scoring.store.run_store import RunStore
from tests.page.conftest import Settings, about
from tests.stand_in_measure import measure, photo_text


def test_every_metric_is_told_apart_and_carries_its_unit() -> None:
    titles = {name: metric_title(name) for name in RANKABLE}
    assert len(set(titles.values())) == len(titles)
    for metric in (*METRICS, *MODE_METRICS):
        assert titles[metric.name].endswith(f", {metric.unit}") == (metric.unit != "1")
        assert "_" not in titles[metric.name]
    assert titles["recovery_s"] == "recovery, s"
    assert titles["ripple_rms_um"] == "ripple RMS, µm"
    assert explain_metric("score").endswith("Higher is better.")
    assert explain_metric("gap_fraction").endswith("Lower is better.")
    assert explain_metric("frequency_hz").endswith("Neither high nor low is better.")


def test_settings_carry_their_units() -> None:
    assert setting_title("accel_mm_s2") == "acceleration, mm/s²"
    assert setting_title("flow_ratio") == "flow ratio"


def test_numbers_have_intervals_units_and_a_meaning() -> None:
    rows = metric_rows({"ripple_peak_um": Estimate(31.24, 29.9, 32.6)})
    modes = (Mode(about(30), about(47), about(0.05), about(3)),) * 2
    frame = number_frame(rows + mode_rows(modes)).replace("\u00a0", " ", regex=True)
    assert list(frame.iloc[0])[:3] == ["ripple peak", "31.2 µm", "29.9 to 32.6 µm"]
    assert list(frame[""])[1:3] == ["envelope, mode 1", "frequency, mode 1"]
    assert list(frame["value"])[-2:] == ["0.0500", "3.00 mm"]
    assert all(frame["meaning"])


def test_known_settings_are_told_with_units_and_the_others_listed(settings: Settings) -> None:
    run = settings(bed_temp_c=60, extra={"belt_hz": 92})
    known = dict(known_settings(run))
    assert known["acceleration"] == "5000 mm/s²"
    assert known["bed temperature"] == "60 °C"
    assert known["belt_hz"] == "92"
    assert "nozzle temperature" in unknown_settings(run)
    assert "bed temperature" not in unknown_settings(run)


def test_messages_name_no_option_of_the_command_line(
    tmp_path_factory: pytest.TempPathFactory, settings: Settings
) -> None:
    """Every message that adding can end with, drawn from the package itself."""
    folder = tmp_path_factory.mktemp("store")
    run = settings()
    plans: dict[str, tuple[RunPlan, dict[str, Any]]] = {
        "no run named": (RunPlan(None, {}, {}), {}),
        "unknown run": (RunPlan(None, {"A-01": run}, {}), {"run": "A-07", "axis": "x"}),
        "label contradicts": (RunPlan(run, {}, {}), {"run": "B-01", "axis": "x"}),
        "other settings": (RunPlan(settings(accel_mm_s2=9000), {}, {}), {"salt": 1}),
        "other run": (RunPlan(settings("C-01"), {}, {}), {}),
        "missing": (RunPlan(None, {}, {"name": "D-01", "machine": "X", "accel_mm_s2": 1}), {}),
    }
    with RunStore.open(folder / "runs.db") as store:
        first = PhotoTask("a.jpg", photo_text(), RunPlan(run, {}, {}))
        assert [r.failure for r in add_photos(store, [first], measure=measure, workers=1)] == [None]
        messages = {}
        for what, (plan, says) in plans.items():
            task = PhotoTask("b.jpg", photo_text(**says), plan)
            (result,) = add_photos(store, [task], measure=measure, workers=1)
            assert result.failure is not None, what
            messages[what] = in_page_words(result.failure.message)
    with pytest.raises(ScoringError) as absent, RunStore.open(folder / "no.db", create=False):
        pass
    messages["no database"] = in_page_words(str(absent.value))
    for what, message in messages.items():
        assert "--" not in message, what
        assert "_mm_s" not in message, what
        assert "coupon" not in message, what
    assert "“The label is wrong" in messages["label contradicts"]
    assert "“Correct the stored run's settings" in messages["other settings"]
    assert "outer-wall speed: missing" in messages["missing"]


def test_other_messages_stay_as_they_are() -> None:
    said = str(SettingsError("The corner speed is -1 mm/s; it must be 0 or more."))
    assert in_page_words(said) == said


def test_advice_by_code_is_left_to_messages_where_one_code_has_opposite_remedies() -> None:
    """A lamp may be too high or too low, a photo burnt out or black."""
    assert not {"lamp-unsuitable", "photo-clipped"} & LAYING.keys()
