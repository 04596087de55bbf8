"""Everything that touches the world outside the process."""
