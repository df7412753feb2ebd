"""A third renderer: rays marched over a height field, with reflectance laws of its own.

It was written from the standard's pages alone, by someone who had not seen the measurement, so that
it shares no mistake with it. It takes the standard's numbers (``reference_images/standard.py``)
and nothing else from this project or the other renderers; keep it so. Rays need numba.
"""
