"""What the page's fields become."""

import math
from typing import Any

import pytest

from scoring.errors import SettingsError
from scoring.metrics import FaceName
from scoring.page.ranking_choice import filter_values, rankable_on
from scoring.page.score_weights import edited_table
from scoring.page.settings_form import GROUPS, check_written, read_further
from scoring.ranking.rank import check_rankable
from scoring.ranking.score import read_score_table
from scoring.runs.settings import SETTING_NAMES
from tests.page.conftest import Settings


@pytest.mark.parametrize("face", [None, *FaceName])
def test_only_what_a_face_can_be_ranked_by_is_offered(face: FaceName | None) -> None:
    offered = rankable_on(face)
    for name in offered:
        check_rankable(name, face)
    assert "score" in offered
    assert ("gap_fraction" in offered) == (face is not FaceName.RINGDOWN)


def test_each_value_is_offered_once_whatever_its_case(settings: Settings) -> None:
    runs = [settings(filament=f) for f in ("sand", "Sand", "PLA grey", None)]
    assert [v.lower() for v in filter_values(runs, "filament")] == ["pla grey", "sand"]


def test_the_form_has_a_field_for_every_setting() -> None:
    fields = {name for names in GROUPS.values() for name in names}
    assert fields | {"notes", "extra"} == set(SETTING_NAMES)


def test_empty_fields_are_left_out() -> None:
    written = {"name": "", "machine": "Birch", "axis": "as the label says", "printed_on": None}
    assert check_written({**written, "extra": {}}) == {"machine": "Birch"}


def test_every_number_that_cannot_be_is_told_at_once() -> None:
    wrong = {"outer_wall_speed_mm_s": "-150", "accel_mm_s2": "5 furlongs", "nozzle_mm": "0.4"}
    with pytest.raises(SettingsError) as told:
        check_written(wrong)
    assert "Outer-wall speed: '-150' is not a possible" in str(told.value)
    assert "Acceleration: 'furlongs'" in str(told.value)
    assert "Nozzle" not in str(told.value)


def test_further_values_are_read_line_by_line() -> None:
    assert read_further("belt_hz = 92\n\n spool = new one ") == {"belt_hz": 92, "spool": "new one"}
    with pytest.raises(SettingsError, match="'belt 92' is not of the form"):
        read_further("belt 92")


def _rows(**changed: Any) -> list[dict[str, float]]:
    terms = read_score_table().terms
    rows = [{"weight": t.weight, "reference": t.reference} for t in terms]
    rows[0] |= changed
    return rows


def test_weights_as_they_come_give_the_table_back() -> None:
    table = read_score_table()
    assert edited_table(table, _rows()) == table


def test_changed_weights_change_the_table() -> None:
    table = read_score_table()
    assert edited_table(table, _rows(weight=3.0, reference=20.0)).terms[0].weight == 3.0
    assert len(edited_table(table, _rows(weight=0.0)).terms) == len(table.terms) - 1


@pytest.mark.parametrize("changed", [{"weight": -1.0}, {"reference": 0.0}, {"weight": math.nan}])
def test_weights_that_make_no_score_are_refused(changed: dict[str, float]) -> None:
    with pytest.raises(SettingsError, match="weight must be 0 or more"):
        edited_table(read_score_table(), _rows(**changed))


def test_a_score_needs_some_weight() -> None:
    rows = [{"weight": 0.0, "reference": 1.0} for _ in read_score_table().terms]
    with pytest.raises(SettingsError, match="No metric has a weight"):
        edited_table(read_score_table(), rows)
