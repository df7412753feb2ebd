"""What to say where the address asks for something that is not there."""

from collections.abc import Iterable

import streamlit as st

from scoring.page.plain_text import plain


def warn_if_gone(key: str, what: str, options: Iterable[str]) -> None:
    """Say that the address names a ``what`` that is none of ``options``, if it does.

    ``key`` is the field's, ``options`` are as it shows them. Draw it before the field, which takes
    such a value out of the address.
    """
    asked = st.query_params.get(key)
    if asked and asked not in options:
        st.warning(
            plain(
                f"There is no {what} {asked}, which the address asks for: it is mistyped or out of "
                "date. What is shown is chosen in its place."
            )
        )
