"""Rules that read a Build and its Outcome and say what is fine, what to mind and what must stop."""
