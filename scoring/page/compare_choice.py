"""Panel: which setting is compared, and its two sides."""

from collections.abc import Sequence
from dataclasses import dataclass

import streamlit as st

from scoring.comparing.comparison import Print
from scoring.comparing.factor import possible_factors, setting_words, values_of
from scoring.page.ranking_choice import FIELD_PX, filter_values
from scoring.page.stale_address import warn_if_gone
from scoring.runs.filter import RunFilter
from scoring.store.records import MeasurementRecord

FIRST_FACTORS = ("setup", "machine")
USUAL_BEFORE = "stock"
FILTERS = ("machine", "axis", "filament")


@dataclass(frozen=True)
class ComparisonChoice:
    """What the reader chose: a setting, two of its values in words, and which prints count."""

    factor: str
    before: str
    after: str
    wanted: RunFilter


def offered_factors(prints: Sequence[Print]) -> list[str]:
    """The settings that have two sides at least, the usual ones first."""
    possible = possible_factors(prints)
    first = [name for name in FIRST_FACTORS if name in possible]
    return first + [name for name in possible if name not in first]


def usual_sides(values: Sequence[str]) -> tuple[int, int]:
    """The places of what is before and after unless chosen: as built first, then another."""
    before = values.index(USUAL_BEFORE) if USUAL_BEFORE in values else 0
    return before, 1 if before == 0 else 0


def choose_prints(records: Sequence[MeasurementRecord]) -> RunFilter:
    """Draw the filters; the address keeps what is chosen."""
    runs = [record.settings for record in records]
    values = {name: filter_values(runs, name) for name in FILTERS}
    for name in FILTERS:
        warn_if_gone(f"only_{name}", name, values[name])
    with st.expander("Only some of the prints"):
        with st.container(horizontal=True, vertical_alignment="bottom"):
            chosen = {
                name: st.selectbox(
                    name.capitalize(), values[name], index=None, placeholder="all",
                    key=f"only_{name}", bind="query-params", width=FIELD_PX,
                )
                for name in FILTERS
            }  # fmt: skip
        st.caption("Prints are compared like with like in any case: this only leaves some out.")
    return RunFilter(**chosen)


def choose_sides(prints: Sequence[Print], wanted: RunFilter) -> ComparisonChoice | None:
    """Draw the fields; ``None``, with a word on what to do, where nothing has two sides."""
    factors = offered_factors(prints)
    if not factors:
        st.info(
            "All prints that are stored (or chosen) have the same settings, so there is nothing to "
            "compare. Add prints with one setting changed, such as another setup."
        )
        return None
    warn_if_gone("factor", "setting with two sides that is called", map(setting_words, factors))
    sides = st.container()
    with st.container(horizontal=True, vertical_alignment="bottom"):
        factor = st.selectbox(
            "What was changed", factors, key="factor", bind="query-params",
            format_func=setting_words, width=220,
        )  # fmt: skip
        factor = factor or factors[0]
        counts = values_of(prints, factor)
        values = list(counts)
        first, second = usual_sides(values)
        with sides:
            for side in ("before", "after"):
                warn_if_gone(f"{side}_{factor}", setting_words(factor), values)
        # A field of its own for each setting: the other's values would not fit.
        before = st.selectbox(
            "Before", values, first, key=f"before_{factor}", bind="query-params", width=220
        )
        after = st.selectbox(
            "After", values, second, key=f"after_{factor}", bind="query-params", width=220
        )
    if before is None or after is None or before == after:
        st.info("Choose two sides that differ.")
        return None
    return ComparisonChoice(factor, before, after, wanted)
