"""Errors and coverage over photos of known truth, on the command line given folders of them.

Each folder holds photos with their truth beside them, as ``reference_images`` does. Only photos
of the set named by ``--set`` are counted (quoting, unless told): those the method was not tuned on.
"""

import argparse
import statistics
import sys
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.errors import ScoringError
from scoring.estimate import Estimate
from scoring.measure import measure_photo
from scoring.metrics import FaceName
from tests.reference_photos import ReferencePhoto, read_photos

GAPS = ("gap_fraction", "recovery_mm", "gap_longest_mm", "gap_count")
RIPPLES = ("ripple_peak_um", "ripple_rms_um")
Pair = tuple[str, Estimate, float]


def pair_up(photo: ReferencePhoto) -> list[Pair]:
    """Measured numbers of ``photo`` beside their truth; modes matched by size.

    Raises :class:`ScoringError` where the photo is refused.
    """
    truth = photo.truth
    found = measure_photo(
        photo.path, name=photo.name, motion=photo.motion, layer_height_mm=photo.layer_height_mm
    ).measurement
    if found.face is FaceName.FLOW:
        return [(name, found.metrics[name], truth[name]) for name in GAPS]
    pairs = [(name, found.metrics[name], truth[name]) for name in RIPPLES]
    return pairs + photo.pair_modes(found.modes)


def main() -> None:
    """Print, for each metric, the median and worst error and how often the interval held."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--set", default="quoting")
    options = parser.parse_args()
    pairs: dict[str, list[tuple[Estimate, float]]] = defaultdict(list)
    measured, refused = 0, []
    for folder in options.folders:
        for photo in read_photos(folder.resolve()):
            if photo.truth["set"] != options.set or photo.truth["expect"]:
                continue
            try:
                for name, estimate, truth in pair_up(photo):
                    pairs[name].append((estimate, truth))
                measured += 1
            except ScoringError as error:
                refused.append(f"{photo.name} ({error.code})")
    print(f"{measured} photos measured, {len(refused)} refused {', '.join(refused)}")
    print("metric           n   median error  90 of 100 under  interval held")
    for name, found in pairs.items():
        errors = sorted(abs(e.value - t) for e, t in found)
        shares = sorted(abs(e.value - t) / t for e, t in found if t)
        held = statistics.fmean(e.low <= t <= e.high for e, t in found)
        middle, most = (s[int(q * (len(s) - 1))] for s, q in ((shares, 0.5), (shares, 0.9)))
        print(
            f"{name:15s} {len(found):3d}   {100 * middle:6.2f} %      {100 * most:6.2f} %        "
            f"{100 * held:5.1f} %   (absolute: {errors[len(errors) // 2]:.4g}, "
            f"worst {errors[-1]:.4g})"
        )


if __name__ == "__main__":
    main()
