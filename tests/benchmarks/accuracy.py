"""Bias, scatter and coverage over photos of known truth, on the command line given folders of them.

Each folder holds photos with their truth beside them, as ``reference_images`` does. Only photos
of the set named by ``--set`` are counted (quoting, unless told): those the method was not tuned on.
``--conditions`` splits the table by what each photo was taken under; ``--csv`` keeps every number.
"""

import argparse
import itertools
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.errors import ScoringError
from scoring.measure import measure_photo
from scoring.metrics import FaceName
from scoring.photo.decode import read_photo
from scoring.registration.grooves import locate_grooves
from scoring.registration.place import PlacedCoupon, place_coupon, rectify_face
from scoring.ripple.light import locate_facets
from scoring.shading.profile import extract_strips
from tests.reference_photos import ReferencePhoto, read_photos

GAPS = ("gap_fraction", "recovery_mm", "recovery_s", "gap_longest_mm", "gap_count")
RIPPLES = ("ripple_peak_um", "ripple_rms_um", "steady_ripple_um")
REGISTRATION, MODES = "registration_mm", "modes_found"
IN_PERCENT = (*RIPPLES, "gap_fraction", "envelope_um", "frequency_hz", "damping_ratio")

Row = dict[str, Any]


def read_conditions(photo: ReferencePhoto) -> Row:
    """What ``photo`` was taken under, as columns."""
    truth, made = photo.truth, photo.truth["conditions"]
    camera, lamp, tone = made["camera"], made["lamp"], made["development"]
    albedo = made["material"]["rgb"]
    row = {
        "filament": made["material"]["name"],
        "lightness": float(np.dot(albedo, (0.299, 0.587, 0.114))),
        "gloss": 1 - made["material"]["roughness"],
        "lamp_elevation_deg": lamp["elevation_deg"],
        "lamp_distance_mm": lamp["distance_mm"],
        "stray_share": lamp["ambient_share"],
        "megapixels": camera["width_px"] * camera["height_px"] / 1e6,
        "tilt_deg": camera["tilt_deg"],
        "lens_k1": camera["k1"],
        "blur_px": tone["blur_px"],
        "tone_s": tone["tone_s"],
        "jpeg_quality": tone["jpeg_quality"],
        "layer_height_mm": made["layers"]["height_mm"],
        "hidden_markers": len(made["hidden_markers"]),
        "accel_mm_s2": truth["motion"]["accel_mm_s2"],
        "speed_mm_s": truth["motion"]["speed_mm_s"],
    }
    if truth["face"] == "ringdown":
        row |= {
            "ripple_peak_um": truth["ripple_peak_um"],
            "modes": len(truth["modes"]),
            "first_wave_mm": _first_wave_mm(photo),
            "damping": max((m["damping_ratio"] for m in truth["modes"]), default=np.nan),
        }
    return row


def measure_rows(photo: ReferencePhoto) -> Iterator[Row]:
    """Each measured number of ``photo`` beside its truth; modes matched by size.

    Raises :class:`ScoringError` where the photo is refused.
    """
    truth = photo.truth
    found = measure_photo(
        photo.path, name=photo.name, motion=photo.motion, layer_height_mm=photo.layer_height_mm
    ).measurement
    names = GAPS if found.face is FaceName.FLOW else RIPPLES
    pairs = [(n, found.metrics[n], truth[n]) for n in names if n in found.metrics and n in truth]
    flags = " ".join(found.flags)
    for name, estimate, true in [*pairs, *photo.pair_modes(found.modes)]:
        yield {
            "metric": name,
            "truth": true,
            "value": estimate.value,
            "low": estimate.low,
            "high": estimate.high,
            "flags": flags,
        }
    if found.face is FaceName.RINGDOWN:
        count, known = len(found.modes), len(truth["modes"])
        yield {"metric": MODES, "truth": known, "value": count, "low": count, "high": count}
    off = registration_error_mm(photo)
    yield {"metric": REGISTRATION, "truth": 0.0, "value": off, "low": 0.0, "high": 0.05}


def registration_error_mm(photo: ReferencePhoto) -> float:
    """How far the face's places, as measured, lie from the true ones at most, over a grid."""
    placed = place_coupon(read_photo(photo.path))
    u, w, true = photo.read_face_grid()
    seen = placed.pose.project(placed.placement.card_mm(_read_u_mm(placed, u), w))
    off = np.hypot(*(seen - true).T)
    return float(off.max()) / placed.px_per_mm


