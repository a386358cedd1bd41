"""The registry of rules. A rule is a small function beside its kin in ``advice/topics``."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, cached_property

from boomwright.advice.finding import Figure, Finding, Fix, Level, Question
from boomwright.build.audio import Amplifier, Driver
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.power import Fed
from boomwright.build.tree import Node, power_tree
from boomwright.outcome.data import Outcome, PartOutcome
from boomwright.outcome.ground import ground_plan
from boomwright.outcome.ground_data import GroundPlan
from boomwright.outcome.plan import Plan, make_plan
from boomwright.outcome.sound import SoundOutcome, sound_of
from boomwright.physics.chemistry import Chemistry, load_chemistries

__all__ = ["TOPICS", "Case", "Rule", "Says", "all_rules", "rule"]


@dataclass(frozen=True)
class Case:
    """What a rule looks at: the build, what physics says of it, and where things hang."""

    build: Build
    outcome: Outcome
    drawer: Drawer

    @cached_property
    def tree(self) -> tuple[Node, ...]:
        """The power tree."""
        return power_tree(self.build)

    @cached_property
    def chemistry(self) -> Chemistry | None:
        """Facts of the battery's chemistry, None for a supply."""
        battery = self.build.battery
        return load_chemistries()[battery.chemistry] if battery else None

    @cached_property
    def ground(self) -> GroundPlan:
        """The minus wiring and what whines through it, from as many versions as the outcome."""
        return ground_plan(self.build, versions=self.outcome.versions - 1, drawer=self.drawer)

    @cached_property
    def plan(self) -> Plan:
        """The likely version in numbers: outputs, drivers, filters, programme."""
        return make_plan(self.build, Draws(0), drawer=self.drawer)

    @cached_property
    def sound(self) -> SoundOutcome:
        """Response, impedance, travel and limits over frequency, of the likely version."""
        return sound_of(self.build, self.outcome)

    def place(self, name: str) -> int:
        """Place of a part in the tree; -1 for the source."""
        for place, node in enumerate(self.tree):
            if node.part.name == name:
                return place
        return -1

    def upstream(self, name: str) -> tuple[Node, ...]:
        """Parts between a part and the source, the nearest first, the part itself left out."""
        found, place = [], self.place(name)
        while place >= 0 and (place := self.tree[place].parent) >= 0:
            found.append(self.tree[place])
        return tuple(found)

    def has_upstream(self, name: str, kind: str) -> bool:
        """Whether a part of some kind stands between a part and the source."""
        return any(node.kind == kind for node in self.upstream(name))

    def loads(self) -> tuple[Fed, ...]:
        """Parts that use power and feed nothing."""
        uses = {"amplifier", "receiver", "usb", "load"}
        return tuple(node.part for node in self.tree if node.kind in uses)

    def loudest(self, name: str) -> PartOutcome:
        """A part flat out, with a phone on charge where there is a port."""
        key = "flat-out+phone" if self.build.usb else "flat-out"
        return self.outcome.scenario(key).part(name)

    def drivers_of(self, amplifier: Amplifier) -> tuple[Driver, ...]:
        """Drivers that hang on an amplifier."""
        return tuple(item for item in self.build.driver if item.amplifier == amplifier.name)


@dataclass(frozen=True)
class Says:
    """What a rule says when it fires; the registry adds its id and question."""

    level: Level
    where: str
    says: str
    why: str
    do: str
    numbers: tuple[Figure, ...] = ()
    fix: Fix | None = None


Check = Callable[[Case], Iterator[Says]]


@dataclass(frozen=True)
class Rule:
    """A rule with its facts.

    Parameters
    ----------
    id : str
        Short name in words joined by hyphens.
    question : str
        Which of the four answers it belongs to.
    title : str
        What it looks for, in a few words.
    source : str
        Where the limit comes from.
    check : callable
        Case → what it says, nothing where all is well.
    """

    id: str
    question: Question
    title: str
    source: str
    check: Check

    def findings(self, case: Case) -> list[Finding]:
        """What the rule finds in a case."""
        return [
            Finding(
                id=self.id,
                level=said.level,
                question=self.question,
                where=said.where,
                says=said.says[:1].upper() + said.says[1:],
                numbers=said.numbers,
                why=said.why,
                do=said.do,
                fix=said.fix,
            )
            for said in self.check(case)
        ]


TOPICS = (
    "fuses",
    "polarity",
    "charger",
    "charging",
    "cutoff",
    "soldered",
    "amplifier",
    "inputs",
    "drivers",
    "filters",
    "filter_parts",
    "heat",
    "rails",
    "regulators",
    "wiring",
    "usb",
    "volts",
    "battery",
    "storage",
    "gauges",
    "loudness",
    "dose",
    "bands",
    "music",
    "signal",
    "cabinet",
    "fronts",
    "vents",
    "tuning",
    "travel",
    "parameters",
    "facts",
)
"""Topic files in the order in which a seasoned builder looks: what burns, what is ruined, what
disappoints. Findings of one level are told in this order."""

_RULES: dict[str, Rule] = {}


def rule(id: str, question: Question, *, title: str, source: str) -> Callable[[Check], Check]:
    """Enter a function into the registry as a rule.

    Parameters
    ----------
    id : str
        Short name, unlike any other.
    question : str
        Which of the four answers it belongs to.
    title : str
        What it looks for, in a few words.
    source : str
        Where the limit comes from; "common practice, no source" where nothing is published.

    Raises
    ------
    ValueError
        If the name is taken.
    """

    def enter(check: Check) -> Check:
        if id in _RULES:
            raise ValueError(f"two rules are called {id!r}")
        _RULES[id] = Rule(id, question, title, source, check)
        return check

    return enter


@cache
def all_rules() -> tuple[Rule, ...]:
    """Every rule, in the order of :data:`TOPICS` and of the rules within them.

    Examples
    --------
    >>> len({rule.id for rule in all_rules()}) == len(all_rules())
    True
    """
    for topic in TOPICS:
        importlib.import_module(f"boomwright.advice.topics.{topic}")
    # Another module may have imported a topic before; the order does not hang on that.
    rules = list(_RULES.values())
    rules.sort(key=lambda rule: TOPICS.index(rule.check.__module__.rpartition(".")[2]))
    return tuple(rules)
