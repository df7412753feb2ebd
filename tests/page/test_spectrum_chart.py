import altair as alt

from scoring.motion import Motion
from scoring.page.spectrum_chart import draw_spectrum, highest_hz
from tests.page.conftest import Photo


def test_it_is_valid_vega_lite_with_units_and_the_mode_in_hertz(photo: Photo) -> None:
    measurement = photo().measurement
    spec = draw_spectrum(measurement, Motion(150, 5000))
    alt.LayerChart.from_dict(spec)
    (mode,) = spec["layer"][0]["data"]["values"]
    assert (mode["hertz"], mode["words"]) == (47.2, "mode 1: 47.20 Hz")
    assert mode["low"] < 47.2 < mode["high"]
    line = spec["layer"][2]
    assert line["encoding"]["x"]["title"] == "frequency, Hz"
    assert line["encoding"]["y"]["title"].endswith("µm/Hz")
    assert {row["line"] for row in line["data"]["values"]} == {"measured", "fitted ring-down"}


def test_the_curves_leave_room_above_them_for_the_modes_labels(photo: Photo) -> None:
    spec = draw_spectrum(photo().measurement, Motion(150, 5000))
    curves, labels = spec["layer"][2], spec["layer"][3]
    highest = max(row["density"] for row in curves["data"]["values"])
    top_px = spec["height"] * (1 - highest / curves["encoding"]["y"]["scale"]["domainMax"])
    assert top_px > 14 * len(labels["data"]["values"])


def test_a_spectrum_of_zeros_is_drawn(photo: Photo) -> None:
    measurement = photo(value=0.0).measurement
    alt.LayerChart.from_dict(draw_spectrum(measurement, Motion(150, 5000)))


def test_the_axis_reaches_beyond_the_highest_mode(photo: Photo) -> None:
    assert highest_hz(photo().measurement) == 120.0
