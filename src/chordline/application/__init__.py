"""Use cases, one a file, and the ports that they need."""
