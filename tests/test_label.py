import re
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.errors import SettingsError
from scoring.label import Label, label_text, parse_label, require_run_name
from scoring.metrics import FaceName

RUNS = st.from_regex(re.compile(r"[A-Z0-9-]{1,32}"), fullmatch=True)


def test_the_text_as_the_card_says_it() -> None:
    assert label_text("B7-012", "x", "ringdown") == "coupon:B7-012:x:ringdown"


@given(RUNS, st.sampled_from("xy"), st.sampled_from(list(FaceName)))
def test_parsing_undoes_writing(run: str, axis: str, face: FaceName) -> None:
    assert parse_label(label_text(run, axis, face.value)) == Label(run, axis, face)


@pytest.mark.parametrize("run", ["", "b7", "B7 012", "B7:012", "A" * 33, "B7\n", "É1"])
def test_bad_runs(run: str) -> None:
    with pytest.raises(SettingsError, match="1 to 32 characters"):
        label_text(run, "x", "flow")


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("b7-012", "B7-012"), ("Brace test, 2", "BRACE-TEST-2"), ("Förde_3", "FORDE-3"),
        ("вяз", "B7-012"), ("a" * 31 + " b", "A" * 31),
    ],
)  # fmt: skip
def test_a_name_that_no_label_carries_is_told_with_one_that_it_does(name: str, near: str) -> None:
    with pytest.raises(SettingsError, match=f"{re.escape(repr(name))}.* for example {near}\\."):
        require_run_name(name)


@given(st.text(max_size=60))
def test_the_name_offered_is_one_that_is_taken(name: str) -> None:
    try:
        require_run_name(name)
    except SettingsError as error:
        require_run_name(str(error).rpartition(" ")[2].removesuffix("."))


@pytest.mark.parametrize("axis", ["", "X", "z", "xy"])
def test_bad_axes(axis: str) -> None:
    with pytest.raises(SettingsError, match="x or y"):
        label_text("B7", axis, "flow")


@pytest.mark.parametrize("face", ["", "Flow", "top"])
def test_bad_faces(face: str) -> None:
    with pytest.raises(SettingsError, match="ringdown or flow"):
        label_text("B7", "x", face)


@given(st.text(max_size=60))
def test_other_texts_are_refused(text: str) -> None:
    with suppress(SettingsError):
        label = parse_label(text)
        assert text == label_text(label.run, label.axis, label.face.value)


@pytest.mark.parametrize("text", ["coupon:B7:x", "coupon:B7:x:flow:", "Coupon:B7:x:flow", "B7"])
def test_almost_labels(text: str) -> None:
    with pytest.raises(SettingsError, match="coupon:RUN:AXIS:FACE"):
        parse_label(text)
