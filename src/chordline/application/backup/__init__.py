"""Backups: made while the club works, checked, kept in generations, restored."""
