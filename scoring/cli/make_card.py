"""``coupon make card``: the photo card as PDF."""

from pathlib import Path

import click

from scoring.cli.options import out_option

PAPER = click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Sheet."
)


@click.command("card", short_help="The photo card, as PDF.")
@out_option("card.pdf", suffixes=(".pdf",))
@PAPER
def make_card(out: Path, paper: str) -> None:
    """Write the photo card as a PDF at true size, to print on matt paper and cut out.

    Print at 100 %, never "fit to page", and check the 100 mm ruler. The card says how to lay the
    coupon and where the lamp goes for either face.

    \b
    Example:
      coupon make card
      coupon make card --paper letter -o card-letter.pdf
    """
    from scoring.making.card import write_card_pdf  # noqa: PLC0415

    write_card_pdf(out, paper=paper)
    click.echo(f"{out} written. Print it at 100 %, check the 100 mm ruler, cut along the marks.")
