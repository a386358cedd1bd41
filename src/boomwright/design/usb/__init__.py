"""The charging port's data pins."""
