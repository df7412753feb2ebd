from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from scoring.making.advice import CAUTIONS, CHECK_ADVICE, PRINT_ADVICE

Coupon = Callable[..., Result]


def test_things_to_print_are_written(coupon: Coupon, here: Path) -> None:
    coupon("make", "card")
    coupon("make", "blade", "--axis", "y")
    coupon("make", "check-blade")
    coupon("make", "labels", "b7-012", "--axis", "y", "--out", "our labels.pdf")
    assert sorted(p.name for p in here.iterdir()) == [
        "blade-y.3mf",
        "blade-y.stl",
        "card.pdf",
        "check-blade-x.3mf",
        "check-blade-x.stl",
        "our labels.pdf",
    ]
    assert (here / "card.pdf").read_bytes().startswith(b"%PDF-")
    assert (here / "our labels.pdf").read_bytes().startswith(b"%PDF-")
    assert (here / "blade-y.3mf").read_bytes().startswith(b"PK")


def test_files_are_named_as_everywhere(coupon: Coupon, here: Path) -> None:
    """-o and --out, as coupon report has them; a blade's STL goes beside its 3MF."""
    (here / "prints").mkdir()
    coupon("make", "card", "-o", "a.pdf")
    coupon("make", "labels", "B7-012", "-o", "b.pdf")
    coupon("make", "blade", "--axis", "x", "-o", "prints/c.stl")
    coupon("make", "check-blade", "--out", "prints/d")
    assert sorted(str(p.relative_to(here)) for p in here.rglob("*.*")) == [
        "a.pdf", "b.pdf", "prints/c.3mf", "prints/c.stl", "prints/d.3mf", "prints/d.stl",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "fits"),
    [
        (("card", "-o", "x.png"), ".pdf"),
        (("card", "-o", "card"), ".pdf"),
        (("labels", "B7-012", "-o", "x.svg"), ".pdf"),
        (("blade", "--axis", "x", "-o", "x.step"), ".3mf or .stl"),
        (("check-blade", "-o", "x.step"), ".3mf or .stl"),
    ],
)
def test_a_file_is_not_named_as_another_kind(
    coupon: Coupon, here: Path, words: tuple[str, ...], fits: str
) -> None:
    assert f"name one that ends in {fits}." in coupon("make", *words, status=1).stderr
    assert not list(here.iterdir())


def test_help_shows_how_to_print_and_the_cautions(coupon: Coupon) -> None:
    text = coupon("make", "blade", "--help").output
    for line in (PRINT_ADVICE + CAUTIONS).splitlines():
        assert line.strip() in text


def test_help_of_the_check_blade_shows_its_own_advice(coupon: Coupon) -> None:
    text = coupon("make", "check-blade", "--help").output
    for line in (CHECK_ADVICE + CAUTIONS).splitlines():
        assert line.strip() in text


def test_what_cannot_be_made_is_told(coupon: Coupon) -> None:
    assert "1 to 32 characters" in coupon("make", "labels", "B7_012", status=1).stderr
    assert "cannot be written" in coupon("make", "card", "--out", "no/card.pdf", status=1).stderr
    coupon("make", "blade", status=2)
