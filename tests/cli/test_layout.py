from scoring.cli.layout import format_table, with_unit


def test_numbers_stand_to_the_right_and_digits_are_kept() -> None:
    text = format_table(("run", "value"), [("a", "1.50"), ("bcd", "12.00"), ("e", None)])
    assert [line.split() for line in text.splitlines()[2:]] == [
        ["a", "1.50"],
        ["bcd", "12.00"],
        ["e"],
    ]
    assert len({len(line) for line in text.splitlines()[:4]}) == 1
    assert format_table(("run",), []).splitlines()[0] == "run"


def test_units_are_named() -> None:
    assert with_unit("ripple_peak_um") == "ripple_peak_um, µm"
    assert with_unit("gap_fraction") == "gap_fraction, %"
    assert with_unit("gap_count") == "gap_count"
    assert with_unit("score") == "score"
