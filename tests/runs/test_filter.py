import pytest

from scoring.errors import SettingsError
from scoring.runs.filter import RunFilter
from scoring.runs.settings import RunSettings

RUNS = [
    RunSettings(name=n, machine=m, setup=s, axis=a, outer_wall_speed_mm_s=100, accel_mm_s2=1000)
    for n, m, s, a in (("1", "Alder", "stock", "x"), ("2", "Alder", "brace", "y"))
] + [
    RunSettings(
        name="3",
        machine="Birch",
        axis="y",
        outer_wall_speed_mm_s=100,
        accel_mm_s2=1000,
        filament="PLA grey",
    )
]


@pytest.mark.parametrize(
    ("wanted", "names"),
    [
        (RunFilter(), "123"),
        (RunFilter(machine="alder"), "12"),
        (RunFilter(machine="Alder", axis="y"), "2"),
        (RunFilter(setup="stock"), "13"),
        (RunFilter(filament="pla GREY"), "3"),
    ],
)
def test_passes_what_has_every_wanted_value(wanted: RunFilter, names: str) -> None:
    assert "".join(r.name for r in RUNS if wanted.passes(r)) == names


def test_a_value_that_no_run_has_is_told_with_the_nearest() -> None:
    with pytest.raises(SettingsError, match=r"there is Alder, Birch. Did you mean Alder"):
        RunFilter(machine="Aldr").check_known(RUNS)
    with pytest.raises(SettingsError, match="there is none"):
        RunFilter(filament="PLA").check_known(RUNS[:2])
    RunFilter(machine="BIRCH", axis="y").check_known(RUNS)


def test_values_that_no_run_has_together_are_told() -> None:
    with pytest.raises(SettingsError, match="No run has machine 'Birch' and axis 'x' together"):
        RunFilter(machine="Birch", axis="x").check_known(RUNS)
    RunFilter(machine="Birch").check_known(RUNS)
    RunFilter().check_known(())
