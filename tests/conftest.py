"""Settings for all tests."""

from hypothesis import settings

# How long an example takes says nothing here: tests never time.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
