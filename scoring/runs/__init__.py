"""Runs: one print each, the settings that made it, and where those settings come from."""

from scoring.runs.settings import RunSettings

__all__ = ["RunSettings"]
