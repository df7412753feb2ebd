import pytest

from scoring.making.advice import CAUTIONS, CHECK_ADVICE, PRINT_ADVICE


@pytest.mark.parametrize(
    "word",
    [
        "two perimeters",
        "no infill",
        "no top",
        "counter-clockwise",
        "seam",
        "layer height",
        "outer wall",
        "acceleration",
    ],
)
def test_print_advice(word: str) -> None:
    assert word in PRINT_ADVICE


@pytest.mark.parametrize(
    "word",
    [
        "outer wall",
        "20 mm/s",
        "acceleration",
        "layer height",
        "matt",
        "path resolution",
        "arc",
        "cool",
    ],
)
def test_check_advice(word: str) -> None:
    assert word in CHECK_ADVICE


@pytest.mark.parametrize(
    "word", ["Nozzle", "axes", "lamp", "mains", "fumes", "makers", "local rules", "qualified"]
)
def test_cautions(word: str) -> None:
    assert word in CAUTIONS


def test_lines_fit_a_terminal() -> None:
    assert all(len(line) <= 100 for line in (PRINT_ADVICE + CHECK_ADVICE + CAUTIONS).splitlines())
