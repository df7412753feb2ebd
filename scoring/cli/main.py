"""The command ``coupon``."""

import click

from scoring.cli.lazy_group import LazyGroup

COMMANDS = {
    name: f"scoring.cli.{name}:{name}"
    for name in (
        "demo", "make", "measure", "verify", "add", "runs", "show", "rank", "compare", "limits",
        "repeatability", "report", "remeasure", "export", "delete", "restore", "page",
    )
}  # fmt: skip


@click.group(cls=LazyGroup, lazy=COMMANDS, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="coupon-scoring", prog_name="coupon")
def main() -> None:
    """Score 3D-printed test coupons from photos.

    Print the coupon, lay it on the printed card, photograph it under a raking lamp: ghosting is
    measured in micrometres and hertz, under-extrusion in open area and millimetres. Every run is
    kept with the settings that made it, and runs are ranked by machine and acceleration.

    \b
    Example, from nothing to a ranking:
      coupon demo                        try it on the photos that come with it
      coupon make card                   a PDF to print on paper
      coupon make blade --axis x         the coupon to slice and print
      coupon make labels B7-012          labels for a run, to lay beside the coupon
      coupon measure photo.jpg --speed 150 --accel 5000
      coupon add photo.jpg --machine Birch --speed 150 --accel 5000
      coupon rank
      coupon compare --before stock --after brace
    """
