"""Real change: repeatability, capacities through time, growth."""
