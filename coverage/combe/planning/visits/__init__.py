"""Visits to a station: readings, their log, what they say of its health, and the sheet for the next visit."""
