"""A store of a thousand invented runs, two photos each, for benchmarks of what reads it."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from scoring.estimate import Estimate
from scoring.geometry import GEOMETRY_REVISION
from scoring.measurement import Measurement, Mode, Registration, Trace
from scoring.metrics import METRICS, FaceName
from scoring.runs.settings import RunSettings
from scoring.store.run_store import MeasuredPhoto, RunStore

RUNS = 1000
POINTS = {FaceName.RINGDOWN: 318, FaceName.FLOW: 692}
"""As many as the measurement gives a trace (the demo's photos)."""
ACCELS_MM_S2 = (1000, 2500, 5000, 10000, 20000)
FILAMENTS = ("sand", "grey", "slate", "chalk")


def invent_runs(rng: np.random.Generator, runs: int = RUNS) -> Iterator[RunSettings]:
    """Runs of two machines with two setups, over accelerations, axes and filaments."""
    for number in range(runs):
        yield RunSettings.model_validate(
            {
                "name": f"N-{number:04}",
                "machine": ("Alder", "Birch")[number % 2],
                "setup": ("stock", "brace")[number // 2 % 2],
                "axis": "xy"[number // 4 % 2],
                "outer_wall_speed_mm_s": 150,
                "accel_mm_s2": ACCELS_MM_S2[number // 8 % 5],
                "filament": FILAMENTS[int(rng.integers(4))],
                "nozzle_temp_c": 205 + 5 * int(rng.integers(3)),
            }
        )


def invent_photo(settings: RunSettings, face: FaceName, rng: np.random.Generator) -> MeasuredPhoto:
    """Numbers of any size with intervals of a few percent, and a trace of the usual length."""

    def about(value: float) -> Estimate:
        half = value * rng.uniform(0.02, 0.1)
        return Estimate(value, value - half, value + half)

    size = settings.accel_mm_s2 / 5000 * rng.uniform(0.7, 1.4)
    scale = {"µm": 20.0, "mm": 5.0, "s": 0.05, "1": 0.01}
    trace = rng.normal(0, 10, POINTS[face])
    measurement = Measurement(
        photo=f"{settings.name}-{face}.jpg".lower(),
        face=face,
        run=settings.name,
        axis=settings.axis,
        registration=Registration(12, 0.006, 0.058),
        metrics={m.name: about(scale[m.unit] * size) for m in METRICS if m.face is face},
        modes=(Mode(about(20 * size), about(45), about(0.06), about(3.3)),)
        if face is FaceName.RINGDOWN
        else (),
        flags=(),
        trace=Trace("µm", *(tuple(trace.tolist()),) * 3),
        geometry_revision=GEOMETRY_REVISION,
    )
    content = measurement.photo.encode()
    return MeasuredPhoto(measurement.photo, content, measurement, content)


def fill_store(path: Path, rng: np.random.Generator, runs: int = RUNS) -> None:
    """Record so many runs in a new database at ``path``."""
    with RunStore.open(path) as store:
        for settings in invent_runs(rng, runs):
            for face in FaceName:
                store.record_photo(settings, invent_photo(settings, face, rng))
