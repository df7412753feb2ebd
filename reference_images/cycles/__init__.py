"""A second path tracer: Blender's Cycles, shown the same card and coupon by a program of its own.

It was written from the standard's pages alone, by someone who had not seen the measurement, so that
it shares no mistake with it. It reads the geometry files through ``reference_images.standard`` and
takes nothing else from this project; keep it so. Only ``stage.py`` needs Blender (``bpy``).
"""
