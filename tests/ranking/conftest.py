from collections.abc import Callable
from typing import Any

import pytest

from scoring.estimate import Estimate
from scoring.metrics import FaceName
from scoring.ranking.run_numbers import RunNumbers
from scoring.runs.settings import RunSettings


@pytest.fixture
def run() -> Callable[..., RunNumbers]:
    """A run with the given metrics: a number gets an interval of a tenth either way."""

    def make(name: str, settings: dict[str, Any] | None = None, **metrics: Any) -> RunNumbers:
        least: dict[str, Any] = {
            "machine": "Alder",
            "axis": "x",
            "outer_wall_speed_mm_s": 150,
            "accel_mm_s2": 5000,
        }
        estimates = {
            k: v if isinstance(v, Estimate) else Estimate(v, 0.9 * v, 1.1 * v)
            for k, v in metrics.items()
        }
        flow = {"gap_fraction", "recovery_mm"} & set(metrics)
        faces = (FaceName.RINGDOWN, FaceName.FLOW) if flow else (FaceName.RINGDOWN,)
        chosen = RunSettings.model_validate(least | {"name": name} | (settings or {}))
        return RunNumbers(chosen, faces, 1, estimates, (), False)

    return make
