"""Panel: the score's weights and references, which the reader may change."""

from collections.abc import Mapping, Sequence

import pandas as pd
import streamlit as st

from scoring.errors import SettingsError
from scoring.page.metric_words import metric_unit, metric_words
from scoring.ranking.score import ScoreTable, ScoreTerm


def weights_frame(table: ScoreTable) -> pd.DataFrame:
    """The table's terms, a row each."""
    return pd.DataFrame(
        [
            {
                "metric": metric_words(term.metric),
                "weight": term.weight,
                "reference": term.reference,
                "unit": metric_unit(term.metric),
            }
            for term in table.terms
        ]
    )


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
    """Draw the table to be edited; changes hold while the page stays open."""
    with st.expander("How the score is made, and changing it"):
        st.caption(
            "A metric at its reference, with weight 1 and all others zero, gives 50 of 100. "
            "Changes hold here alone; the command line reads them from a file (--weights)."
        )
        edited = st.data_editor(
            weights_frame(table),
            key="weights",
            hide_index=True,
            disabled=["metric", "unit"],
            width=520,
            column_config={
                "weight": st.column_config.NumberColumn(min_value=0.0, step=0.1),
                "reference": st.column_config.NumberColumn(min_value=0.0),
            },
            alt="Weight and reference of each metric in the score",
        )
    rows = [
        {"weight": float(weight), "reference": float(reference)}
        for weight, reference in zip(edited["weight"], edited["reference"], strict=True)
    ]
    return edited_table(table, rows)
