"""Migrations of the run store, applied when a database is opened."""
