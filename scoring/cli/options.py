"""Options that several commands share."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from scoring.errors import SettingsError

Command = TypeVar("Command", bound=Callable[..., Any])

DATABASE_HELP = (
    "The run store: an SQLite file or any database URL. Default: the environment's COUPON_DB, else "
    "coupon.db here."
)

READ_FILE = click.Path(path_type=Path, readable=False)
"""A file to read, checked only by who reads it: one that cannot be stops no other."""


def _stack(*options: Callable[[Command], Command]) -> Callable[[Command], Command]:
    def decorate(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


def database_option(command: Command) -> Command:
    """``--db``."""
    return click.option("--db", "database", metavar="FILE|URL", help=DATABASE_HELP)(command)


def out_option(
    default: str | None,
    words: str = "Where to write it.",
    *more: str,
    suffixes: tuple[str, ...] = (),
) -> Callable[[Command], Command]:
    """``-o`` and ``--out``, the file to write; ``more`` are further names of the option.

    A name whose suffix is none of ``suffixes``, where they are given, is refused.
    """

    def check(_: click.Context, __: click.Parameter, out: Path | None) -> Path | None:
        if out is not None and suffixes and out.suffix.lower() not in suffixes:
            raise SettingsError(
                f"{out}: what is written is no {out.suffix or 'such'} file; name one that ends in "
                f"{' or '.join(filter(None, suffixes))}."
            )
        return out

    def decorate(command: Command) -> Command:
        return click.option(
            "-o",
            "--out",
            *more,
            "out",
            type=click.Path(path_type=Path, dir_okay=False),
            default=default and Path(default),
            show_default=True,
            callback=check,
            help=words,
        )(command)

    return decorate


AS_JSON = "scoring.as_json"
"""Where the context keeps whether ``--json`` was given, for whoever tells an error."""


def json_option(command: Command) -> Command:
    """``--json``."""

    def keep(context: click.Context, _: click.Parameter, given: bool) -> bool:
        context.meta[AS_JSON] = given
        return given

    return click.option(
        "--json",
        "as_json",
        is_flag=True,
        callback=keep,
        help="Print one JSON object a line, for programs.",
    )(command)


def csv_option(command: Command) -> Command:
    """``--csv``, alone for the terminal or with a file."""
    return click.option(
        "--csv",
        "csv_file",
        is_flag=False,
        flag_value="-",
        metavar="[FILE]",
        help="Write the numbers as CSV to FILE; without FILE, print them.",
    )(command)


def side_options(command: Command) -> Command:
    """``--factor``, ``--before`` and ``--after``: what is compared."""
    return _stack(
        click.option(
            "--factor",
            default="setup",
            show_default=True,
            metavar="SETTING",
            help="The setting that differs: setup, machine, extruder_ratio, pressure_advance_s, "
            "shaper_type or any other, extra.NAME for one of your own.",
        ),
        click.option("--before", metavar="VALUE", help="Its value on the side compared against."),
        click.option("--after", metavar="VALUE", help="Its value on the other side."),
        click.option(
            "--pair-on",
            metavar="SETTINGS",
            help="What pairs share, separated by commas. Default: machine, axis, outer-wall speed, "
            "acceleration, filament, and what else varies on both sides.",
        ),
    )(command)


def limit_option(command: Command) -> Command:
    """``--limit``, once or several times, as it is written."""
    return click.option(
        "--limit",
        "written",
        multiple=True,
        metavar="METRIC=VALUE",
        help="The most that you accept, such as ripple_peak_um=15 or gap_fraction=1%; may be given "
        "several times. Default: these two, as a starting point of no authority.",
    )(command)


def metric_option(command: Command) -> Command:
    """``--metric``, once or several times."""
    return click.option(
        "--metric",
        "metrics",
        multiple=True,
        metavar="METRIC",
        help="Only this metric, such as ripple_peak_um; may be given several times.",
    )(command)


def jobs_option(command: Command) -> Command:
    """``--jobs``."""
    return click.option(
        "--jobs",
        type=click.IntRange(min=1),
        help="Photos to measure at once. Default: as many as there are processor cores.",
    )(command)


def photo_option(command: Command) -> Command:
    """``--photo``, once or several times."""
    return click.option(
        "--photo",
        "photos",
        multiple=True,
        metavar="PHOTO",
        help="Only this photo: its name, or the start of its hash. May be given several times.",
    )(command)


def face_option(command: Command) -> Command:
    """``--face``."""
    return click.option(
        "--face",
        type=click.Choice(["ringdown", "flow"]),
        help="ringdown: ghosting. flow: gaps.",
    )(command)


def filter_options(command: Command) -> Command:
    """``--machine``, ``--setup``, ``--axis`` and ``--filament``, to choose runs."""
    return _stack(
        click.option("--machine", help="Only runs of this machine."),
        click.option("--setup", help="Only runs with this fitted, such as stock or brace."),
        click.option(
            "--axis", type=click.Choice(["x", "y"], case_sensitive=False), help="Only this blade."
        ),
        click.option("--filament", help="Only runs of this filament."),
    )(command)


def motion_options(command: Command) -> Command:
    """How the nozzle moved: ``--speed``, ``--accel``, ``--corner-speed``, ``--layer-height``."""
    return _stack(
        click.option("--speed", "outer_wall_speed_mm_s", help="Outer-wall speed, mm/s."),
        click.option("--accel", "accel_mm_s2", help="Outer-wall acceleration, mm/s²."),
        click.option(
            "--corner-speed", "corner_speed_mm_s", help="Speed at the corner, mm/s. Default: 5."
        ),
        click.option("--layer-height", "layer_height_mm", help="Layer height, mm."),
    )(command)


def settings_options(command: Command) -> Command:
    """Every setting of a run, named as in :class:`scoring.runs.settings.RunSettings`."""
    return _stack(
        click.option("--run", "name", help="The run's name. Default: what the label says."),
        click.option("--machine", help="The machine's name."),
        click.option("--setup", help="What is fitted, such as brace. Default: stock."),
        click.option("--axis", help="x or y, the blade's axis. Default: what the label says."),
        motion_options,
        click.option("--line-width", "line_width_mm", help="Line width, mm."),
        click.option("--nozzle", "nozzle_mm", help="Nozzle diameter, mm."),
        click.option("--nozzle-temp", "nozzle_temp_c", help="Nozzle temperature, °C."),
        click.option("--bed-temp", "bed_temp_c", help="Bed temperature, °C."),
        click.option("--flow-ratio", "flow_ratio", help="Flow ratio, 1 or a percentage."),
        click.option("--pressure-advance", "pressure_advance_s", help="Pressure advance, s."),
        click.option("--shaper", "shaper_type", help="Input shaping type."),
        click.option("--shaper-freq", "shaper_hz", help="Input shaping frequency, Hz."),
        click.option("--extruder-ratio", "extruder_ratio", help="Extruder gear ratio."),
        click.option("--drive-gear", "drive_gear_mm", help="Drive-gear diameter, mm."),
        click.option("--filament", help="Filament, such as 'PLA grey'."),
        click.option("--printed-on", "printed_on", help="Date of the print, like 2026-03-02."),
        click.option("--notes", help="Anything worth remembering."),
        click.option(
            "--extra", multiple=True, metavar="NAME=VALUE", help="A further value of your own."
        ),
    )(command)
