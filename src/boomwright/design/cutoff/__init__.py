"""The low-voltage cutoff."""
