"""Every rule's fix mends its finding and keeps the comments."""

from __future__ import annotations

from functools import cache

import pytest
from tests.advice.cases import BASE, LITHIUM, SUPPLY, with_
from tests.advice.mending import DRAWER, FIRST, GAUGE
from tests.advice.tuned import one_note, passive, tuned

from boomwright.advice.finding import Finding
from boomwright.advice.mend import mended_text
from boomwright.advice.rules import Case, all_rules
from boomwright.build.locate import line_numbers
from boomwright.build.read import parse_build
from boomwright.outcome.run import run_build

RULES = {rule.id: rule for rule in all_rules()}
VERSIONS = 8
"""Versions enough for a range; what is right is tested with more where the rules are tested."""

SINGLE = {
    "amplifier_class": "AB",
    "topology": "single-ended",
    "input": "sum",
    "supply_min": "7 V (standard)",
    "supply_max": "19 V (standard)",
    "load_min": "4 Ω (standard)",
    "lead": "1.5 mm², 0.3 m",
}
PORT = {"part": "usb-a-shorted", "current": "1 A (standard)", "lead": "0.75 mm², 0.2 m"}
STOUT = {
    "fuse": {"rating": "10 A (standard)", "lead": "4 mm², 0.1 m, ring-m5"},
    **{kind: {"lead": "4 mm², 0.2 m"} for kind in ("polarity", "switch", "cutoff", "rail")},
    "amplifier": {"lead": "0.5 mm², 0.3 m"},
}
RAILS = [{"name": "low", "part": "buck-1a-small"}]
HIGH = {"name": "high", "part": "boost-5a-sink", "voltage": "24 V (standard)"}

WOOFER = {"name": "woofer", "part": "woofer-6in5-8ohm", "count": 2}
TREBLE = {"name": "treble", "part": "tweeter-dome-25mm-8ohm", "count": 2, "capacitor": "6.8 µF"}


def two_ways(*steps: str, **treble: object) -> str:
    """The plain build with a filtered woofer and a tweeter on each channel."""
    woofer = {**WOOFER, "filter": list(steps)}
    return with_(BASE, {"driver": [woofer, {**TREBLE, **treble}]})


IN_FIRST_ATTEMPT = (
    *("bridge-negatives-joined", "supply-capacitor-small", "hours-short", "charger-voltage"),
    *("charger-chemistry", "charger-no-limit", "charger-current", "charger-while-playing"),
    *("charger-polarity", "gas", "cutoff-too-low", "cutoff-chatters", "load-too-low"),
    *("tweeter-capacitor", "tweeter-capacitor-polarised", "fuse-missing", "level-not-reached"),
    *("hearing", "polarity-missing", "linear-cooks", "linear-capacitors", "shared-negative"),
    *("gain-mismatch", "one-channel-band", "meter-chemistry", "shelf-drain", "usb-data-pins"),
    *("wire-thin", "wire-drop", "switch-rating", "rail-overloaded"),
)
"""Rules whose fix is tried on the first attempt."""

