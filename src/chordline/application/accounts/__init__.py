"""Accounts, who is logged in, and the trail of who saw and changed what."""
