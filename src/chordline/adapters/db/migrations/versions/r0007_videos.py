"""Videos and what was read off them."""

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Change nothing yet."""
