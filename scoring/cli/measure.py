"""``coupon measure``: measure photos without keeping them."""

import itertools
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scoring.cli.error_words import told
from scoring.cli.options import READ_FILE, face_option, jobs_option, json_option, motion_options

if TYPE_CHECKING:
    from scoring.batch import MeasureFunction, PhotoResult, PhotoTask
    from scoring.runs.plan import WrittenMotion


@click.command(short_help="Measure photos and print the numbers.")
@click.argument("items", metavar="[PHOTO]...", nargs=-1, type=READ_FILE)
@click.option(
    "--pair",
    "in_pairs",
    is_flag=True,
    help="Measure PHOTOs two by two, each two as one: the same coupon's ring-down face, lamp left "
    "and lamp right. Stains drop out. Pairs are measured one after another, whatever --jobs says.",
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
    in_pairs: bool,
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
      coupon measure left.jpg right.jpg --pair --speed 150 --accel 5000
    """
    from scoring.batch import measure_all  # noqa: PLC0415
    from scoring.cli.measured_text import describe  # noqa: PLC0415
    from scoring.cli.photo_tasks import measure_function, photo_name  # noqa: PLC0415
    from scoring.cli.progress import watched  # noqa: PLC0415

    if not items:
        raise click.UsageError("Missing argument 'PHOTO...': give one photo or more.")
    pairs = _pairs(items, face) if in_pairs else []
    tasks = [] if in_pairs else _tasks(items, motion, face)
    if not tasks and not pairs:
        raise click.UsageError("No photo to measure: the settings file lists none.")
    tasks = [replace(t, picture=crop is not None) for t in tasks]
    names: list[tuple[str, str | None]] = [(photo_name(a), photo_name(b)) for a, b in pairs]
    names += [(task.name, None) for task in tasks]
    results = itertools.chain(
        (_measure_pair(pair, motion, picture=crop is not None) for pair in pairs),
        measure_all(tasks, measure=measure_function(replacement), workers=jobs),
    )
    shown = watched(results, total=len(names), label="Measuring", shown=not as_json)
    failed = 0
    said: list[str] = []
    cropped: set[str] = set()
    for (name, second), result in zip(names, shown, strict=True):
        failed += result.failure is not None
        if crop is not None and result.measured is not None:
            _write_face(crop, name, result, cropped)
        if as_json:
            click.echo(_as_json(name, second, result))
        else:
            said.append(describe(f"{name} and {second}" if second else name, result))
    if said:
        click.echo("\n\n".join(said))
    if failed:
        if not as_json:
            what = "pairs" if in_pairs else "photos"
            click.echo(f"{failed} of {len(names)} {what} could not be measured.", err=True)
        raise SystemExit(1)


def _pairs(items: tuple[Path, ...], face: str | None) -> list[tuple[Path, Path]]:
    from scoring.runs.settings_file import SETTINGS_SUFFIXES  # noqa: PLC0415

    if face == "flow":
        raise click.UsageError("A pair shows the ring-down face; --face flow contradicts --pair.")
    for item in items:
        if item.suffix.lower() in SETTINGS_SUFFIXES:
            raise click.UsageError(
                f"{item} is a settings file; --pair takes photos, with --speed and --accel."
            )
    if len(items) % 2:
        raise click.UsageError(
            f"--pair takes photos two by two, lamp left and lamp right; {len(items)} were given. "
            "Measure single photos without it."
        )
    return list(zip(items[::2], items[1::2], strict=True))


def _tasks(
    items: tuple[Path, ...], motion: dict[str, str | None], face: str | None
) -> "list[PhotoTask]":
    from scoring.batch import PhotoTask  # noqa: PLC0415
    from scoring.cli.photo_tasks import photo_name, read_items, tasks_for  # noqa: PLC0415
    from scoring.metrics import FaceName  # noqa: PLC0415
    from scoring.runs.plan import given_settings  # noqa: PLC0415

    found = read_items(items)
    if found.runs:
        given = given_settings(motion)
        return tasks_for(found, given, stored={}, face=face, ignore_label=False)
    plan = _motion_plan(motion)
    wanted = FaceName(face) if face else None
    return [PhotoTask(photo_name(p), p, plan, wanted) for p in found.photos]


def _motion_plan(motion: dict[str, str | None]) -> "WrittenMotion":
    from scoring.runs.plan import WrittenMotion, given_settings  # noqa: PLC0415

    for option in ("speed", "accel"):
        if motion["outer_wall_speed_mm_s" if option == "speed" else "accel_mm_s2"] is None:
            raise click.UsageError(
                f"Missing option '--{option}': ripple and recovery depend on how the nozzle moved. "
                f"Give the outer wall's own, or a settings file that lists the photos."
            )
    return WrittenMotion(given_settings(motion))


def _measure_pair(
    pair: tuple[Path, Path], motion: dict[str, str | None], *, picture: bool
) -> "PhotoResult":
    """Measure a pair; whatever goes wrong with it becomes its failure."""
    from scoring.batch import Failure, PhotoResult  # noqa: PLC0415
    from scoring.cli.photo_tasks import photo_name  # noqa: PLC0415
    from scoring.measure_pair import measure_pair  # noqa: PLC0415

    plan = _motion_plan(motion)
    names = (photo_name(pair[0]), photo_name(pair[1]))
    try:
        found = measure_pair(
            pair, names=names, motion=lambda label: plan.choose(label).motion, picture=picture
        )
    except Exception as error:  # one bad pair must not stop the others
        return PhotoResult(None, None, Failure.of(error))
    return PhotoResult(found, None, None)


def _as_json(name: str, second: str | None, result: "PhotoResult") -> str:
    import json  # noqa: PLC0415

    if result.measured is not None:
        return json.dumps(result.measured.measurement.to_json(), ensure_ascii=False)
    assert result.failure is not None
    pair = {} if second is None else {"pair": second}
    return json.dumps(
        {"photo": name, **pair, "error": told(result.failure).to_json()}, ensure_ascii=False
    )


def _write_face(folder: Path, name: str, result: "PhotoResult", taken: set[str]) -> None:
    """Write the face under the photo's own name; photos of one name get a number."""
    assert result.measured is not None
    folder.mkdir(parents=True, exist_ok=True)
    stem, number = Path(name).stem, 1
    while (chosen := stem if number == 1 else f"{stem}-{number}") in taken:
        number += 1
    taken.add(chosen)
    (folder / f"{chosen}.jpg").write_bytes(result.measured.face_jpeg)
