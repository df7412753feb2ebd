"""The page. Start it with ``coupon page``, or ``streamlit run app.py``; ``COUPON_DB`` names the
database, else it is ``coupon.db`` in the working folder.
"""

from scoring.page.site import show_site

show_site()
