"""Growth beside every change: where stature stands, how fast it grows, what to mind."""
