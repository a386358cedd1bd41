"""Layouts of schematics, the sheet they are drawn on, and the tests that keep them honest."""
