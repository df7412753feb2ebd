"""What a check says in plain words: how far print, filament, lamp and phone can be trusted."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from scipy.special import chdtri

from scoring.estimate import Estimate
from scoring.ranking.combine import birge_ratio

PERCENT_STEPS = (2, 3, 5, 8, 10, 12, 15, 20, 25, 30, 40, 50)
HEIGHT_STEPS_UM = (1, 2, 3, 5, 8, 10, 15, 20, 30, 50, 100)
MOST_PERCENT = 15
"""Beyond this a size says too little to be called trusted."""

SEEN_UM = 1.0
"""A ripple smaller than this on the flat stretch is no fault worth words."""


class Outcome(StrEnum):
    """How a check came out; it stands in the JSON output."""

    TRUSTED = "trusted"
    READS_LOW = "reads-low"
    READS_HIGH = "reads-high"
    UNSURE = "unsure"
    DISAGREE = "disagree"


@dataclass(frozen=True)
class Verdict:
    """``within_percent`` is the most that a height may be off, ``from_um`` the smallest ripple of
    which that holds; ``None`` where it is beyond what was looked at. ``sentences`` say it all."""

    outcome: Outcome
    within_percent: int | None
    from_um: int | None
    sentences: tuple[str, ...]


def judge(scale: Estimate, *, lost_um: Estimate, flat_um: Estimate) -> Verdict:
    """Judge by the interval of measured over printed height.

    Trusted: it holds 1 and reaches no farther than 15 % from it. Reads low or high: it does not
    hold 1. Unsure: it holds 1 but is too wide. The smallest trusted ripple is the one of which what
    is read on the flat stretch, and what every ripple lacks if that is established, is that share.
    """
    worst = 100 * max(abs(scale.low - 1), abs(scale.high - 1))
    within = _step_up(worst, PERCENT_STEPS)
    lost = _excludes(lost_um, 0.0)
    doubt_um = flat_um.high + (abs(lost_um.value) if lost else 0.0)
    from_um = None if within is None else _step_up(100 * doubt_um / within, HEIGHT_STEPS_UM)
    read = f"Heights read {_reading(scale)}"
    if _excludes(scale, 1.0):
        outcome = Outcome.READS_LOW if scale.value < 1 else Outcome.READS_HIGH
        sentences = [f"{read}, more than print and light account for.", _what_to_do(outcome)]
    elif within is not None and within <= MOST_PERCENT and from_um is not None:
        outcome = Outcome.TRUSTED
        sentences = [f"{read}: ripple from {from_um} µm up can be trusted to {within} %."]
    else:
        outcome = Outcome.UNSURE
        sentences = [
            f"{read}: that holds the designed size, but is too wide to vouch for it. Take more "
            "photos, the lamp lower and farther off, in a darker room, with a matt, light filament."
        ]
    if lost:
        way = "small" if lost_um.value > 0 else "large"
        sentences.append(
            f"Whatever their size, ripples come out {abs(lost_um.value):.1f} µm too {way}: more "
            "likely the slicer's path resolution or play in an axis than the photo."
        )
    if flat_um.low > 0 and flat_um.value > SEEN_UM:
        sentences.append(
            f"{flat_um.value:.1f} µm are read where the face is flat: the machine's own ripple "
            "(print slower), or a stain."
        )
    return Verdict(outcome, within, from_um, tuple(sentences))


def disagree(photos: Mapping[str, Estimate], blades: Mapping[str, str]) -> Verdict | None:
    """What to say of photos that cannot be of one blade under one lamp; ``None`` where they can.

    ``photos`` has each photo's scale, ``blades`` what the labels that were read say of its blade.
    Scales disagree where their chi-square about the weighted mean is above its 95 % point, each
    whole interval counted as the photo's own: two photos, where they are farther apart than the
    root of their squared half-widths. Fewer than two photos agree.
    """
    sentences = []
    if len(set(blades.values())) > 1:
        named = "; ".join(f"{photo}: {blade}" for photo, blade in blades.items())
        sentences.append(f"The labels name different blades: {named}.")
    free = len(photos) - 1
    if free > 0 and free * birge_ratio(list(photos.values())) ** 2 > chdtri(free, 0.05):
        ends = (
            min(photos, key=lambda p: photos[p].value),
            max(photos, key=lambda p: photos[p].value),
        )
        low, high = (f"{photo} reads {_reading(photos[photo])}" for photo in ends)
        sentences.append(f"Heights disagree by more than their intervals allow: {low}, {high}.")
    if not sentences:
        return None
    sentences.append(
        "So they are not put together: are they of different blades, or is one mixed up? Check the "
        "photos of each blade by themselves. If they are of one blade, lamp or focus changed what "
        "is read: photograph it again."
    )
    return Verdict(Outcome.DISAGREE, None, None, tuple(sentences))


def _what_to_do(outcome: Outcome) -> str:
    low = outcome is Outcome.READS_LOW
    return (
        f"Either the print came out {'flatter' if low else 'higher'} than designed, or this "
        f"filament, lamp and phone read {'low' if low else 'high'}. Print once more, slower and "
        "with a finer path resolution, and move the lamp; if it stays, correct sizes by it. Runs "
        "photographed alike still compare."
    )


def _step_up(value: float, steps: tuple[int, ...]) -> int | None:
    return next((step for step in steps if value <= step + 1e-6), None)


def _excludes(estimate: Estimate, value: float) -> bool:
    return not estimate.low <= value <= estimate.high


def _reading(scale: Estimate) -> str:
    return f"{_percent(scale.value)} % ({_percent(scale.low)} to {_percent(scale.high)})"


def _percent(ratio: float) -> str:
    return f"{100 * (ratio - 1):+.0f}".replace("-", "−").replace("+0", "0").replace("−0", "0")
