"""``coupon measure``: measure photos without keeping them."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scoring.cli.options import face_option, jobs_option, json_option, motion_options

if TYPE_CHECKING:
    from scoring.batch import MeasureFunction, PhotoResult, PhotoTask


@click.command(short_help="Measure photos and print the numbers.")
@click.argument(
    "items", metavar="PHOTO...", nargs=-1, required=True, type=click.Path(path_type=Path)
)
@motion_options
@face_option
@json_option
@click.option(
    "--crop",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Write each photo's rectified face, its zones drawn, into this folder.",
)
@jobs_option
@click.pass_obj
def measure(
    replacement: "MeasureFunction | None",
    /,
    *,
    items: tuple[Path, ...],
    face: str | None,
    as_json: bool,
    crop: Path | None,
    jobs: int | None,
    **motion: Any,
) -> None:
    """Measure PHOTOs and print their numbers, each with its 95 % interval.

    Speed and acceleration are those of the outer wall; units may be written (9000 mm/min, 5 m/s^2).
    Instead of options, a settings file (.toml or .csv) that lists the photos may be given. Nothing
    is stored; see coupon add. The status is 1 if a photo could not be measured.

    \b
    Example:
      coupon measure photo.jpg --speed 150 --accel 5000
      coupon measure *.jpg --speed 150 --accel 5000 --corner-speed 5 --json > numbers.jsonl
      coupon measure photo.jpg --speed 150 --accel 5000 --crop faces
      coupon measure runs.toml --json
    """
    from scoring.batch import measure_all  # noqa: PLC0415
    from scoring.cli.measured_text import describe  # noqa: PLC0415
    from scoring.cli.photo_tasks import measure_function  # noqa: PLC0415
    from scoring.cli.progress import watched  # noqa: PLC0415

    tasks = _tasks(items, motion, face)
    if not tasks:
        raise click.UsageError("No photo to measure: the settings file lists none.")
    results = measure_all(tasks, measure=measure_function(replacement), workers=jobs)
    shown = watched(results, total=len(tasks), label="Measuring", shown=not as_json)
    failed = 0
    said: list[str] = []
    cropped: set[str] = set()
    for task, result in zip(tasks, shown, strict=True):
        failed += result.failure is not None
        if crop is not None and result.measured is not None:
            _write_face(crop, task.name, result, cropped)
        if as_json:
            click.echo(_as_json(task.name, result))
        else:
            said.append(describe(task.name, result))
    if said:
        click.echo("\n\n".join(said))
    if failed:
        if not as_json:
            click.echo(f"{failed} of {len(tasks)} photos could not be measured.", err=True)
        raise SystemExit(1)


def _tasks(
    items: tuple[Path, ...], motion: dict[str, str | None], face: str | None
) -> "list[PhotoTask]":
    from scoring.batch import PhotoTask  # noqa: PLC0415
    from scoring.cli.photo_tasks import read_items, tasks_for  # noqa: PLC0415
    from scoring.metrics import FaceName  # noqa: PLC0415
    from scoring.runs.plan import WrittenMotion, given_settings  # noqa: PLC0415

    found = read_items(items)
    given = given_settings(motion)
    if found.runs:
        return tasks_for(found, given, known={}, face=face, ignore_label=False)
    for option in ("speed", "accel"):
        if motion["outer_wall_speed_mm_s" if option == "speed" else "accel_mm_s2"] is None:
            raise click.UsageError(
                f"Missing option '--{option}': ripple and recovery depend on how the nozzle moved. "
                f"Give the outer wall's own, or a settings file that lists the photos."
            )
    wanted = FaceName(face) if face else None
    return [PhotoTask(str(p), p, WrittenMotion(given), wanted) for p in found.photos]


def _as_json(name: str, result: "PhotoResult") -> str:
    import json  # noqa: PLC0415

    if result.measured is not None:
        return json.dumps(result.measured.measurement.to_json(), ensure_ascii=False)
    assert result.failure is not None
    error = {"code": result.failure.code, "message": result.failure.message}
    return json.dumps({"photo": name, "error": error}, ensure_ascii=False)


def _write_face(folder: Path, name: str, result: "PhotoResult", taken: set[str]) -> None:
    """Write the face under the photo's own name; photos of one name get a number."""
    assert result.measured is not None
    folder.mkdir(parents=True, exist_ok=True)
    stem, number = Path(name).stem, 1
    while (chosen := stem if number == 1 else f"{stem}-{number}") in taken:
        number += 1
    taken.add(chosen)
    (folder / f"{chosen}.jpg").write_bytes(result.measured.face_jpeg)
