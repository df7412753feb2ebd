"""What to do while nothing is stored."""

import streamlit as st

from scoring.page.opened_store import opened_words
from scoring.page.site import add_page, print_page


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
        **Nothing printed yet?** The photo card, the coupon's models and the labels are made here.
        """
    )
    st.page_link(print_page(), label="Things to print", icon=":material/print:")
    st.markdown(
        """
        **Only looking?** The demo's photos are computed: two invented machines over several
        accelerations. Two commands measure them and open the page on them:
        """
    )
    st.code("coupon demo\ncoupon page --db coupon-demo.db", language=None)
