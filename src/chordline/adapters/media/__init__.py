"""Pictures and the printed card: reading, cleaning, detecting."""
