"""The club's records in SQLite or PostgreSQL."""
