"""How the check of the tool itself does on check blades of known size, in folders of their photos.

    python tests/benchmarks/check_blades.py DIR... [--set quoting]

A line a photo: the scale found, its interval and the truth; then median and worst error, how often
the interval held the truth, and how the verdicts fell on true and on mis-scaled prints.
"""

import argparse
import sys
from collections import Counter
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.errors import ScoringError
from scoring.verify.check import verify_photo
from tests.reference_photos import read_photos


def main() -> None:
    """Verify every photo of the set and print what came of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--set", default="quoting", choices=("tuning", "quoting"))
    options = parser.parse_args()
    errors, held = [], 0
    verdicts: Counter[str] = Counter()
    for photo in (p for folder in options.folders for p in read_photos(folder.resolve())):
        true = photo.truth.get("designed_ripple", {}).get("scale")
        if true is None or photo.truth["set"] != options.set:
            continue
        kind = "true" if true == 1 else "mis-scaled"
        try:
            found = verify_photo(photo.path, name=photo.name)
        except ScoringError as error:
            verdicts[f"{kind}: {error.code}"] += 1
            print(f"{photo.name:24} {error.code}")
            continue
        scale = found.result.scale
        errors.append(abs(scale.value / true - 1))
        held += scale.low <= true <= scale.high
        verdicts[f"{kind}: {found.verdict.outcome}"] += 1
        print(
            f"{photo.name:24} {scale.value:.3f} ({scale.low:.3f} to {scale.high:.3f}) "
            f"true {true:.2f}  {found.verdict.outcome} within {found.verdict.within_percent} %"
        )
    if errors:
        print(
            f"{len(errors)} photos, error {np.median(errors):.1%} median, {max(errors):.1%} worst; "
            f"{held} of {len(errors)} intervals held the truth"
        )
    for verdict, count in sorted(verdicts.items()):
        print(f"  {verdict}: {count}")


if __name__ == "__main__":
    main()
