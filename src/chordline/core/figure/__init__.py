"""A drawn body: from joint angles to the outline of a child seen from the side. No measurement."""
