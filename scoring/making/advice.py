"""How to print the blade and light the card, and what to mind: shown by help and README."""

PRINT_ADVICE = """\
Print the blade standing, foot on the plate, as it lies in the file:
  - two perimeters, no infill, no top layers; a brim helps, it stands on 12 mm;
  - layer height 0.2 mm, the same in every run that you compare;
  - outer wall counter-clockwise seen from above, so that each long face is run from u = 0 mm on;
  - seam in the middle of a short side, never on or beside a long face;
  - the outer wall at one fixed speed, acceleration and corner speed: note them, they are needed;
  - no slowing for short layers, no overhang or bridge speeds, no fuzzy or ironed surface.
The blade with --axis x has its long faces along the machine's X and shows the vibration of Y;
the blade with --axis y shows that of X. Do not turn them on the plate.
"""

CAUTIONS = """\
Nozzle and plate burn the skin; let them cool before you touch them. Moving axes crush and catch:
keep hands, hair and sleeves out, and do not leave a new speed or acceleration unwatched. Molten
plastic gives off fumes: air the room. The lamp is hot and on mains voltage: keep its lead sound,
paper away from it, and your eyes off it. Stay within the temperatures, speeds and accelerations
that the machine's and the filament's makers allow, and heed your local rules; leave work on mains
wiring to a qualified electrician.
"""
