"""Page: card, blades and labels to print, and how to lay, light and shoot."""

import streamlit as st

from scoring.making.advice import CAUTIONS, CHECK_ADVICE, PRINT_ADVICE
from scoring.metrics import FACE_WORDS, FaceName
from scoring.page.lay_drawings import draw_from_above, draw_from_the_side, draw_plate
from scoring.page.opened_store import told_errors
from scoring.page.plain_text import plain
from scoring.page.site import add_page
from scoring.page.things_to_print import offer_blades, offer_card, offer_labels

SHOOTING = """
1. **Lay the coupon** in the grey outline, the face to be measured up, its foot toward the card's
   bottom edge. The cut corner tells the faces apart: top right is the ring-down face, top left the
   flow face. A few millimetres and degrees off do no harm. Lay the run's label in its square.
2. **Set one lamp** with a small bulb as drawn, and darken the room. Mind the cautions below.
3. **Hold the phone** about 20 cm above, tilted by seven to ten degrees along the coupon, its end
   over the label nearer (from the other side the coupon hides the label), so that the whole card
   just fills the frame. Main camera, no zoom, no flash, no filter, no portrait mode.
4. **Tap on the coupon** to focus and expose, then pull the brightness down until no part of the
   coupon is burnt out.
5. **Hold still**, or use a stand and the self-timer. Keep the file as the camera wrote it; pictures
   sent through messengers are shrunk and useless.
"""


def show() -> None:
    """Draw the page."""
    st.title("Things to print")
    left, right = st.columns(2, gap="large")
    with left:
        st.subheader("The card")
        st.markdown(
            "Print it at 100 %, never fitted to the page, on matt white paper. Check its 100 mm "
            "ruler against a steel rule: lengths are measured against the card. Keep it flat."
        )
        offer_card()
        st.subheader("Labels")
        st.markdown("A label in the photo tells its run, axis and face by a code.")
        offer_labels()
        st.subheader("The check blade")
        st.markdown(
            "A blade with ripple of known size. Print it slowly and photograph its ring-down face: "
            "that tells how far printer, filament, lamp and phone can be trusted. The page cannot "
            "read it off such photos; the command `coupon verify` can."
        )
        offer_blades(("x",), check=True)
    with right:
        st.subheader("The blades")
        st.markdown(
            "The coupon, one for each machine axis. Long faces along X show the vibration of Y, "
            "long faces along Y that of X."
        )
        offer_blades()
        st.image(draw_plate(), width="stretch", alt="Both blades on the plate, seen from above")
    with st.expander("How to print the blade", expanded=True):
        st.text(PRINT_ADVICE)
    with st.expander("How to print the check blade"):
        st.text(CHECK_ADVICE)
    st.subheader("How to lay, light and shoot")
    for face in FaceName:
        st.markdown(f"**{FACE_WORDS[face].capitalize()} face**")
        left, right = st.columns(2)
        left.image(
            draw_from_above(face), width="stretch",
            alt=f"From above: the {FACE_WORDS[face]} face up in the card's outline, and the lamp",
        )  # fmt: skip
        right.image(
            draw_from_the_side(face), width="stretch",
            alt=f"From the side: the lamp's angle for the {FACE_WORDS[face]} face, and the phone",
        )  # fmt: skip
    st.markdown(SHOOTING)
    st.warning(plain(CAUTIONS), icon=":material/warning:")
    st.page_link(add_page(), label="Add the photos", icon=":material/add_a_photo:")


with told_errors():
    show()
