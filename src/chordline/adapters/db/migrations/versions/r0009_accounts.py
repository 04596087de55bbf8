"""Accounts, sessions and the trail."""

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Change nothing yet."""
