"""From photos to spreads and advice."""

import math
from pathlib import Path

import numpy as np
import pytest

from scoring.comparing.persons import read_persons, study_persons
from scoring.comparing.repeatability import find_repeatability
from scoring.errors import SettingsError
from scoring.estimate import Estimate
from scoring.store.records import MeasurementRecord
from tests.comparing.conftest import MakePhoto, make_photo
from tests.comparing.test_crossed import MSA
from tests.comparing.test_variance import DYESTUFF, cells


def study(photo_sd: float, print_sd: float) -> list[MeasurementRecord]:
    """Four settings, 4 prints of each, 3 photos of each print."""
    rng = np.random.default_rng(4)
    records = []
    for level in range(4):
        for one in range(4):
            peak = 10 * (level + 1) * math.exp(print_sd * rng.normal())
            records += [
                make_photo(
                    f"R{level}-{one}", peak=peak * math.exp(photo_sd * rng.normal()),
                    accel_mm_s2=1000 * (level + 1), shot=str(shot),
                )
                for shot in range(3)
            ]  # fmt: skip
    return records


def test_dyestuff_as_gaps() -> None:
    """Six prints of the same settings, five photos each: lme4's Dyestuff data."""
    records = [
        make_photo(f"P{number}", gaps=value, shot=str(shot))
        for number, cell in enumerate(cells(DYESTUFF))
        for shot, value in enumerate(cell)
    ]
    (found,) = find_repeatability(records, ["gap_fraction"])
    assert (found.settings_groups, found.prints, found.photos) == (1, 6, 30)
    assert found.photo.sd == pytest.approx(49.5101, abs=1e-4)
    assert found.print_.sd == pytest.approx(42.0006, abs=1e-4)
    assert found.contribution == pytest.approx(2451.25 / (2451.25 + 1764.05))
    assert found.study_variation == pytest.approx(math.sqrt(2451.25 / (2451.25 + 1764.05)))
    assert found.categories == int(1.41 * 42.0006 / 49.5101)
    plan = next(p for p in found.plans if (p.prints, p.photos_each) == (2, 2))
    assert plan.half_width == pytest.approx(1.96 * math.sqrt(1764.05 / 2 + 2451.25 / 4), rel=1e-4)


def test_print_spread_calls_for_prints() -> None:
    (found,) = find_repeatability(study(0.02, 0.15), ["ripple_peak_um"])
    assert "Print more coupons" in found.advice
    # 12 degrees of freedom between prints: within a factor of two of the truth.
    assert found.photo.sd == pytest.approx(0.02, rel=0.5)
    assert found.print_.sd == pytest.approx(0.15, rel=0.5)


def test_photo_spread_calls_for_photos() -> None:
    (found,) = find_repeatability(study(0.15, 0.01), ["ripple_peak_um"])
    assert "Photos are the cheaper help" in found.advice


def test_nothing_repeated_is_said(photo: MakePhoto) -> None:
    (found,) = find_repeatability([photo("A", peak=5)], ["ripple_peak_um"])
    assert found.photo.sd is found.print_.sd is None
    assert "nothing was repeated" in found.advice
    assert found.plans == ()
    assert found.categories is None


def test_repeated_photos_alone_and_prints_alone(photo: MakePhoto) -> None:
    (found,) = find_repeatability([photo("A", peak=5), photo("A", peak=6, shot="2")])[:1]
    assert found.photo.sd == pytest.approx(math.log(1.2) / math.sqrt(2))
    assert found.print_.sd is None
    assert "no settings were printed twice" in found.advice
    (found,) = find_repeatability([photo("A", peak=5), photo("B", peak=6)])[:1]
    assert found.photo.sd is None
    assert found.print_.sd == pytest.approx(math.log(1.2) / math.sqrt(2))
    assert "own part in it" in found.advice


def test_ripples_not_found_are_counted(photo: MakePhoto) -> None:
    records = [photo("A", peak=5), photo("A", peak=Estimate(0, 0, 2), shot="2")]
    (found,) = find_repeatability(records, ["ripple_peak_um"])
    assert (found.photos, found.left_out) == (1, 1)


def test_persons_as_the_gauge_study(tmp_path: Path) -> None:
    """The MSA manual's data as gaps that three persons photographed three times each."""
    records = []
    lines = ["photo,person"]
    for (part, person, trial), value in np.ndenumerate(MSA):
        record = make_photo(f"P{part}", gaps=float(value), shot=f"{person}{trial}")
        records.append(record)
        lines.append(f"{record.photo.name},{'ABC'[person]}")
    path = tmp_path / "who.csv"
    path.write_text("\n".join(lines))
    found = study_persons(records, read_persons(path), ["gap_fraction"])
    assert found["gap_fraction"].gauge == pytest.approx(0.0914285, abs=1e-7)
    path.with_name("less.csv").write_text("\n".join(lines[:-1]))
    with pytest.raises(SettingsError, match="equally often"):
        study_persons(records[:-1], read_persons(path.with_name("less.csv")), ["gap_fraction"])


def test_names_of_photos_may_hold_what_breaks_lines(tmp_path: Path) -> None:
    path = tmp_path / "who.csv"
    path.write_text('photo,person\n"a\nb.jpg",A\n\nc\u2028d.jpg,B\n', encoding="utf-8")
    assert read_persons(path) == {"a\nb.jpg": "A", "c\u2028d.jpg": "B"}
    path.write_bytes(b'photo,person\r\n"a\r\nb.jpg",A\r\nc.jpg,\r\n')
    with pytest.raises(SettingsError, match="line 4: needs a photo"):
        read_persons(path)


def test_persons_of_photos_of_the_other_face_alone() -> None:
    record = make_photo("P", peak=5)
    with pytest.raises(SettingsError, match=r"gap_fraction: none of the photos .* the flow face"):
        study_persons([record], {record.photo.name: "A"}, ["gap_fraction"])


def test_wrong_lists_of_persons(tmp_path: Path) -> None:
    path = tmp_path / "who.csv"
    for text, said in (
        ("photo,who\na.jpg,A", "needs a photo and a person"),
        ("photo,person\na.jpg,A\na.jpg,B", "two persons"),
        ("photo,person", "holds no photo"),
    ):
        path.write_text(text)
        with pytest.raises(SettingsError, match=said):
            read_persons(path)
    with pytest.raises(SettingsError, match="Not among the stored"):
        study_persons([], {"x.jpg": "A"}, ["gap_fraction"])
    with pytest.raises(SettingsError, match="no metric"):
        study_persons([], {}, ["gaps"])
