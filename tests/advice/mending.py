"""What the tests of mending share: the drawer, the first attempt, a gauge at the battery."""

from __future__ import annotations

from tests.advice.cases import example

from boomwright.build.drawer import load_drawer

FIRST = example("first-attempt")
DRAWER = load_drawer()
GAUGE = {"name": "gauge", "current": "9 mA", "fed_by": "battery", "lead": "0.5 mm², 0.3 m"}
