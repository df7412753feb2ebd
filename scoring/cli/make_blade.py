"""``coupon make blade``: the coupon as 3MF and STL."""

from pathlib import Path

import click

from scoring.making.advice import CAUTIONS, PRINT_ADVICE

HELP = f"""Write the coupon as a solid to slice and print, as 3MF and as STL (in mm).

\b
{PRINT_ADVICE}
\b
{CAUTIONS}
\b
Example:
  coupon make blade --axis x
  coupon make blade --axis y --out prints/blade-y.3mf
"""


@click.command("blade", short_help="The coupon, as 3MF and STL.", help=HELP)
@click.option(
    "--axis",
    type=click.Choice(["x", "y"], case_sensitive=False),
    required=True,
    help="The machine axis that the coupon's long faces lie along.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write the 3MF; the STL goes beside it. Default: blade-x.3mf or blade-y.3mf.",
)
def make_blade(axis: str, out: Path | None) -> None:
    """See :data:`HELP`."""
    from scoring.making.blade import write_blade  # noqa: PLC0415

    path = out or Path(f"blade-{axis}.3mf")
    path_3mf, path_stl = path.with_suffix(".3mf"), path.with_suffix(".stl")
    write_blade(path_3mf, path_stl, axis)
    click.echo(f"{path_3mf} and {path_stl} written. How to print it: coupon make blade --help")
