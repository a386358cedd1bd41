"""The star ground."""