FIRES = {
    "outputs-joined": with_(BASE, {"amplifier": {"use": "paralleled"}}),
    "output-capacitor": with_(BASE, {"amplifier": [SINGLE]}),
    "mute-missing": with_(BASE, {"amplifier": [{**SINGLE, "output_capacitor": "1000 µF"}]}),
    "amplifier-rail-volts": with_(
        BASE,
        {
            "rail": [*RAILS, HIGH],
            "receiver": {"fed_by": "low"},
            "amplifier": {"fed_by": "high"},
        },
    ),
    "protection-board-trips": with_(LITHIUM, {"battery": {"protection_trip": "2 A (measured)"}}),
    "supply-current-limit": with_(SUPPLY, {"supply": {"current_limit": "0.3 A [0.28 to 0.32]"}}),
    "battery-overloaded": with_(BASE, {"battery": {"capacity": "0.4 Ah"}}),
    "box-too-small": with_(
        BASE,
        {"cabinet": {"volume": "3 L (standard)"}, "driver": {"volume_taken": "0.4 L (standard)"}},
        remove=["cabinet.part", "cabinet.air_holes"],
    ),
    "leaks-spoil-vent": tuned(cabinet={"ql": None, "leaks": "leaky"}),
    "stuffed-vent": tuned(cabinet={"qa": None, "stuffing": "filled"}),
    "vented-mistake": tuned({"qes": "0.9 (standard)"}),
    "open-back-thin": with_(BASE, {"cabinet": {"part": "old-radio-10l"}}),
    "electronics-in-air": with_(
        BASE,
        {
            "battery": {"part": "agm-12v-18ah"},
            "driver": {"part": "driver-6in5-8ohm", "count": 1, "volume_taken": "0 L"},
            "cabinet": {"volume": "7 L (standard)"},
        },
        remove=["cabinet.part", "cabinet.electronics_apart", "cabinet.air_holes"],
    ),
    "sensitivity-belied": tuned({"sensitivity": "96 dB (standard)"}),
    "cone-travel": tuned(
        {"xmax": "1 mm [0.9 to 9]"},
        {"type": "closed"},
        {"level": "50 dB(A) at 2 m"},
    )
    + one_note(50),
    "radiator-travel": passive(
        {"mass": "78 g", "fs": "16 Hz", "xmax": "2.3 mm [2 to 7]"},
        want={"level": "52 dB(A) at 2 m"},
    )
    + one_note(40),
    "box-leaks": with_(BASE, {"cabinet": {"leaks": "leaky"}}),
    "charger-missing": with_(BASE, remove=["charger"]),
    "charger-bypasses-fuse": with_(BASE, remove=["charger.through"]),
    "cutoff-missing": with_(BASE, remove=["cutoff"]),
    "cutoff-missing at the amplifier": with_(BASE, {"amplifier": {"fed_by": "switch"}}),
    "cutoff-too-high": with_(LITHIUM, {"cutoff": {"off": "11.1 V (measured)"}}),
    "cutoff-on-above-full": with_(
        BASE,
        {"cutoff": {"part": "lead-12v-transistor", "on": "15 V (measured)"}},
        remove=["cutoff.off"],
    ),
    "cutoff-bass-dip": with_(
        BASE,
        {"battery": {"resistance": "0.9 Ω (measured)"}, "cutoff": {"delay": "0 s (standard)"}},
    ),
    "cutoff-rating": with_(
        BASE, {"cutoff": {"part": "relay-one-threshold", "rating": "0.4 A (standard)"}}
    ),
    "cutoff-drains": with_(
        BASE, {"cutoff": {"part": "relay-one-threshold", "on": "12.6 V (measured)"}}
    ),
    "fuse-missing at a branch": with_(BASE, {"load": GAUGE}),
    "fuse-too-big": with_(BASE, STOUT),
    "fuse-too-small": with_(BASE, {"fuse": {"rating": "0.4 A (standard)"}}),
    "fuse-far": with_(BASE, remove=["fuse.distance"]),
    "branch-fuse": with_(
        BASE, {"load": {"name": "lamp", "part": "lamp-led-3w", "lead": "0.5 mm², 1.5 m"}}
    ),
    "amplifier-cooks": with_(BASE, {"amplifier": {"sink": "40 K/W (standard)"}}),
    "touch-hot": with_(BASE, {"amplifier": {"sink": "9 K/W (standard)"}}),
    "level-fades": with_(BASE, {"want": {"level": "75.33 dB(A) at 2 m"}}),
    "polarity-rating": with_(
        BASE,
        {"polarity": {"type": "series-schottky", "rating": "0.3 A (standard)"}},
        remove=["polarity.part"],
    ),
    "polarity-loss": with_(BASE, {"polarity": {"part": "series-silicon-3a"}}),
    "rail-wasteful": with_(
        BASE,
        {
            "rail": {"part": "regulator-7805", "capacitors": True},
            "receiver": {"current": "100 mA (standard)"},
        },
    ),
    "receiver-voltage": with_(BASE, {"receiver": {"fed_by": "cutoff"}}),
    "receiver-voltage with no rail": with_(BASE, remove=["rail"]),
    "receiver-whines": with_(
        BASE, {"receiver": {"lead": "AWG 26, 0.5 m"}, "amplifier": {"input_pad": "0 dB (standard)"}}
    ),
    "switch-missing": with_(BASE, remove=["switch"]),
    "shelf-drain with no switch": with_(
        BASE, {"want": {"shelf": "300 d"}, "amplifier": {"off_current": "30 mA"}}, ["switch"]
    ),
    "usb-voltage": with_(
        BASE, {"rail": {"part": "buck-3a-synchronous"}, "usb": {**PORT, "lead": "AWG 26, 1.5 m"}}
    ),
    "usb-current-promise": with_(
        BASE,
        {"rail": {"part": "buck-3a-synchronous"}, "usb": {**PORT, "current": "2 A (standard)"}},
    ),
    "usb-not-behind-cutoff": with_(
        BASE,
        {
            "rail": [
                {"name": "quiet", "part": "buck-1a-small"},
                {"name": "phone", "part": "buck-3a-synchronous", "fed_by": "switch"},
            ],
            "receiver": {"fed_by": "quiet"},
            "usb": {**PORT, "fed_by": "phone"},
        },
    ),
    "connector-rating": with_(
        BASE,
        {
            "want": {"level": "96 dB(A) at 4 m"},
            "amplifier": {"lead": "1.5 mm², 0.3 m, phone-jack-3mm5"},
        },
    ),
    "things-do-not-fit": with_(
        BASE, {"cabinet": {"volume": "3 L"}}, remove=["cabinet.part", "cabinet.electronics_apart"]
    ),
    "woofer-low-pass-undone": two_ways("series 0.5 mH 0.3 Ω"),
    "bands-cancel": two_ways("series 0.5 mH 0.3 Ω", "across 6.2 Ω + 18 µF"),
    "band-gap": two_ways(
        "series 2.7 mH 0.3 Ω", "across 15 µF", "across 6.8 Ω + 22 µF", capacitor="2.7 µF"
    ),
    "tweeter-bump": two_ways(qms="6.2 (measured)", qes="2.1 (measured)"),
    "levels-unmatched": two_ways(sensitivity="97 dB (measured)"),
    "tweeter-capacitor-polarised in a filter": two_ways(filter=["series 18 µF polarised"]),
    "capacitor-volts": two_ways("series 6.8 µF bipolar 6 V"),
    "coil-resistance": two_ways("series 3.3 mH 1.2 Ω", "across 22 µF"),
    "pad-hot": with_(BASE, {"driver": {"filter": ["series 3.9 Ω 0.1 W"]}}),
    "satellites-full-range": with_(
        BASE,
        {
            "driver": [
                {"name": "small", "part": "driver-3in-8ohm", "channel": "left"},
                {"name": "deep", "part": "woofer-8in-8ohm", "channel": "sub"},
            ]
        },
    ),
    "music-unlike-class": with_(
        BASE,
        {
            "want": {"programme": "background"},
            "music": {
                "title": "Own pieces",
                "levels": [0.0, 0.5, 1.0, 2.0, 4.0, 5.5],
                "time_above": [1.0, 0.55, 0.28, 0.07, 0.002, 0.0],
                "bands": [63.0, 250.0, 1000.0, 4000.0],
                "spectrum_db": [0.0, -3.0, -6.0, -11.0],
            },
        },
    ),
    **dict.fromkeys(IN_FIRST_ATTEMPT, FIRST),
}
"""A build for every rule with a fix; what follows the id tells apart two fixes of one rule."""


