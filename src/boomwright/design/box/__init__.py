"""Box and vent for a driver: what suits it, what fits, and what it plays from this battery."""
