"""The club kept in records: who there is, what was photographed, measured and found."""
