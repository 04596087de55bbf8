"""Calendars that other programs read."""
