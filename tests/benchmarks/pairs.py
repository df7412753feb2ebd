"""Pairs of photos of known truth, lamp left and lamp right, against each photo alone.

Folders are given on the command line, as ``make_photos pair-study`` writes them: ``NAME-left.jpg``
and ``NAME-right.jpg`` with their truth. Only photos of the set named by ``--set`` are counted.
"""

import argparse
import statistics
import sys
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.errors import ScoringError
from scoring.estimate import Estimate
from scoring.measure import PhotoMeasurement, measure_photo
from scoring.measure_pair import measure_pair
from scoring.measurement import Measurement
from tests.reference_photos import ReferencePhoto, read_photos

KINDS = ("left alone", "right alone", "pair")
RIPPLES = ("ripple_peak_um", "ripple_rms_um")
Found = dict[str, list[tuple[Estimate, float]]]


def measure_all_three(left: ReferencePhoto, right: ReferencePhoto) -> list[Measurement | str]:
    """Left, right and both, or the code of what refused them."""
    names, paths, motion = (left.name, right.name), (left.path, right.path), left.motion
    measures: tuple[Callable[[], PhotoMeasurement], ...] = (
        lambda: measure_photo(paths[0], name=names[0], motion=motion),
        lambda: measure_photo(paths[1], name=names[1], motion=motion),
        lambda: measure_pair(paths, names=names, motion=motion),
    )
    results: list[Measurement | str] = []
    for measure in measures:
        try:
            results.append(measure().measurement)
        except ScoringError as error:
            results.append(error.code)
    return results


def pair_up(photo: ReferencePhoto, found: Measurement) -> list[tuple[str, Estimate, float]]:
    """Numbers beside their truth; sizes of no ripple, which are bounds, included."""
    pairs = [(name, found.metrics[name], photo.truth[name]) for name in RIPPLES]
    steady = found.metrics["steady_ripple_um"]
    pairs.append(("steady_ripple_um", steady, photo.truth["steady_ripple_um"]))
    return pairs + photo.pair_modes(found.modes)


def main() -> None:
    """For stained and clean coupons: median errors, how often intervals held, how wide they are."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--set", default="quoting")
    options = parser.parse_args()
    found: dict[tuple[bool, str], Found] = defaultdict(lambda: defaultdict(list))
    right_modes: dict[tuple[bool, str], list[bool]] = defaultdict(list)
    shrunk: dict[bool, list[float]] = defaultdict(list)
    for folder in options.folders:
        photos = {p.name: p for p in read_photos(folder.resolve())}
        for name in sorted(n for n in photos if n.endswith("-left")):
            left, right = photos[name], photos[name.replace("-left", "-right")]
            if left.truth["set"] != options.set:
                continue
            stained = "stain" in left.truth["conditions"]
            expected = len(left.truth["modes"]) if left.truth["ripple_peak_um"] else 0
            results = measure_all_three(left, right)
            for kind, result in zip(KINDS, results, strict=True):
                if isinstance(result, str):
                    print(f"{name} {kind}: {result}")
                    continue
                right_modes[stained, kind].append(len(result.modes) == expected)
                for metric, estimate, truth in pair_up(left, result):
                    found[stained, kind][metric].append((estimate, truth))
            sizes = [r.metrics["ripple_peak_um"] for r in results if not isinstance(r, str)]
            if len(sizes) == len(KINDS) and all(s.value for s in sizes):
                alone = (sizes[0].half_width + sizes[1].half_width) / 2
                shrunk[stained].append(sizes[2].half_width / alone)
    for stained in (False, True):
        print("\nstained coupons" if stained else "clean coupons")
        for kind in KINDS:
            counted = right_modes[stained, kind]
            print(f"  {kind}: right number of vibrations {sum(counted)} of {len(counted)}")
            for metric, pairs in found[stained, kind].items():
                held = sum(e.low <= t <= e.high for e, t in pairs)
                shares = [abs(e.value - t) / t for e, t in pairs if t]
                middle = f"{100 * statistics.median(shares):.2f} %" if shares else "-"
                print(f"    {metric:17s} median error {middle:8s} held {held} of {len(pairs)}")
        if shrunk[stained]:
            ratio = statistics.median(shrunk[stained])
            least = sum(s <= 2 / 3 for s in shrunk[stained])
            print(f"  interval of the peak, pair over the photos' mean: {ratio:.2f} in the median;")
            print(f"  smaller by a third or more in {least} of {len(shrunk[stained])}")


if __name__ == "__main__":
    main()
