from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest

from scoring.batch import Failure, PhotoResult, PhotoTask, count_cores, measure_all, measure_task
from scoring.errors import ScoringError, SettingsError
from scoring.metrics import FaceName
from scoring.motion import Motion
from scoring.runs.plan import Chosen, FixedMotion, LabelText, RunPlan
from scoring.runs.settings import RunSettings
from tests.stand_in_measure import measure, photo_text

FIXED = FixedMotion(Motion(150, 5000))


def task(name: str = "a.jpg", face: FaceName | None = None, **says: Any) -> PhotoTask:
    return PhotoTask(name, photo_text(**says), FIXED, face)


def peak(result: PhotoResult) -> float:
    assert result.measured is not None
    return result.measured.measurement.metrics["ripple_peak_um"].value


@pytest.mark.parametrize("workers", [1, 2])
def test_results_come_in_the_order_of_the_photos(workers: int) -> None:
    tasks = [task(f"{n}.jpg", peak_um=float(n)) for n in range(1, 12)]
    results = list(measure_all(tasks, measure=measure, workers=workers))
    assert [peak(r) for r in results] == list(range(1, 12))


@pytest.mark.parametrize("workers", [1, 2])
def test_one_bad_photo_does_not_stop_the_others(workers: int) -> None:
    tasks: list[PhotoTask | PhotoResult] = [
        task(fails="card"),
        task(),
        PhotoResult(None, None, Failure("ready", "known before")),
        PhotoTask("no.jpg", b"\xff\xd8", FIXED),
        task(fails="crash"),
    ]
    results = list(measure_all(tasks, measure=measure, workers=workers))
    assert [r.failure.code if r.failure else None for r in results] == [
        "card-not-found",
        None,
        "ready",
        "photo-unreadable",
        "internal-error",
    ]
    crash = results[-1].failure
    assert crash is not None
    assert "ZeroDivisionError" in crash.trace
    assert "please report" in crash.message


def test_a_killed_worker_is_told() -> None:
    tasks = [task(fails="kill"), task()]
    with pytest.raises(ScoringError, match="killed, most often for want of memory"):
        list(measure_all(tasks, measure=measure, workers=2))


def test_only_a_few_photos_are_held_ahead() -> None:
    taken = 0

    def endless() -> Iterator[PhotoTask]:
        nonlocal taken
        while True:
            taken += 1
            yield task()

    results = measure_all(endless(), measure=measure, workers=2)
    assert [peak(next(results)) for _ in range(3)] == [30.0] * 3
    results.close()  # type: ignore[attr-defined]
    assert taken <= 10


def test_nothing_gives_nothing() -> None:
    assert list(measure_all([], measure=measure)) == []
    assert count_cores() >= 1


def test_the_face_asked_for_is_passed_on() -> None:
    failure = measure_task(task(face=FaceName.FLOW), measure).failure
    assert failure is not None
    assert failure.code == "wrong-face"


@dataclass(frozen=True)
class ByLabel:
    """Knows the layer height only once the label is read."""

    def choose(self, label: LabelText | None) -> Chosen:
        if label is None:
            raise SettingsError("no label")
        return Chosen(Motion(150, 5000), 0.3, None)


@pytest.mark.parametrize("plan", [ByLabel(), FixedMotion(Motion(150, 5000), 0.3)])
def test_gaps_are_measured_with_the_run_s_layer_height(plan: Any) -> None:
    """The stand-in's gap fraction grows with the layer height: 0.02 at 0.2 mm, 0.03 at 0.3 mm."""
    photo = photo_text(run="A", face="flow", gaps=0.02)
    measured = measure_task(PhotoTask("a.jpg", photo, plan), measure).measured
    assert measured is not None
    assert measured.measurement.metrics["gap_fraction"].value == pytest.approx(0.03)


def test_the_label_s_run_gives_settings() -> None:
    known = RunSettings(
        name="A-01", machine="Alder", axis="x", outer_wall_speed_mm_s=120, accel_mm_s2=5000
    )
    plan = RunPlan(None, {"A-01": known}, {})
    result = measure_task(PhotoTask("a.jpg", photo_text(run="A-01", axis="x"), plan), measure)
    assert result.chosen is not None
    assert result.chosen.settings == known
    assert result.measured is not None
    assert result.measured.measurement.modes[0].frequency_hz.value == 40
    failure = measure_task(PhotoTask("a.jpg", photo_text(), plan), measure).failure
    assert failure is not None
    assert failure.code == "bad-settings"
