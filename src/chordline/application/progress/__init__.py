"""Real change: what moved between screens, what would decide it, and when to test again."""
