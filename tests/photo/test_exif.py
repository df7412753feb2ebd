import math

import pytest
from PIL import Image

from scoring.photo.exif import ExifFacts, focal_35mm_of, read_exif


@pytest.mark.parametrize(("value", "focal"), [(26, 26.0), ((27,), 27.0), (24.5, 24.5)])
def test_focal_lengths(value: object, focal: float) -> None:
    assert focal_35mm_of(value) == focal


@pytest.mark.parametrize("value", [None, 0, -5, 65535, math.nan, "26", (26, 27), ()])
def test_unknown_or_absurd_focal_length_is_none(value: object) -> None:
    # CIPA DC-008: 0 in FocalLengthIn35mmFilm means unknown (from memory).
    assert focal_35mm_of(value) is None


def test_facts_of_a_block() -> None:
    exif = Image.Exif()
    exif[0x0112] = 8
    exif.get_ifd(0x8769)[0xA405] = 26
    assert read_exif(exif) == ExifFacts(orientation=8, focal_35mm=26.0)


def test_an_empty_block_says_nothing() -> None:
    assert read_exif(Image.Exif()) == ExifFacts()


def test_a_broken_block_says_nothing() -> None:
    class Broken(Image.Exif):
        def get_ifd(self, tag: int) -> dict[int, object]:
            raise SyntaxError("not a TIFF file")

    assert read_exif(Broken()) == ExifFacts()
