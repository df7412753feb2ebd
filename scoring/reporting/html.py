"""The report as one HTML file that needs nothing else: no network, no script."""

import base64

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from scoring.reporting.blocks import PLOT_LEFT, PLOT_RIGHT, WIDTH, Document, MakeDrawing
from scoring.reporting.colours import BLUE
from scoring.reporting.svg import draw_svg

FONT = "Helvetica"


def write_html(document: Document) -> bytes:
    """The file's bytes, UTF-8. Every text of the document is escaped by the template."""
    environment = Environment(
        loader=PackageLoader("scoring.reporting", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    template = environment.get_template("report.html.jinja")
    text = template.render(
        document=document,
        kind=lambda block: type(block).__name__,
        svg=_svg,
        jpeg_uri=lambda jpeg: f"data:image/jpeg;base64,{base64.b64encode(jpeg).decode()}",
        blue=BLUE,
        left=100 * PLOT_LEFT / WIDTH,
        right=100 * (WIDTH - PLOT_RIGHT) / WIDTH,
    )
    return text.encode()


def _svg(draw: MakeDrawing, said: str) -> Markup:
    # The SVG writer has escaped the drawing's text already.
    return Markup(draw_svg(draw(FONT), said))
