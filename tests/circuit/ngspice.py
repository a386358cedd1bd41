"""Circuits through ngspice, the reference the circuit layer is proved against."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

AT_REST = "reltol=1e-6 abstol=1e-13 vntol=1e-8 itl1=500"
"""Tighter than it comes, so that what is compared is the laws and not the patience."""

IN_TIME = "reltol=1e-5 abstol=1e-10 vntol=1e-7 itl4=200 method=gear"
"""For runs in time; the other method rings after a jump through a coil."""

SECONDS = 60.0
"""Longest a session may take before it counts as hung."""


@dataclass(frozen=True)
class Job:
    """A circuit for ngspice.

    Parameters
    ----------
    text : str
        The netlist, as it is exported.
    commands : tuple of str
        Analyses, such as ``"op"`` or ``"ac dec 10 10 20k"``.
    """

    text: str
    commands: tuple[str, ...]


Vectors = dict[str, np.ndarray]
"""Results of one analysis: voltages as ``v(node)``, currents as ``i(part)``, in small letters."""


def run_ngspice(jobs: Sequence[Job]) -> list[list[Vectors | None]]:
    """Results of every analysis of every job, from one session; None where it found none."""
    program = shutil.which("ngspice")
    if program is None:
        pytest.fail(
            "ngspice is not installed, and without it the circuit layer is not proved: "
            "apt-get install ngspice"
        )
    with TemporaryDirectory() as name:
        folder = Path(name)
        lines = ["all circuits of a test", ".control", "set filetype=ascii"]
        for i, job in enumerate(jobs):
            (folder / f"{i}.cir").write_text(job.text, encoding="ascii")
            lines.append(f"source {i}.cir")
            for j, command in enumerate(job.commands):
                options = IN_TIME if command.startswith("tran") else AT_REST
                save = f"write {i}-{j}.raw all"
                lines += [f"option {options}", command, save, "destroy all"]
            lines.append("remcirc")
        (folder / "all.cir").write_text("\n".join([*lines, "quit", ".endc", ".end", ""]))
        ran = subprocess.run(
            [program, "-b", "all.cir"],
            cwd=folder,
            capture_output=True,
            text=True,
            timeout=SECONDS,
            check=False,
        )
        assert "ngspice-" in ran.stdout, f"the session broke off:\n{ran.stdout}\n{ran.stderr}"
        return [
            [_vectors(folder / f"{i}-{j}.raw") for j in range(len(job.commands))]
            for i, job in enumerate(jobs)
        ]


def run_batch(text: str) -> str:
    """What ngspice prints for a netlist that asks for its own analyses."""
    program = shutil.which("ngspice")
    if program is None:
        pytest.fail("ngspice is not installed: apt-get install ngspice")
    with TemporaryDirectory() as name:
        file = Path(name) / "circuit.cir"
        file.write_text(text, encoding="ascii")
        ran = subprocess.run(
            [program, "-b", file.name],
            cwd=name,
            capture_output=True,
            text=True,
            timeout=SECONDS,
            check=True,
        )
    return ran.stdout


def _vectors(path: Path) -> Vectors | None:
    """Table of a raw file in letters: a head, the names, then one value a line."""
    if not path.exists():
        return None
    head, body = path.read_text().split("Values:\n")
    fields = dict(line.split(":", 1) for line in head.splitlines() if not line.startswith("\t"))
    names = [line.split()[1].lower() for line in head.splitlines() if line.startswith("\t")]
    points = int(fields["No. Points"])
    is_complex = "complex" in fields["Flags"]
    # The first value of each point stands behind the point's number.
    words = [line.split()[-1] for line in body.splitlines() if line.strip()]
    if is_complex:
        flat = np.array([complex(*map(float, word.split(","))) for word in words])
    else:
        flat = np.array([float(word) for word in words])
    table = flat.reshape(points, len(names))
    return {name: table[:, i] for i, name in enumerate(names)}
