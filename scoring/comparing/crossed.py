"""A crossed gauge study: several persons (or phones) photograph the same prints again and again."""

from dataclasses import dataclass

import numpy as np
from scipy.stats import f as fisher_f

from scoring.comparing.effect_words import spoken
from scoring.comparing.samples import Array
from scoring.comparing.variance import judge_gauge
from scoring.errors import SettingsError

POOL_ABOVE = 0.25
"""An interaction whose p is above this is counted as repeatability (MSA manual, from memory)."""


@dataclass(frozen=True)
class CrossedStudy:
    """A gauge study's analysis of variance and its usual figures.

    Sums of squares by source, then variances (never below 0): ``gauge`` is repeatability plus
    reproducibility (persons, and their interaction with prints unless ``pooled``), and
    ``study_variation`` and ``contribution`` its share of the total deviation and variance, 0 to 1.
    ``f_interaction`` is ``None`` where persons answer differently to prints while their repeats
    agree fully: no number is so large. ``categories``: 1.41 times parts over gauge, cut to a whole
    number; ``None`` without spread.
    """

    ss_print: float
    ss_person: float
    ss_interaction: float
    ss_repeat: float
    f_interaction: float | None
    p_interaction: float
    pooled: bool
    repeatability: float
    reproducibility: float
    gauge: float
    parts: float
    study_variation: float
    contribution: float
    categories: int | None

    def sentence(self, metric: str) -> str:
        """What the study says of ``metric``, for people."""
        person = self.reproducibility / self.gauge if self.gauge > 0 else 0.0
        told = f"{spoken(metric)[0].upper()}{spoken(metric)[1:]}: photographing makes up "
        told += f"{100 * self.study_variation:.1f} % of the study's deviation and "
        told += f"{100 * self.contribution:.1f} % of its variance, "
        told += f"{100 * person:.0f} % of that from person to person"
        if self.categories is not None:
            told += f"; {self.categories} distinct categories of prints can be told"
        return f"{told}."


def study_crossed(y: Array) -> CrossedStudy:
    """Analyse ``y`` (prints, persons, repeats) as two crossed random factors.

    The analysis of variance of the automotive MSA manual's gauge study (from memory; any text on
    two-way random effects has it). Raises :class:`SettingsError` unless there are at least two of
    each, and some spread.
    """
    if y.ndim != 3 or min(y.shape) < 2:
        raise SettingsError(
            "A study of persons needs two prints, two persons and two photos of each print by each "
            "person, at least."
        )
    prints, persons, repeats = y.shape
    cell, grand = y.mean(2, keepdims=True), y.mean()
    by_print, by_person = (cell.mean(other, keepdims=True) for other in (1, 0))
    # What means of equal numbers leave by rounding is no spread.
    least = y.size * (8 * np.finfo(float).eps * float(np.max(np.abs(y)))) ** 2
    parts = (by_print - grand, by_person - grand, cell - by_print - by_person + grand, y - cell)
    squares = [float(np.sum(np.broadcast_to(part, y.shape) ** 2)) for part in parts]
    if max(squares) <= least:
        raise SettingsError("All photos give the very same number: there is no spread to part.")
    ss_print, ss_person, ss_inter, ss_repeat = (ss if ss > least else 0.0 for ss in squares)
    df_inter, df_repeat = (prints - 1) * (persons - 1), prints * persons * (repeats - 1)
    ms_inter, ms_repeat = ss_inter / df_inter, ss_repeat / df_repeat
    ratio = 0.0 if ms_inter == 0 else ms_inter / ms_repeat if ms_repeat > 0 else None
    p = 0.0 if ratio is None else float(fisher_f.sf(ratio, df_inter, df_repeat))
    pooled = p > POOL_ABOVE
    if pooled:
        ms_repeat = (ss_inter + ss_repeat) / (df_inter + df_repeat)
        ms_inter = ms_repeat
    person = max(0.0, (ss_person / (persons - 1) - ms_inter) / (prints * repeats))
    part = max(0.0, (ss_print / (prints - 1) - ms_inter) / (persons * repeats))
    reproducibility = person + max(0.0, (ms_inter - ms_repeat) / repeats)
    gauge = ms_repeat + reproducibility
    figures = judge_gauge(gauge, part)
    return CrossedStudy(
        ss_print, ss_person, ss_inter, ss_repeat, ratio, p, pooled, ms_repeat, reproducibility,
        gauge, part, figures.study_variation, figures.contribution, figures.categories,
    )  # fmt: skip
