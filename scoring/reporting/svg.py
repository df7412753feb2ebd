"""A drawing as inline SVG."""

from typing import Any

from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Drawing


def draw_svg(drawing: Drawing, said: str) -> str:
    """The ``<svg>`` element; ``said`` is read out for who cannot see it. All text is escaped."""
    canvas: Any = renderSVG.SVGCanvas(
        (drawing.width, drawing.height), svgAttrs={"role": "img", "version": "1.1"}
    )
    renderSVG.draw(drawing, canvas, 0, 0)
    (title,) = canvas.svg.getElementsByTagName("title")
    title.firstChild.data = said
    # Several drawings stand in one page: their like-named clips would cut each other.
    for tag in ("desc", "clipPath"):
        for element in canvas.svg.getElementsByTagName(tag):
            element.parentNode.removeChild(element)
    for group in canvas.svg.getElementsByTagName("g"):
        for name in ("id", "style"):
            if group.hasAttribute(name):
                group.removeAttribute(name)
    return str(canvas.svg.toxml())
