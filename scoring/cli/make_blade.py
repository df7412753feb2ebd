"""``coupon make blade`` and ``coupon make check-blade``: solids to print, as 3MF and STL."""

from pathlib import Path
from typing import Any

import click

from scoring.cli.options import out_option
from scoring.making.advice import CAUTIONS, CHECK_ADVICE, PRINT_ADVICE

BLADE = f"""Write the coupon as a solid to slice and print, as 3MF and as STL (in mm).

\b
{PRINT_ADVICE}
\b
{CAUTIONS}
\b
Example:
  coupon make blade --axis x
  coupon make blade --axis y -o prints/blade-y.3mf
"""
CHECK_BLADE = f"""Write the check blade, whose ring-down face has ripple of known size: 3MF, STL.

Print it, photograph its ring-down face as you would a coupon's, and let coupon verify set what is
measured against what is designed.

\b
{CHECK_ADVICE}
\b
{CAUTIONS}
\b
Example:
  coupon make check-blade
  coupon make check-blade --axis y -o prints/check-y.3mf
"""


def _solid_command(name: str, words: str, told: str, **axis_option: Any) -> click.Command:
    """The command that writes the solid ``name``; ``axis_option`` says whether --axis is needed."""

    @click.command(name, short_help=words, help=told)
    @click.option(
        "--axis",
        type=click.Choice(["x", "y"], case_sensitive=False),
        help="The machine axis that the long faces lie along.",
        **axis_option,
    )
    @out_option(
        None,
        f"Where to write the 3MF; the STL goes beside it. Default: {name}-x.3mf or -y.3mf.",
        suffixes=(".3mf", ".stl", ""),
    )
    def make(axis: str, out: Path | None) -> None:
        from scoring.making.blade import write_blade  # noqa: PLC0415
        from scoring.making.check_blade import write_check_blade  # noqa: PLC0415

        path = out or Path(f"{name}-{axis}.3mf")
        path_3mf, path_stl = path.with_suffix(".3mf"), path.with_suffix(".stl")
        (write_blade if name == "blade" else write_check_blade)(path_3mf, path_stl, axis)
        click.echo(f"{path_3mf} and {path_stl} written. How to print it: coupon make {name} --help")

    return make


make_blade = _solid_command("blade", "The coupon, as 3MF and STL.", BLADE, required=True)
make_check_blade = _solid_command(
    "check-blade", "The blade that checks the tool itself.", CHECK_BLADE,
    default="x", show_default=True,
)  # fmt: skip
