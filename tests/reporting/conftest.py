"""A comparison to report on, and faces to show."""

import datetime
import io
from typing import Any

import numpy as np
import pytest
from PIL import Image

from scoring.comparing.compare import compare_sides
from scoring.comparing.comparison import Comparison
from scoring.comparing.limits import DEFAULT_LIMITS
from scoring.photo.srgb import srgb_code
from scoring.reporting.blocks import Document
from scoring.reporting.content import compose_report
from scoring.store.records import MeasurementRecord
from tests.comparing.conftest import make_photo

NOON = datetime.datetime(2026, 3, 20, 12, tzinfo=datetime.UTC)
PX_PER_MM = 10


def draw_face(*, contrast: float = 0.1, level: float = 0.3) -> bytes:
    """A rectified face's picture whose light is a wave of 3 mm along u, of this contrast."""
    u = np.arange(-2, 102 + 0.5 / PX_PER_MM, 1 / PX_PER_MM)
    wave = level * (1 + contrast * np.sin(2 * np.pi * u / 3))
    code = np.round(255 * srgb_code(np.tile(wave, (28 * PX_PER_MM + 1, 1)))).astype(np.uint8)
    file = io.BytesIO()
    Image.fromarray(code).convert("RGB").save(file, "JPEG", quality=95)
    return file.getvalue()


def photos(**after: Any) -> list[MeasurementRecord]:
    """Both faces of Alder, stock and with a brace, at five accelerations."""
    records = []
    for setup, ratio in (("stock", 1.0), ("brace", 0.4)):
        for number, accel in enumerate((1000, 2500, 5000, 10000, 20000)):
            name, more = (
                f"{setup.upper()}-{number}",
                {"setup": setup} | (after if ratio < 1 else {}),
            )
            peak = ratio * accel / 300 * (1 + 0.02 * number)
            records.append(make_photo(name, peak=peak, accel_mm_s2=accel, **more))
            records.append(make_photo(name, gaps=0.01, accel_mm_s2=accel, shot="2", **more))
    return records


def compared(**after: Any) -> Comparison:
    """Stock against brace; ``after`` are settings of the brace's side."""
    records = photos(**after)
    return compare_sides(records, factor="setup", before="stock", after=records[-1].settings.setup)


def composed(found: Comparison, **more: Any) -> Document:
    """The report on ``found``, of a fixed moment."""
    wanted: dict[str, Any] = {"limits": DEFAULT_LIMITS, "made_at": NOON} | more
    # Every photo has a face of its own, as its hash has it.
    return compose_report(
        found, lambda sha256: draw_face(contrast=0.05 + int(sha256[:4], 16) / 3e5), **wanted
    )


@pytest.fixture(scope="session")
def document() -> Document:
    """A whole report."""
    return composed(compared())
