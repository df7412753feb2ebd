"""Errors in the page's words: where each remedy is, and settings by their names."""

import re

from scoring import remedies
from scoring.runs.settings import LIMITS, WORDS

LABEL_WRONG = "The label is wrong: go by what is written here"
CORRECT_RUN = "Correct the stored run's settings with these"
MOVE_PHOTO = "Take photos over from the run they were stored under"

MEASURE_AGAIN = "The command `coupon remeasure` brings them up to date."

WHERE = {
    remedies.NAME_RUN: "write the run's name below",
    remedies.GIVE_SETTINGS: "choose “A new run” below and give its settings",
    remedies.LABEL_WRONG: f"tick “{LABEL_WRONG}”",
    remedies.CORRECT_SETTINGS: f"tick “{CORRECT_RUN}”",
    remedies.MOVE_PHOTO: f"add it again with “{MOVE_PHOTO}” ticked",
    remedies.SEE_RUNS: "The page Ranking lists them all.",
    remedies.OTHER_DATABASE: "open the page on another database",
    remedies.PRINT_LABEL: "The page Things to print makes labels to lay in the card's label bay.",
    remedies.PRINT_CHECK_BLADE: "Print the check blade, on the page Things to print,",
}
"""What stands on the page in place of a remedy; one that is not here reads well as it is."""
# The names of these carry a unit, so they are no words of any other sentence.
_SETTING = re.compile(rf"\b({'|'.join(LIMITS)})\b")


def in_page_words(message: str) -> str:
    """``message`` with each remedy as the page has it, and names of settings in words."""
    for remedy, page in WHERE.items():
        message = message.replace(remedy, page)
    return _SETTING.sub(lambda found: WORDS[found[0]], message)
