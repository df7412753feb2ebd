"""What to do while nothing is stored."""

import streamlit as st

from scoring.page.opened_store import opened_words
from scoring.page.site import add_page


def show_empty_state() -> None:
    """Say that the store is empty and how to fill it."""
    st.info(f"No photo is stored in `{opened_words()}` yet.")
    st.markdown(
        """
        **Have photos of printed coupons?** Add them here with the settings they were printed with.
        """
    )
    st.page_link(add_page(), label="Add photos", icon=":material/add_a_photo:")
    st.markdown(
        """
        **Only looking?** Measure the demo's photos and open the page on them. They are computed,
        two invented machines over several accelerations:
        """
    )
    st.code("coupon demo\ncoupon page --db coupon-demo.db", language=None)
    st.markdown("**Nothing printed yet?** Make the photo card, the coupon's models and the labels:")
    st.code(
        "coupon make card\ncoupon make blade --axis x\ncoupon make labels B7-001 B7-002",
        language=None,
    )
