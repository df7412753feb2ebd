"""Messages written for the command line, in the page's words."""

import re

from scoring.runs.settings import LIMITS, WORDS

LABEL_WRONG = "The label is wrong: go by what is written here"
CORRECT_RUN = "Correct the stored run's settings with these"
MOVE_PHOTO = "Take photos over from the run they were stored under"

_PAGE_WORDS = {
    "name the run with --run, or list the photo in a settings file": "write the run's name above",
    "give its settings as options, or add a settings file that has it": (
        "choose “A new run” above and give its settings"
    ),
    "pass --ignore-label if the label is wrong": f"tick “{LABEL_WRONG}”",
    "correct the stored settings with coupon add --update": f"tick “{CORRECT_RUN}”",
    "add it again with --move": f"add it again with “{MOVE_PHOTO}” ticked",
    "See coupon runs for all there are": "The page Ranking lists all there are",
    "with --db or COUPON_DB": "with COUPON_DB",
    "name another with --db": "name another with COUPON_DB",
}
# The names of these carry a unit, so they are no words of any other sentence.
_SETTING = re.compile(rf"\b({'|'.join(LIMITS)})\b")


def in_page_words(message: str) -> str:
    """``message`` with options of the command line and names of settings in the page's words."""
    for command_line, page in _PAGE_WORDS.items():
        message = message.replace(command_line, page)
    return _SETTING.sub(lambda found: WORDS[found[0]], message)
