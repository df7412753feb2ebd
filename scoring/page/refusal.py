"""Panel: why a photo was refused, and what to do."""

import streamlit as st

from scoring.batch import Failure
from scoring.page.error_words import in_page_words
from scoring.page.plain_text import plain
from scoring.page.site import print_page

LAYING = {
    "card-not-found": "Lay the coupon on the printed card and take in the whole card, sharp.",
    "too-few-markers": "Uncover the card's black squares and press the card flat.",
    "coupon-not-found": "Lay the coupon in the grey outline, the face to be measured up.",
    "coupon-out-of-bay": "Lay the coupon inside the grey outline, long side along its long side.",
    "wrong-face": "Turn the coupon over, or correct the label.",
    "photo-blurred": "Tap on the coupon to focus; use a stand or the self-timer.",
    "photo-too-coarse": "Go closer until the card fills the frame; use the full resolution.",
    "photo-unreadable": "Copy the file from the camera again, or export it as JPEG.",
    "bad-settings": "Correct the settings below and measure again; nothing was recorded.",
}
"""What to do first, by the error's code; those that have none say it in their message."""


def show_refusal(name: str, failure: Failure) -> None:
    """Draw why, as the measurement said it, and what to do; with a way to the advice."""
    why = in_page_words(failure.message).removeprefix(f"{name}: ")
    st.error(
        f"**{plain(name)} was not added.** {plain(why[:1].upper() + why[1:])}",
        icon=":material/block:",
    )
    if failure.code in LAYING:
        st.markdown(f"**What to do:** {LAYING[failure.code]}")
    if failure.code not in {"bad-settings", "store-error", "photo-unreadable"}:
        st.page_link(
            print_page(), label="How to lay, light and shoot", icon=":material/help:"
        )  # fmt: skip
    st.caption(f"Code: {failure.code}")
