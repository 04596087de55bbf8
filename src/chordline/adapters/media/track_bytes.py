"""A piece of her landmarks as bytes, and back."""

import io
import zipfile
from dataclasses import fields
from typing import Final

import numpy as np

from chordline.core.body.track import Track

_FIELDS: Final = tuple(part.name for part in fields(Track))


def track_to_bytes(piece: Track) -> bytes:
    """Return a piece as a compressed archive of arrays; nothing is lost."""
    content = io.BytesIO()
    np.savez_compressed(content, **{name: getattr(piece, name) for name in _FIELDS})
    return content.getvalue()


def track_from_bytes(content: bytes) -> Track | None:
    """Return the piece that `track_to_bytes` wrote; None for anything else."""
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as file:
            parts = {name: np.asarray(file[name], dtype=float) for name in _FIELDS}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None
    n = len(parts["t_s"])
    piece = Track(**parts)
    fits = piece.sides_xy_px.shape == (n, 2, 10, 2) and piece.region.shape == (n, 4)
    return piece if n and fits else None
