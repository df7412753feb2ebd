"""PDF pages as pictures, by a renderer other than the one that wrote them."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdfium2  # type: ignore[import-untyped]
import pytest
from numpy.typing import NDArray

Render = Callable[[Path, int, int], NDArray[np.uint8]]


@pytest.fixture(scope="session")
def render() -> Render:
    """``render(path, page, dots_per_inch)``: the page as (M, N) uint8, by PDFium."""

    def render(path: Path, page: int, dots_per_inch: int) -> NDArray[np.uint8]:
        document = pypdfium2.PdfDocument(path)
        try:
            bitmap = document[page].render(scale=dots_per_inch / 72, grayscale=True)
            return np.array(bitmap.to_numpy(), np.uint8).squeeze()
        finally:
            document.close()

    return render
