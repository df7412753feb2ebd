"""The colours and shapes by which several lines are told apart, in any colour vision and in grey.

Okabe and Ito, Color Universal Design (2008), without black and yellow, which a dark or a light page
would swallow. Shape and dash carry the same as the colour, for prints in grey.
"""

SERIES_COLOURS = ("#0072B2", "#E69F00", "#009E73", "#D55E00", "#CC79A7", "#56B4E9")
SERIES_SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down")
SERIES_DASHES = ([1, 0], [6, 3], [2, 2], [8, 3, 2, 3], [4, 2], [10, 4])
"""Stroke and gap in pixels; the first is unbroken."""
