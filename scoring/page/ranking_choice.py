"""Panel: what to rank by, and which runs."""

from collections.abc import Sequence
from dataclasses import dataclass

import streamlit as st

from scoring.metrics import FACE_WORDS, FaceName
from scoring.page.metric_words import explain_metric, metric_title
from scoring.page.stale_address import warn_if_gone
from scoring.ranking.rank import RANKABLE, SCORE
from scoring.ranking.run_numbers import RunNumbers
from scoring.runs.filter import RunFilter
from scoring.runs.quantity import number_text
from scoring.runs.settings import RunSettings

FILTERS = ("machine", "setup", "axis", "filament")
FIELD_PX = 164
"""Two fields side by side on a phone."""


@dataclass(frozen=True)
class RankingChoice:
    """What the reader chose; ``None`` for either face."""

    by: str
    face: FaceName | None
    wanted: RunFilter
    accel_mm_s2: float | None = None

    def passes(self, run: RunNumbers) -> bool:
        """Whether ``run`` is among those chosen."""
        return (
            self.wanted.passes(run.settings)
            and self.accel_mm_s2 in (None, run.settings.accel_mm_s2)
            and (self.face is None or self.face in run.faces)
        )


def rankable_on(face: FaceName | None) -> list[str]:
    """What runs can be ranked by where ``face`` alone counts."""
    return [name for name, own in RANKABLE.items() if face is None or own in (None, face)]


def filter_values(runs: Sequence[RunSettings], name: str) -> list[str]:
    """The values that ``runs`` have of one setting, each once whatever its case, in order."""
    spelled = {str(v).casefold(): str(v) for r in runs if (v := getattr(r, name)) is not None}
    return [spelled[key] for key in sorted(spelled)]


def accel_title(accel: str) -> str:
    """An acceleration in mm/s², written as a number, with its unit."""
    return f"{accel} mm/s²"


def choose_ranking(runs: Sequence[RunSettings]) -> RankingChoice:
    """Draw the fields; the address keeps what is chosen, so that it can be passed on."""
    values = {name: filter_values(runs, name) for name in FILTERS}
    accels = [number_text(a) for a in sorted({run.accel_mm_s2 for run in runs})]
    for name in FILTERS:
        warn_if_gone(name, name, values[name])
    warn_if_gone("accel", "acceleration", map(accel_title, accels))
    warn_if_gone("face", "face", FACE_WORDS.values())
    with st.container(horizontal=True, vertical_alignment="bottom"):
        face = st.selectbox(
            "Face", list(FaceName), index=None, placeholder="either", key="face",
            bind="query-params", format_func=lambda f: FACE_WORDS[f], width=FIELD_PX,
        )  # fmt: skip
        by = st.selectbox(
            "Rank by", rankable_on(face), key="by", bind="query-params",
            format_func=metric_title, width=FIELD_PX,
        )  # fmt: skip
        chosen = {
            name: st.selectbox(
                name.capitalize(), values[name], index=None, placeholder="all",
                key=name, bind="query-params", width=FIELD_PX,
            )
            for name in FILTERS
        }  # fmt: skip
        accel = st.selectbox(
            "Acceleration", accels, index=None, placeholder="all", key="accel",
            bind="query-params", width=FIELD_PX, format_func=accel_title,
        )  # fmt: skip
    by = by or SCORE
    st.caption(explain_metric(by))
    return RankingChoice(by, face, RunFilter(**chosen), float(accel) if accel else None)
