"""``coupon make check-blade``: the blade with ripple of known size, to check the tool itself."""

from pathlib import Path

import click

from scoring.making.advice import CAUTIONS, CHECK_ADVICE

HELP = f"""Write the check blade, whose ring-down face has ripple of known size, as 3MF and as STL.

Print it, photograph its ring-down face as you would a coupon's, and let coupon verify set what is
measured against what is designed.

\b
{CHECK_ADVICE}
\b
{CAUTIONS}
\b
Example:
  coupon make check-blade
  coupon make check-blade --axis y --out prints/check-y.3mf
"""


@click.command("check-blade", short_help="The blade that checks the tool itself.", help=HELP)
@click.option(
    "--axis",
    type=click.Choice(["x", "y"], case_sensitive=False),
    default="x",
    show_default=True,
    help="The machine axis that the long faces lie along.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write the 3MF; the STL goes beside it. Default: check-blade-x.3mf.",
)
def make_check_blade(axis: str, out: Path | None) -> None:
    """See :data:`HELP`."""
    from scoring.making.check_blade import write_check_blade  # noqa: PLC0415

    path = out or Path(f"check-blade-{axis}.3mf")
    path_3mf, path_stl = path.with_suffix(".3mf"), path.with_suffix(".stl")
    write_check_blade(path_3mf, path_stl, axis)
    click.echo(f"{path_3mf} and {path_stl} written. How to print: coupon make check-blade --help")
