"""Panels of a comparison: verdict, what to know first, strips, effects, settings that differ."""

from collections.abc import Sequence

import pandas as pd
import streamlit as st

from scoring.comparing.comparison import Comparison, Effect, Print, PrintPair
from scoring.comparing.effect_words import change_words, smallest_words, spoken
from scoring.comparing.factor import setting_words, value_words
from scoring.comparing.pairing import pairing_words
from scoring.metrics import FACE_WORDS, FaceName
from scoring.page.effect_chart import draw_effects, row_words
from scoring.page.metric_words import explain_metric, metric_words
from scoring.page.opened_store import opened_store
from scoring.page.pair_figure import draw_pair
from scoring.page.plain_text import plain
from scoring.reporting.strips import cut_strips
from scoring.store.records import MeasurementRecord


def show_verdict(found: Comparison) -> None:
    """Draw the sentence, and beneath it whatever casts doubt on it."""
    st.info(f"**{plain(found.verdict)}**", icon=":material/gavel:")
    if found.confounders:
        st.markdown("**Differs too, so may be the cause**")
        st.markdown("\n".join(f"- {plain(one)}" for one in found.confounders))
    else:
        st.markdown("Nothing else that is given differs between the sides.")
    if found.remarks:
        st.markdown("**Know first**")
        st.markdown("\n".join(f"- {plain(remark.sentence)}" for remark in found.remarks))


def show_effects(found: Comparison) -> None:
    """Draw one metric's effects at each acceleration, and the table of all metrics."""
    st.subheader("Effect")
    metrics = [effect.metric for effect in found.overall]
    if not metrics:
        st.info(
            "No print of one side has a counterpart on the other. Print both sides with the same "
            f"{', '.join(setting_words(name) for name in found.paired_on)}."
        )
        return
    metric = st.selectbox(
        "Number", metrics, key="metric", bind="query-params", format_func=metric_words, width=344
    )
    metric = metric or metrics[0]
    overall = found.effect(metric)
    effects = [effect for effect in found.by_accel if effect.metric == metric]
    shown = [*effects, *([overall] if overall else [])]
    st.caption(explain_metric(metric))
    st.vega_lite_chart(
        draw_effects(shown),
        alt=f"Change of the {spoken(metric)} with its interval at each acceleration",
    )
    st.caption(
        "After against before. Bars are 95 % intervals: clear of the dashed line, they show it. "
        "Blue circle: lower; vermilion square: higher; grey diamond: not established."
    )
    st.markdown("\n".join(f"- {plain(effect.sentence)}" for effect in shown))
    with st.expander("All numbers"):
        st.dataframe(
            effect_frame(found.overall), hide_index=True, height="content",
            alt="The change of every number over all accelerations",
        )  # fmt: skip
        st.caption(
            "p: exact permutation test. Would have shown: the smallest change that so many prints "
            "show in four of five cases. Of twenty 95 % intervals one misses by chance."
        )


def effect_frame(effects: Sequence[Effect]) -> pd.DataFrame:
    """A row for each effect, in words."""
    return pd.DataFrame(
        [
            {
                "number": metric_words(effect.metric),
                "acceleration": row_words(effect),
                "change (95 % interval)": change_words(effect),
                "p": None if effect.p_exact is None else f"{effect.p_exact:.3g}",
                "pairs": effect.pairs,
                "prints before + after": f"{effect.prints_before} + {effect.prints_after}",
                "would have shown": smallest_words(effect),
            }
            for effect in effects
        ]
    )


def pair_words(pair: PrintPair) -> str:
    """What both sides of a pair share, in one line; "all prints" where that is nothing."""
    parts = [
        value if name in {"machine", "filament"} else f"{setting_words(name)} {value}"
        for name, shared in pair.on.items()
        if (value := value_words(name, shared)) and shared is not None
    ]
    return ", ".join(parts) or "all prints"


def strongest_pair(pairs: Sequence[PrintPair]) -> int:
    """The place of the pair with the highest acceleration, where a ripple is seen best."""
    return max(range(len(pairs)), key=lambda place: pairs[place].accel_mm_s2 or 0.0)


def first_record(prints: Sequence[Print], face: FaceName) -> MeasurementRecord | None:
    """The first photo of ``face`` among the prints of one side."""
    return next(
        (r for p in prints for r in p.records if r.measurement.face is face),
        None,
    )


def show_strips(found: Comparison) -> None:
    """Draw both sides' photos of a chosen pair, and their traces over each other."""
    pairs = {pair_words(pair): pair for pair in found.pairs}
    if not pairs:
        return
    st.subheader("Side by side")
    with st.container(horizontal=True, vertical_alignment="bottom"):
        face = st.segmented_control(
            "Face", list(FaceName), default=FaceName.RINGDOWN, key="strip_face",
            format_func=lambda f: FACE_WORDS[f], bind="query-params",
        )  # fmt: skip
        words = st.selectbox(
            "Prints with", list(pairs), strongest_pair(found.pairs), key="pair",
            persist_state="session",
        )  # fmt: skip
    face = face or FaceName.RINGDOWN
    pair = pairs[words or next(iter(pairs))]
    both = [first_record(side, face) for side in (pair.before, pair.after)]
    if both[0] is None or both[1] is None:
        st.info(f"No photo of the {FACE_WORDS[face]} face on both sides of this pair.")
        return
    pictures, traces = [], []
    with opened_store() as store:
        assert store is not None
        for record in (both[0], both[1]):
            sha256 = record.photo.sha256
            pictures.append(store.face_jpeg(sha256))
            whole = store.measurements(run=record.photo.run)
            traces += [r.measurement.trace for r in whole if r.photo.sha256 == sha256]
    st.vega_lite_chart(
        draw_pair(face, cut_strips(pictures[0], pictures[1], face=face), traces),
        alt=f"Strips of the {FACE_WORDS[face]} face before and after at equal contrast, and both "
        "traces over each other on the same millimetre axis",
    )
    st.caption(
        f"Before: {plain(both[0].photo.name)} of run {plain(both[0].photo.run)}. After: "
        f"{plain(both[1].photo.name)} of run {plain(both[1].photo.run)}. Both strips at one "
        "contrast, so that what is twice as strong looks twice as strong."
    )


def show_sides(found: Comparison) -> None:
    """Draw which prints stand on each side, and what they share."""
    with st.expander("The prints"):
        st.markdown(plain(pairing_words(found.paired_on)))
        for pair in found.pairs:
            sides = [", ".join(p.settings.name for p in side) for side in (pair.before, pair.after)]
            st.markdown(
                f"- {plain(pair_words(pair))}: {plain(sides[0])} before, {plain(sides[1])} after"
            )
        if found.unpaired:
            names = ", ".join(p.settings.name for p in found.unpaired)
            st.markdown(f"Without a counterpart, so not counted: {plain(names)}.")
