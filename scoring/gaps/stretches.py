"""Unbroken stretches along u: what may be gaps, kept as ends instead of pictures."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.columns import Columns
from scoring.photo.opencv import cv2

CLOSE_MM = 0.4


@dataclass(frozen=True)
class Stretches:
    """S stretches over boundaries and columns (K, C), row by row; each holds a place at least.

    ``begin`` and ``end`` (S,) are flat indices of the first place and of that past the last.
    """

    begin: NDArray[np.intp]
    end: NDArray[np.intp]
    shape: tuple[int, int]

    @property
    def sizes(self) -> NDArray[np.intp]:
        """How many places each holds, (S,)."""
        return self.end - self.begin

    @cached_property
    def starts(self) -> NDArray[np.intp]:
        """Where each one's places begin among all :attr:`places`, (S,)."""
        return np.asarray(np.cumsum(self.sizes) - self.sizes)

    @cached_property
    def places(self) -> NDArray[np.intp]:
        """Flat indices of all places, stretch by stretch, (P,)."""
        return np.repeat(self.begin - self.starts, self.sizes) + np.arange(self.sizes.sum())

    def highest(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """The highest of ``values`` (P,), one a place, in each stretch: (S,)."""
        if not self.begin.size:
            return np.zeros(0)
        return np.asarray(np.maximum.reduceat(values, self.starts))

    def mean(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """The mean of ``values`` (P,), one a place, in each stretch: (S,)."""
        if not self.begin.size:
            return np.zeros(0)
        return np.asarray(np.add.reduceat(values, self.starts) / self.sizes)

    def number(self) -> NDArray[np.intp]:
        """Each place's stretch, counted from 1, (K, C); 0 elsewhere."""
        member = np.zeros(self.shape, np.intp)
        member.ravel()[self.places] = np.repeat(np.arange(1, self.begin.size + 1), self.sizes)
        return member


def find_stretches(open_: NDArray[np.uint8], columns: Columns) -> Stretches:
    """The stretches of ``open_`` (K, C), 1 or 0; small breaks closed, none across the grooves."""
    width = 2 * round(CLOSE_MM / columns.width_mm / 2) + 1
    closed = np.zeros_like(open_)
    for part in columns.segments:
        piece = open_[:, part]
        closed[:, part] = cv2.morphologyEx(piece, cv2.MORPH_CLOSE, np.ones((1, width), np.uint8))
        closed[:, part.stop - 1] = 0
    # The last column is closed, so that none runs on in the next row.
    steps = np.flatnonzero(np.diff(closed.ravel().view(np.bool_), prepend=False))
    return Stretches(steps[::2], steps[1::2], (open_.shape[0], open_.shape[1]))
