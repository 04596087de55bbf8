"""Migrations of the records, from the first table on."""
