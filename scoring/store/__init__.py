"""The run store: runs, photos and their numbers in a database. Only this package touches SQL."""
