"""Which settings tell runs apart, and which are alike in all of them."""

from collections.abc import Sequence
from dataclasses import dataclass

from scoring.runs.settings import WORDS, RunSettings, format_setting


@dataclass(frozen=True)
class Variation:
    """Names of the settings that ``differ`` among runs, and of those known and ``alike``."""

    differ: tuple[str, ...]
    alike: tuple[str, ...]


def find_variation(runs: Sequence[RunSettings]) -> Variation:
    """Part the settings of ``runs`` in two, those that no run knows left out, notes and day too.

    The machine counts as differing whatever it is. Empty for no runs.
    """
    differ: list[str] = []
    alike: list[str] = []
    for name in WORDS:
        values = {format_setting(run, name) for run in runs}
        if name in {"notes", "printed_on"} or values <= {""}:
            continue
        (differ if len(values) > 1 or name == "machine" else alike).append(name)
    return Variation(tuple(differ), tuple(alike))
