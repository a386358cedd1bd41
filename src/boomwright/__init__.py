"""Boomwright: the workbench for building portable, battery-powered sound."""

__version__ = "0.1.0"
