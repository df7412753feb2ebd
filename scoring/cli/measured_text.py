"""One photo's measurement as text."""

from scoring.batch import PhotoResult
from scoring.cli.error_words import told
from scoring.cli.layout import format_table
from scoring.estimate import Estimate
from scoring.flags import SENTENCES, Flag
from scoring.measurement import Measurement
from scoring.metric_words import format_shown, shown_unit
from scoring.metrics import FACE_WORDS, MODE_METRICS

HEAD = ("metric", "value", "95 % interval", "unit")


def describe(name: str, result: PhotoResult) -> str:
    """What was found on a photo, or why nothing was."""
    if result.measured is None:
        assert result.failure is not None
        return f"{name}: not measured ({result.failure.code})\n  {told(result.failure).message}"
    return describe_measurement(name, result.measured.measurement)


def describe_measurement(name: str, measurement: Measurement) -> str:
    """Face, label, registration, every metric and mode, and each flag's sentence."""
    label = f"label: run {measurement.run}, axis {measurement.axis}" if measurement.run else None
    placed = measurement.registration
    lines = [
        f"{name}: {FACE_WORDS[measurement.face]} face, {label or 'no label read'}",
        f"  placed by {placed.by} to {placed.residual_mm:.3f} mm, {1 / placed.mm_per_px:.1f} px/mm",
        _indented(format_table(HEAD, metric_rows(measurement))),
    ]
    lines += [f"  {line}" for line in flag_lines(measurement.flags)]
    return "\n".join(lines)


def metric_rows(measurement: Measurement) -> list[tuple[str, ...]]:
    """A row each for :data:`HEAD`: the metrics, then each mode's numbers."""
    rows = [_row(name, name, estimate) for name, estimate in measurement.metrics.items()]
    for number, mode in enumerate(measurement.modes, start=1):
        for metric in MODE_METRICS:
            shown = f"mode {number} {metric.name}"
            rows.append(_row(shown, metric.name, getattr(mode, metric.name)))
    return rows


def flag_lines(flags: tuple[Flag, ...]) -> list[str]:
    """Each flag's name and sentence."""
    return [f"{flag.value}: {SENTENCES[flag]}" for flag in flags]


def _row(shown: str, name: str, estimate: Estimate) -> tuple[str, ...]:
    return (shown, *format_shown(name, [estimate])[0], shown_unit(name))


def _indented(text: str) -> str:
    return "\n".join(f"  {line}" for line in text.splitlines())
