"""Keys of pictures."""

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Change nothing yet."""
