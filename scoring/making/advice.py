"""How to print the blades and light the card, and what to mind: shown by help and README."""

PRINT_ADVICE = """\
Print the blade standing, foot on the plate, as it lies in the file:
  - two perimeters, no infill, no top layers; a brim helps, it stands on 12 mm;
  - layer height 0.2 mm, the same in every run that you compare;
  - outer wall counter-clockwise seen from above, so that each long face is run from u = 0 mm on;
  - seam in the middle of a short side, never on or beside a long face;
  - the outer wall at one fixed speed, acceleration and corner speed: note them, they are needed;
  - no slowing for short layers, no overhang or bridge speeds, no fuzzy or ironed surface.
The blade of axis x has its long faces along the machine's X and shows the vibration of Y;
the blade of axis y shows that of X. Do not turn them on the plate.
"""

CHECK_ADVICE = """\
Print the check blade as you print the blade, but slowly, so that the machine adds no ripple:
  - outer wall at 20 mm/s, 30 at most, and acceleration 500 mm/s² or less;
  - layer height 0.2 mm, two perimeters, no infill, no top layers, a brim, as for the blade;
  - a matt, light filament: white, natural, light grey; later the one that you test with;
  - the slicer's path resolution 0.005 mm or finer, and no arc fitting: a coarser path is smoothed
    before it is printed, and the smallest ripple, of 0.02 mm, is lost first;
  - no outer-wall smoothing and no compensation of holes or contours.
Slow printing lets heat build up: cool well, and watch the first layers.
"""

CAUTIONS = """\
Nozzle and plate burn the skin; let them cool before you touch them. Moving axes crush and catch:
keep hands, hair and sleeves out, and do not leave a new speed or acceleration unwatched. Molten
plastic gives off fumes: air the room. The lamp is hot and on mains voltage: keep its lead sound,
paper away from it, and your eyes off it. Stay within the temperatures, speeds and accelerations
that the machine's and the filament's makers allow, and heed your local rules; leave work on mains
wiring to a qualified electrician.
"""