def _read_u_mm(placed: PlacedCoupon, u_mm: Any) -> Any:
    if placed.face is FaceName.FLOW:
        face, blur_mm = rectify_face(placed, whole=False), placed.blur_mm
        grooves = locate_grooves(face, blur_mm=blur_mm, sd_stretch=placed.stretch_sd)
        return grooves.read_u_mm(u_mm)
    return locate_facets(placed, extract_strips(rectify_face(placed))).read_u_mm(u_mm)


def _first_wave_mm(photo: ReferencePhoto) -> float:
    modes = photo.truth["modes"]
    if not modes:
        return float("nan")
    largest = max(modes, key=lambda m: m["envelope_um"])
    return float(photo.motion.speed_at(np.array([4.0]))[0]) / float(largest["frequency_hz"])


def measure_all(photos: list[ReferencePhoto]) -> tuple[pd.DataFrame, list[str]]:
    """Rows of all ``photos``, and the refused ones with their code."""
    rows: list[Row] = []
    refused = []
    for photo in photos:
        conditions = read_conditions(photo)
        try:
            rows += [{"photo": photo.name, **r, **conditions} for r in measure_rows(photo)]
        except ScoringError as error:
            refused.append(f"{photo.name} ({error.code})")
    return pd.DataFrame(rows), refused


def summarise(rows: pd.DataFrame) -> pd.DataFrame:
    """Per metric: number, bias, scatter, median and 90th percentile of error, worst, share held.

    Errors are in percent of the truth where it is not zero, else in the metric's unit; ``worst``
    is always in the unit. Scatter is half the span of the middle 68 % of the errors.
    """
    table = []
    for name, part in rows.groupby("metric", sort=False):
        off = (part["value"] - part["truth"]).to_numpy(dtype=float)
        share = off[part["truth"] != 0] / part["truth"][part["truth"] != 0].to_numpy(dtype=float)
        error = 100 * share if name in IN_PERCENT else off
        held = (part["low"] <= part["truth"] + 1e-12) & (part["truth"] <= part["high"] + 1e-12)
        width = (part["high"] - part["low"]) / 2
        low, middle, high = np.percentile(error, [16, 50, 84]) if error.size else [np.nan] * 3
        table.append(
            {
                "metric": name,
                "n": len(part),
                "unit": "%" if name in IN_PERCENT else "",
                "bias": middle,
                "scatter": (high - low) / 2,
                "median": np.median(np.abs(error)) if error.size else np.nan,
                "p90": np.percentile(np.abs(error), 90) if error.size else np.nan,
                "worst": np.abs(off).max(),
                "held %": 100 * held.mean(),
                "off/half-width": np.sqrt(np.mean((off / width.clip(lower=1e-12)) ** 2)),
            }
        )
    return pd.DataFrame(table).set_index("metric")


def split_by_conditions(rows: pd.DataFrame, metric: str) -> pd.DataFrame:
    """The summary of one metric in thirds of every condition, or by its values where few."""
    part = rows[rows["metric"] == metric]
    parts = []
    first = rows.columns.get_loc("filament")
    assert isinstance(first, int)
    for condition in rows.columns[first:]:
        column = part[condition]
        if column.nunique() > 5 and pd.api.types.is_numeric_dtype(column):
            column = pd.qcut(column, 3, duplicates="drop").astype(str)
        for value, some in part.groupby(column, observed=True):
            parts.append(summarise(some).assign(condition=condition, range=str(value)))
    return pd.concat(parts).set_index(["condition", "range"]).drop(columns=["unit"])


def main() -> None:
    """Print the table, for all photos together and, if asked, split by condition."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--set", default="quoting")
    parser.add_argument("--conditions", nargs="*", metavar="METRIC", default=[])
    parser.add_argument("--csv", type=Path)
    options = parser.parse_args()
    found = itertools.chain.from_iterable(read_photos(f.resolve()) for f in options.folders)
    photos = [p for p in found if p.truth["set"] == options.set and not p.truth["expect"]]
    if not photos:
        parser.error(f"no photo of the set {options.set!r} and its truth in these folders")
    rows, refused = measure_all(photos)
    print(f"{rows['photo'].nunique()} photos measured, {len(refused)} refused", *refused)
    with pd.option_context("display.width", 140, "display.max_rows", None):
        print(summarise(rows).round(3).to_string())
        for metric in options.conditions:
            print(f"\n{metric}\n{split_by_conditions(rows, metric).round(2).to_string()}")
    if options.csv:
        rows.to_csv(options.csv, index=False)


if __name__ == "__main__":
    main()
