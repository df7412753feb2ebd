"""Where on the command line each remedy is, put behind its words; errors name no option."""

from dataclasses import replace
from typing import TYPE_CHECKING

from scoring import remedies

if TYPE_CHECKING:
    from scoring.batch import Failure

WHERE = {
    remedies.NAME_RUN: "--run",
    remedies.GIVE_SETTINGS: "--machine, --speed, --accel and the like, or a settings file",
    remedies.LABEL_WRONG: "--ignore-label",
    remedies.CORRECT_SETTINGS: "coupon add --update",
    remedies.MOVE_PHOTO: "coupon add --move",
    remedies.SEE_RUNS: "coupon runs",
    remedies.ADD_PHOTOS: "coupon add",
    remedies.OTHER_DATABASE: "--db or COUPON_DB",
    remedies.FEWER_AT_ONCE: "--jobs 1",
    remedies.PRINT_LABEL: "coupon make labels",
    remedies.PRINT_CHECK_BLADE: "coupon make check-blade",
}


def escaped(text: str) -> str:
    """``text`` as it can be printed and stored: what of a file's name is no UTF-8 as escapes."""
    return text.encode("utf-8", "backslashreplace").decode()


def in_command_words(message: str) -> str:
    """``message`` with the option or command behind each remedy that it names."""
    message = escaped(message)
    for remedy, where in WHERE.items():
        bare = remedy.removesuffix(".")
        message = message.replace(remedy, f"{bare} ({where}){remedy[len(bare) :]}")
    return message


def told(failure: "Failure") -> "Failure":
    """``failure`` as the command line tells it."""
    return replace(failure, message=in_command_words(failure.message))
