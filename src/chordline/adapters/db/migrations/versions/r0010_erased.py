"""Who was erased, and when the last backup was made."""

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Change nothing yet."""
