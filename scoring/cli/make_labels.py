"""``coupon make labels``: labels for runs as PDF."""

from pathlib import Path

import click

from scoring.cli.make_card import PAPER
from scoring.cli.options import out_option


@click.command("labels", short_help="Labels for runs, as PDF.")
@click.argument("runs", metavar="RUN...", nargs=-1, required=True)
@click.option(
    "--axis",
    "axes",
    type=click.Choice(["x", "y"], case_sensitive=False),
    multiple=True,
    help="Only for this blade. Default: both.",
)
@click.option(
    "--face",
    "faces",
    type=click.Choice(["ringdown", "flow"]),
    multiple=True,
    help="Only for this face. Default: both.",
)
@out_option("labels.pdf", "Where to write them.", suffixes=(".pdf",))
@PAPER
def make_labels(
    runs: tuple[str, ...], axes: tuple[str, ...], faces: tuple[str, ...], out: Path, paper: str
) -> None:
    """Write a sheet of labels to cut out, one for each RUN, axis and face.

    Laid in the card's label bay, a label tells the photo's run, axis and face by its code. A run's
    name is 1 to 32 characters of A to Z, 0 to 9 and "-"; small letters are made capitals.

    \b
    Example:
      coupon make labels B7-012
      coupon make labels B7-012 B7-013 --axis x -o labels-x.pdf
    """
    from scoring.making.labels import write_labels_pdf  # noqa: PLC0415

    write_labels_pdf(
        out,
        [run.upper() for run in runs],
        axes=axes or ("x", "y"),
        faces=faces or ("ringdown", "flow"),
        paper=paper,
    )
    click.echo(f"{out} written. Print it at 100 % and cut along the lines.")
