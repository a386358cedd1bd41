"""Mono sum and input pad at line level."""
