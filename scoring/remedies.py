"""What a person can do about an error, in plain words that errors carry in their sentences.

None names an option or a button: :mod:`scoring.cli.error_words` and
:mod:`scoring.page.error_words` say where each is done.
"""

NAME_RUN = "name the run that it shows"
GIVE_SETTINGS = "give its settings"
LABEL_WRONG = "say that the label is wrong"
CORRECT_SETTINGS = "have the stored settings corrected"
MOVE_PHOTO = "have it taken over from that run"
SEE_RUNS = "Look through the stored runs."
ADD_PHOTOS = "Add photos first"
OTHER_DATABASE = "choose another database"
FEWER_AT_ONCE = "measure fewer photos at once"
PRINT_LABEL = "Lay a printed label in the card's label bay."
PRINT_CHECK_BLADE = "Print the check blade"

REMEDIES = (
    NAME_RUN, GIVE_SETTINGS, LABEL_WRONG, CORRECT_SETTINGS, MOVE_PHOTO, SEE_RUNS, ADD_PHOTOS,
    OTHER_DATABASE, FEWER_AT_ONCE, PRINT_LABEL, PRINT_CHECK_BLADE,
)  # fmt: skip
