"""No cell of a CSV is run by a spreadsheet."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.spreadsheet import FORMULA_STARTS, csv_text, defuse


@pytest.mark.parametrize(
    "text", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "  =1", "＝1"]
)
def test_formulas_are_defused(text: str) -> None:
    """The starts that OWASP's page on CSV injection names."""
    assert defuse(text) == f"'{text}"


@pytest.mark.parametrize("value", ["-5", "+1e3", "Alder", "a=b", "", None, -5, -0.25, True])
def test_all_else_stays(value: object) -> None:
    assert defuse(value) == value


@given(st.text(max_size=20))
def test_no_text_starts_a_formula(text: str) -> None:
    out = defuse(text)
    assert isinstance(out, str)
    assert out.endswith(text)
    if out.lstrip(" ").startswith(FORMULA_STARTS):
        float(out)


def test_csv_reads_back() -> None:
    text = csv_text(["a", "=b"], [{"a": 'x, "y"\nz', "=b": "=1"}, {"a": None}])
    assert list(csv.reader(io.StringIO(text))) == [
        ["a", "'=b"], ['x, "y"\nz', "'=1"], ["", ""],
    ]  # fmt: skip
