"""Keeps passwords as hashes."""
