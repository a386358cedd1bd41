"""The commands. Each parses its words, calls the library and prints; none computes anything."""

from boomwright.cli.app import main

__all__ = ["main"]
