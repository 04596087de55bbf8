"""How long work tells of itself."""

from typing import Protocol


class Progress(Protocol):
    """Told before the first and after every step; may raise to cancel."""

    def start(self, total: int) -> None:
        """Say how many steps there will be."""
        ...

    def step(self, label: str) -> None:
        """Say that one step is done."""
        ...


class Silent:
    """Progress that nobody watches."""

    def start(self, total: int) -> None:
        """Do nothing."""

    def step(self, label: str) -> None:
        """Do nothing."""
