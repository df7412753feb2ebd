"""Panel: the score's weights and references, which the reader may change."""

from collections.abc import Mapping, Sequence

import streamlit as st

from scoring.errors import SettingsError
from scoring.page.metric_words import metric_unit, metric_words
from scoring.ranking.score import ScoreTable, ScoreTerm

FIELD_PX = 164
"""Weight and reference side by side on a phone."""


def edited_table(table: ScoreTable, rows: Sequence[Mapping[str, float]]) -> ScoreTable:
    """``table`` with each term's ``weight`` and ``reference`` from ``rows``, in its order.

    A term of weight 0 falls out. Raises :class:`SettingsError` for a weight below zero, a
    reference not above zero, a number that is missing, and where no weight is left.
    """
    terms = []
    for term, row in zip(table.terms, rows, strict=True):
        weight, reference = float(row["weight"]), float(row["reference"])
        if not (weight >= 0 and reference > 0):  # also false for a number left out
            raise SettingsError(
                f"The score's {metric_words(term.metric)}: the weight must be 0 or more and the "
                "reference above 0."
            )
        if weight > 0:
            terms.append(ScoreTerm(term.metric, term.face, weight, reference))
    if not terms:
        raise SettingsError("No metric has a weight above 0, so there is no score to rank by.")
    return ScoreTable(tuple(terms))


def edit_weights(table: ScoreTable) -> ScoreTable:
    """Draw the fields; a change counts at once, and the address keeps it."""
    rows = []
    with st.expander("How the score is made, and changing it"):
        st.caption(
            "A metric at its reference, with weight 1 and all others zero, gives 50 of 100. A "
            "change counts at once and stands in this page's address: keep that to come back to it."
        )
        for term in table.terms:
            with st.container(horizontal=True, vertical_alignment="bottom"):
                rows.append(_edit_term(term))
    return edited_table(table, rows)


def _edit_term(term: ScoreTerm) -> dict[str, float]:
    unit = metric_unit(term.metric)
    weight = st.number_input(
        f"{metric_words(term.metric).capitalize()}: weight", value=term.weight, min_value=0.0,
        step=0.1, key=f"weight_{term.metric}", bind="query-params", width=FIELD_PX,
    )  # fmt: skip
    reference = st.number_input(
        f"reference{f', {unit}' if unit else ''}", value=term.reference, min_value=0.0,
        step=term.reference / 10, format="%g", key=f"reference_{term.metric}",
        bind="query-params", width=FIELD_PX, help=f"Of the {metric_words(term.metric)}",
    )  # fmt: skip
    return {"weight": weight, "reference": reference}
