"""From what is wanted back to part values."""
