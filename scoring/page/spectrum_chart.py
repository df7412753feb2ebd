"""The spectrum of a ring-down in hertz with the fitted modes, as a Vega-Lite specification."""

from typing import Any

import numpy as np

from scoring.estimate_words import format_estimate
from scoring.measurement import Measurement
from scoring.motion import Motion
from scoring.page.chart_frame import FRAME
from scoring.page.trace_layers import FITTED_COLOUR, FITTED_PX, MEASURED_COLOUR, MEASURED_PX
from scoring.ripple.spectrum import amplitude_spectrum

HEIGHT_PX = 240
LEAST_HZ, MODES_SHARE = 120.0, 1.6
"""The axis reaches so far, or to so many times the highest mode's frequency."""
MOST_POINTS = 400
LABEL_PX = 14
"""A mode's label is so high; all stand in a strip of their own above the curves."""
MODE_COLOUR = "#009E73"


def highest_hz(measurement: Measurement) -> float:
    """How far the frequency axis reaches."""
    modes = [mode.frequency_hz.value for mode in measurement.modes]
    return max([LEAST_HZ, *(MODES_SHARE * hertz for hertz in modes)])


def draw_spectrum(measurement: Measurement, motion: Motion) -> dict[str, Any]:
    """Measured and fitted spectrum, and each mode's frequency with its interval as a band.

    ``measurement`` must be one of a ring-down face, ``motion`` the one it was measured with.
    """
    trace = measurement.trace
    most_hz = highest_hz(measurement)
    rows = []
    highest = 0.0
    for words, heights in (("measured", trace.measured), ("fitted ring-down", trace.fitted)):
        spectrum = amplitude_spectrum(
            np.array(trace.u_mm), np.array(heights), motion, highest_hz=most_hz
        )
        highest = float(spectrum.density_um_s.max(initial=highest))
        step = max(1, spectrum.frequency_hz.size // MOST_POINTS)
        rows += [
            {"line": words, "hertz": round(float(hertz), 3), "density": round(float(density), 5)}
            for hertz, density in zip(
                spectrum.frequency_hz[::step], spectrum.density_um_s[::step], strict=True
            )
        ]
    modes = []
    for number, mode in enumerate(measurement.modes, start=1):
        value, interval = format_estimate(mode.frequency_hz)
        modes.append(
            {
                "hertz": mode.frequency_hz.value,
                "low": mode.frequency_hz.low,
                "high": mode.frequency_hz.high,
                "words": f"mode {number}: {value} Hz",
                "told": f"{value} Hz ({interval})",
                "damping": " (".join(format_estimate(mode.damping_ratio)) + ")",
                "envelope": f"{format_estimate(mode.envelope_um)[0]} µm",
                "place": number,
            }
        )
    plot_px = HEIGHT_PX - LABEL_PX * (len(modes) + 1)
    # A spectrum of nothing but zeros has no greatest height to make room above.
    most = highest * HEIGHT_PX / plot_px or 1.0
    x = {
        "type": "quantitative",
        "title": "frequency, Hz",
        "scale": {"domain": [0, most_hz], "nice": False},
    }
    lines = ["measured", "fitted ring-down"]

    def by_line(marks: list[Any]) -> dict[str, Any]:
        return {
            "field": "line",
            "type": "nominal",
            "title": None,
            "scale": {"domain": lines, "range": marks},
            "legend": {"orient": "bottom", "symbolType": "stroke"},
        }

    told = [
        {"field": "words", "type": "nominal", "title": "mode"},
        {"field": "told", "type": "nominal", "title": "frequency"},
        {"field": "damping", "type": "nominal", "title": "damping ratio"},
        {"field": "envelope", "type": "nominal", "title": "envelope at u = 4 mm"},
    ]
    return {
        **FRAME,
        "height": HEIGHT_PX,
        "layer": [
            {
                "data": {"values": modes},
                "mark": {"type": "rect", "color": MODE_COLOUR, "opacity": 0.35},
                "encoding": {"x": {"field": "low", **x}, "x2": {"field": "high"}, "tooltip": told},
            },
            {
                "data": {"values": modes},
                "mark": {"type": "rule", "color": MODE_COLOUR, "strokeDash": [4, 3]},
                "encoding": {"x": {"field": "hertz", **x}, "tooltip": told},
            },
            {
                "data": {"values": rows},
                "mark": {"type": "line"},
                "encoding": {
                    "x": {"field": "hertz", **x},
                    "y": {
                        "field": "density",
                        "type": "quantitative",
                        "title": "amplitude per hertz, µm/Hz",
                        "axis": {"tickCount": 4},
                        "scale": {"domainMax": most},
                    },
                    "color": by_line([MEASURED_COLOUR, FITTED_COLOUR]),
                    "strokeWidth": {**by_line([MEASURED_PX, FITTED_PX]), "legend": None},
                },
            },
            {
                "data": {"values": modes},
                "mark": {"type": "text", "align": "left", "dx": 8, "fontSize": 12},
                "encoding": {
                    "x": {"field": "hertz", **x},
                    "y": {"value": {"expr": f"{LABEL_PX} * datum.place"}},
                    "text": {"field": "words", "type": "nominal"},
                    "color": {"value": MODE_COLOUR},
                },
            },
        ],
    }
