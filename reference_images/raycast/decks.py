"""Random choices: decks that seeds share out among them, and numbers spread evenly in logarithm."""

from collections.abc import Sequence
from typing import TypeVar

import numpy as np

Item = TypeVar("Item")


def deal(name: str, items: Sequence[Item], seed: int) -> Item:
    """The card of ``seed`` from a shuffled deck: seeds in a row draw without putting back.

    The name's letters are part of what shuffles the deck, so that renaming one changes photos.
    """
    count = len(items)
    rng = np.random.default_rng([sum(map(ord, name)), (seed - 1) // count, 77])
    return items[int(rng.permutation(count)[(seed - 1) % count])]


def draw_log(rng: np.random.Generator, low: float, high: float) -> float:
    """A number between two bounds, any octave as likely as another."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))
