"""How many pictures open."""

from chordline.bootstrap import App
from chordline.errors import ChordlineError


def count_opening(app: App, keys: list[str]) -> int:
    """Return how many of some stored pictures can be opened."""
    opened = 0
    for key in keys:
        try:
            app.photo_store.open(key)
        except ChordlineError:
            continue
        opened += 1
    return opened
