import datetime
from typing import Any

from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.geometry import GEOMETRY_REVISION
from scoring.measurement import Measurement, Mode, Registration, Trace
from scoring.metrics import FaceName
from scoring.ranking.combine import combine
from scoring.ranking.run_numbers import numbers_by_run, same_modes
from scoring.runs.settings import RunSettings
from scoring.store.records import MeasurementRecord, PhotoRecord

NOW = datetime.datetime(2026, 3, 2, tzinfo=datetime.UTC)


def mode(envelope: float, frequency: float) -> Mode:
    def about(x: float) -> Estimate:
        return Estimate(x, 0.98 * x, 1.02 * x)

    return Mode(about(envelope), about(frequency), about(0.05), about(150 / frequency))


def record(name: str, face: FaceName = FaceName.RINGDOWN, **more: Any) -> MeasurementRecord:
    settings = RunSettings(
        name=name, machine="Alder", axis="x", outer_wall_speed_mm_s=150, accel_mm_s2=5000
    )
    fields: dict[str, Any] = {"metrics": {}, "modes": (), "flags": ()} | more
    return MeasurementRecord(
        PhotoRecord("0" * 64, "a.jpg", name, 5, NOW),
        settings,
        Measurement(
            photo="a.jpg",
            face=face,
            run=None,
            axis=None,
            registration=Registration(12, 0.02, 0.03),
            trace=Trace("µm", (), (), ()),
            **{"geometry_revision": GEOMETRY_REVISION} | fields,
        ),
        settings.motion,
        None,
        NOW,
    )


def test_photos_of_a_run_are_combined_metric_by_metric() -> None:
    one, two = Estimate(30, 28, 32), Estimate(34, 32, 36)
    gaps = Estimate(0.01, 0, 0.02)
    (run,) = numbers_by_run(
        [
            record("A", metrics={"ripple_peak_um": one}, flags=(Flag.GLOSSY,)),
            record("A", FaceName.FLOW, metrics={"gap_fraction": gaps}),
            record("A", metrics={"ripple_peak_um": two}, flags=(Flag.SOFT_FOCUS, Flag.GLOSSY)),
        ]
    )
    assert run.metrics == {"ripple_peak_um": combine([one, two]), "gap_fraction": gaps}
    assert run.photos == 3
    assert run.faces == (FaceName.RINGDOWN, FaceName.FLOW)
    assert run.flags == (Flag.SOFT_FOCUS, Flag.GLOSSY)
    assert not run.stale


def test_runs_come_in_order_of_name_and_know_stale_numbers() -> None:
    runs = numbers_by_run([record("B"), record("A", geometry_revision="old")])
    assert [(r.settings.name, r.stale) for r in runs] == [("A", True), ("B", False)]


def test_the_strongest_mode_is_followed_from_photo_to_photo() -> None:
    first = [mode(30, 50), mode(10, 90)]
    second = [mode(12, 91), mode(11.9, 51)]
    assert same_modes([first, second, [], [mode(5, 90)]]) == (first[0], second[1])
    assert same_modes([[], []]) == ()
    (run,) = numbers_by_run([record("A", modes=tuple(first)), record("A", modes=tuple(second))])
    assert 50 < run.metrics["frequency_hz"].value < 51
    assert {"envelope_um", "damping_ratio", "wavelength_mm"} < set(run.metrics)
