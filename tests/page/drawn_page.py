"""A page as Streamlit runs it without a browser: its scripts, and what it shows."""

from pathlib import Path

from streamlit.testing.v1 import AppTest

from scoring.page import site

APP = Path(site.__file__).parents[2] / "app.py"
RUN, ADD = "scoring/page/pages/run.py", "scoring/page/pages/add.py"
PRINT = "scoring/page/pages/print.py"


def told(page: AppTest) -> str:
    """Everything written on the page, a line each."""
    kinds = (page.title, page.subheader, page.markdown, page.caption, page.text, page.info)
    messages = (page.error, page.warning, page.success)
    return "\n".join(str(e.value) for kind in (*kinds, *messages) for e in kind)


def charts(page: AppTest) -> int:
    return len(page.get("vega_lite_chart")) or len(page.get("arrow_vega_lite_chart"))
