"""The commands. Each parses its words, calls the library and prints; none computes anything."""

import gc

# A command lives for a second and drops little: searching for garbage while modules load takes a
# tenth of that.
gc.set_threshold(100_000, 20, 20)

from boomwright.cli.app import main  # noqa: E402

__all__ = ["main"]
