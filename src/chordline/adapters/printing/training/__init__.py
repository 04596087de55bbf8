"""Sheets of training as words and drawings, and on paper."""
