"""``coupon make``: the things to print."""

import click

from scoring.cli.lazy_group import LazyGroup


@click.group(
    cls=LazyGroup,
    short_help="Make the card, the coupon, its check and the labels to print.",
    lazy={
        "card": "scoring.cli.make_card:make_card",
        "blade": "scoring.cli.make_blade:make_blade",
        "check-blade": "scoring.cli.make_blade:make_check_blade",
        "labels": "scoring.cli.make_labels:make_labels",
    },
)
def make() -> None:
    """Make the things to print: the photo card, the coupon (blade), its check and the run labels.

    \b
    Example:
      coupon make card
      coupon make blade --axis x
      coupon make check-blade
      coupon make labels B7-012 B7-013
    """
