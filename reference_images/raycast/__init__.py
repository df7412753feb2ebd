"""A third renderer: rays marched over a height field, with reflectance laws of its own.

It was written from the standard's pages alone, by someone who had not seen the measurement, so that
it shares no mistake with it. It reads the geometry files as data (``standard.py``) and takes
nothing else from this project, nor from the other renderers; keep it so. Rays need numba.
"""
