"""The one place that chooses adapters and wires the use cases."""

from chordline.bootstrap.app import (
    CLUB_CATALOGUE_VARIABLE,
    DATA_VARIABLE,
    DATABASE_VARIABLE,
    App,
    build_app,
)
from chordline.bootstrap.cores import usable_cores, worth_workers

__all__ = [
    "CLUB_CATALOGUE_VARIABLE",
    "DATABASE_VARIABLE",
    "DATA_VARIABLE",
    "App",
    "build_app",
    "usable_cores",
    "worth_workers",
]