def commented(text: str) -> str:
    """A build file's text with a comment above every table and behind every value of one line."""
    rows = text.split("\n")
    for line in sorted(set(line_numbers(text).values()), reverse=True):
        row = rows[line - 1]
        if row.startswith("["):
            rows.insert(line - 1, f"# above line {line}")
        elif row.count('"') != 3:
            rows[line - 1] = f"{row}  # behind line {line}"
    return "\n".join(rows)


@cache
def case_of(text: str) -> Case:
    build = parse_build(text, drawer=DRAWER)
    return Case(build, run_build(build, versions=VERSIONS), DRAWER)


def found(rule: str, text: str) -> list[Finding]:
    return RULES[rule].findings(case_of(text))


def remarks(text: str) -> list[str]:
    return [word for word in text.replace("\n", "  ").split("  ") if word.startswith("# ")]


@pytest.mark.parametrize("name", FIRES)
def test_fix_mends_its_finding_and_keeps_the_comments(name: str) -> None:
    rule, text = name.split()[0], commented(FIRES[name])
    mendable = [finding for finding in found(rule, text) if finding.fix is not None]
    assert mendable, "the case does not fire, or offers no fix"
    for finding in mendable[:2]:
        assert finding.fix is not None
        mended = mended_text(text, finding.fix, drawer=DRAWER)
        after = found(rule, mended)
        gone = sum(item.where == finding.where for item in found(rule, text)) - sum(
            item.where == finding.where for item in after
        )
        assert gone >= 1, [item.says for item in after]
        assert sorted(remarks(mended)) == sorted(remarks(text))
        assert len(remarks(text)) > 40


def test_how_many_rules_mend() -> None:
    mending = {name.split()[0] for name in FIRES}
    assert len(mending) >= 60
    assert mending <= set(RULES)


def test_no_other_rule_offers_a_fix_on_these_builds() -> None:
    mending = {name.split()[0] for name in FIRES}
    others = [rule for rule in all_rules() if rule.id not in mending | SOMETIMES]
    offered = {
        rule.id
        for text in {commented(text) for text in FIRES.values()}
        for rule in others
        if any(finding.fix for finding in rule.findings(case_of(text)))
    }
    assert offered == set()


SOMETIMES = {"box-hot", "plastic-soft"}
"""Rules whose fix helps without being sure to be enough."""
