"""The colours of a comparison, in a report and on the page.

Blue and vermilion of Okabe and Ito, Color Universal Design (2008): apart for any colour vision, and
in grey.
"""

BLUE, VERMILION = "#0072B2", "#D55E00"
BEFORE, AFTER = BLUE, VERMILION
"""The two sides."""
