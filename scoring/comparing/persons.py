"""Who took which photo: a study of persons (or phones) over the same prints."""

import csv
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import numpy as np

from scoring.comparing.comparison import Scale
from scoring.comparing.crossed import CrossedStudy, study_crossed
from scoring.comparing.repeatability import photo_value
from scoring.comparing.samples import Array, on_scale, scale_of
from scoring.errors import SettingsError
from scoring.metric_words import KNOWN, known_metrics
from scoring.metrics import FACE_WORDS
from scoring.store.records import MeasurementRecord


def read_persons(path: Path) -> dict[str, str]:
    """Who took each photo, by the photo's name or hash, from a CSV with columns photo and person.

    Raises :class:`SettingsError` naming file and line for what is not that.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file)
            lines = [(reader.line_num, line) for line in reader]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise SettingsError(f"{path}: cannot be read as CSV: {error}.") from error
    found: dict[str, str] = {}
    for number, line in lines:
        photo, person = ((line.get(name) or "").strip() for name in ("photo", "person"))
        if not photo or not person:
            raise SettingsError(f"{path}, line {number}: needs a photo and a person.")
        if found.setdefault(photo, person) != person:
            raise SettingsError(f"{path}, line {number}: {photo} is given to two persons.")
    if not found:
        raise SettingsError(f"{path}: holds no photo; its columns must be photo and person.")
    return found


def study_persons(
    records: Iterable[MeasurementRecord], persons: Mapping[str, str], metrics: Sequence[str]
) -> dict[str, CrossedStudy]:
    """The crossed study of each metric over the photos that ``persons`` names.

    Raises :class:`SettingsError` for an unknown metric, a photo that is not stored, and unless each
    person photographed each print equally often, twice at least, with the metric found each time.
    """
    metrics = known_metrics(metrics)
    records = tuple(records)
    there = {key for r in records for key in (r.photo.name, r.photo.sha256)}
    missing = sorted(set(persons) - there)
    if missing:
        raise SettingsError(f"Not among the stored photos: {', '.join(missing[:5])}.")
    return {metric: study_crossed(_table(records, persons, metric)) for metric in metrics}


def _table(records: Sequence[MeasurementRecord], persons: Mapping[str, str], metric: str) -> Array:
    """The metric's numbers on its scale, (prints, persons, repeats)."""
    scale = scale_of(metric)
    cells: dict[tuple[str, str], list[float]] = {}
    for record in records:
        person = persons.get(record.photo.sha256) or persons.get(record.photo.name)
        if person is None or record.measurement.face is not KNOWN[metric].face:
            continue
        value = photo_value(record.measurement, metric)
        if value is None or (scale is Scale.RATIO and value.value <= 0):
            raise SettingsError(f"{record.photo.name}: {metric} was not found in it.")
        cells.setdefault((record.settings.name, person), []).append(on_scale(value, scale)[0])
    if not cells:
        face = FACE_WORDS[KNOWN[metric].face]
        raise SettingsError(f"{metric}: none of the photos listed shows the {face} face.")
    prints, who = (sorted({key[place] for key in cells}) for place in (0, 1))
    counts = {len(cells.get((one, person), [])) for one in prints for person in who}
    if len(counts) != 1:
        told = [
            f"{person} of {one}: {len(cells.get((one, person), []))}"
            for one in prints
            for person in who
        ]
        raise SettingsError(
            f"Each person must photograph each print equally often; photos are {'; '.join(told)}."
        )
    return np.array([[cells[one, person] for person in who] for one in prints]).reshape(
        len(prints), len(who), -1
    )
