"""The straightest handstand she can reach today, and what would straighten it most."""
