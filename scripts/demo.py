"""Check the market-stall build and say where the rest is."""

import subprocess
import sys
from pathlib import Path

REST = """
Where to go from here

  boomwright check examples/first-attempt.toml    a first box with the usual mistakes, found
  boomwright new my-box.toml --ask                your own build, by questions
  boomwright sound examples/choir-rehearsal.toml  response, travel, and which limit rules where
  boomwright design box --driver driver-5in-8ohm  the box and the vent that suit a driver
  boomwright drawer driver                        parts to take from
  docs/getting-started.md                         ten minutes with one file
  docs/tutorial.md                                a bad box mended, step by step
  docs/build-file.md                              every table and key

The command stands in {folder}; put it on your path, or write {command}.
"""


def main() -> int:
    root = Path(__file__).resolve().parent.parent
    command = Path(sys.executable).parent / "boomwright"
    shown = command.relative_to(root) if command.is_relative_to(root) else command
    done = subprocess.run([command, "check", "examples/market-stall.toml"], cwd=root, check=False)
    print(REST.format(folder=shown.parent, command=shown))
    return done.returncode


if __name__ == "__main__":
    sys.exit(main())
