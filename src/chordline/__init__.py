"""chordline: how far a gymnast's body bows off the straight line, and what would straighten it."""

__version__ = "0.1.0"
