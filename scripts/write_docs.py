"""Write the pages of docs/ that come from the code; with --check, only say which are stale."""

from __future__ import annotations

import importlib
import inspect
import sys
import types
import typing
from functools import partial
from pathlib import Path

import typer
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined
from typer.testing import CliRunner

from boomwright.advice.rules import all_rules
from boomwright.build.components import COMPONENT_KINDS
from boomwright.build.fields import Q
from boomwright.build.model import MANY_KINDS, ONE_KINDS, Build
from boomwright.build.music import Music
from boomwright.build.power import Fed, Named, RatePoint
from boomwright.build.quantities import BASES, Basis
from boomwright.build.units import KINDS
from boomwright.cli.app import app

SCRIPTS = Path(__file__).resolve().parent
DOCS = SCRIPTS.parent / "docs"
NOTE = "<!-- Written by scripts/write_docs.py from the code; edit the code, not this page. -->\n"

# The scripts beside this one, wherever this one is started or loaded from.
sys.path.insert(0, str(SCRIPTS))
rule_pages = importlib.import_module("rule_pages")
tutorial_page = importlib.import_module("tutorial_page")


def plain(kind: object) -> str:
    """A field's type in words."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        return plain(next(item for item in arguments if item is not types.NoneType))
    if origin is typing.Annotated:
        for note in arguments[1:]:
            if isinstance(note, Q):
                unit = KINDS[note.kind]
                return f"{unit.name}, such as `{unit.example}` ({note.least} to {note.most})"
        return plain(arguments[0])
    if origin is typing.Literal:
        return "one of " + ", ".join(f"`{word}`" for word in arguments if word)
    if origin is tuple:
        return {float: "list of numbers", str: "list of texts"}.get(arguments[0], "list of tables")
    simple = {str: "text", bool: "`true` or `false`", int: "whole number", float: "number"}
    return simple.get(kind, getattr(kind, "__name__", str(kind)))  # type: ignore[arg-type]


def value_of(field: FieldInfo) -> str:
    for note in field.metadata:
        if isinstance(note, Q):
            unit = KINDS[note.kind]
            return f"{unit.name}, such as `{unit.example}` ({note.least} to {note.most})"
    names = {"Lead": "lead, such as `0.75 mm², 0.4 m`", "ListeningLevel": "`82 dB(A) at 2 m`"}
    name = getattr(field.annotation, "__name__", "")
    words = names.get(name) or plain(field.annotation)
    for note in field.metadata:
        least, most = getattr(note, "ge", None), getattr(note, "le", None)
        words += f", {least} or more" if least is not None else ""
        words += f", {most} at most" if most is not None else ""
    return words


def default_of(field: FieldInfo) -> str:
    if field.is_required():
        return "**needed**"
    default = field.default
    if default in (None, "", (), PydanticUndefined):
        return ""
    shown = str(default).lower() if isinstance(default, bool) else str(default)
    return f"`{shown.removesuffix(' (standard)')}`"


def table_of(model: type, *, skip: frozenset[str]) -> list[str]:
    rows = ["| key | what | value | if left out |", "|---|---|---|---|"]
    for key, field in model.model_fields.items():  # type: ignore[attr-defined]
        if key not in skip:
            what = (field.description or "").replace("|", "\\|")
            rows.append(f"| `{key}` | {what} | {value_of(field)} | {default_of(field)} |")
    return rows


def width_of(basis: Basis) -> str:
    if not basis.below and not basis.above:
        return "none"
    return f"−{basis.below * 100:.0f} % to +{basis.above * 100:.0f} %"


def build_file_page() -> str:
    common = frozenset(Named.model_fields)
    fed = frozenset(Fed.model_fields) - common
    lines = [
        NOTE,
        "# The build file",
        "",
        "One text file in TOML says what the build is. `boomwright new` writes one to start from.",
        'A key that a part of the drawer fills in may be left out: `part = "agm-12v-9ah"`.',
        "A kind that may come several times is written `[fuse]` once or `[[fuse]]` several times.",
        "",
        "## Values",
        "",
        "A value is a number with its unit, in quotes. It may say how wide it could be and what it",
        "rests on:",
        "",
        "| written | means |",
        "|---|---|",
        '| `"7 Ah"` | seven ampere-hours, as on the label |',
        '| `"4k7"`, `"2R2"`, `"AWG 18"` | short forms of the trade |',
        '| `"7 Ah ±10 %"` | a spread |',
        '| `"6 to 8 Ah"` | a range; the middle is likely |',
        '| `"25 mΩ [15 to 40]"` | a likely value and its range |',
        '| `"5.8 Ah (measured)"` | what it rests on |',
        "",
        "| basis | means | range if none is given |",
        "|---|---|---|",
        *(f"| `({basis.name})` | {basis.says} | {width_of(basis)} |" for basis in BASES.values()),
        "",
        "Levels in dB and temperatures widen by a fixed step instead: 4 for a guess, 2 for",
        "typical, 1 for a label, 0.5 for a reading; a claim counts 3 below and nothing above.",
        "",
        "## The whole file",
        "",
        *table_of(Build, skip=frozenset({*ONE_KINDS, *MANY_KINDS, "want", "music"})),
        "",
        "## `[want]`",
        "",
        *table_of(
            type(Build.model_fields["want"].get_default(call_default_factory=True)),
            skip=frozenset(),
        ),
        "",
        "## `[music]`",
        "",
        f"{(Music.__doc__ or '').splitlines()[0]}",
        "Left out, the build plays the typical programme that `[want]` names.",
        "",
        *table_of(Music, skip=frozenset()),
        "",
        "## Every part",
        "",
        "These keys may stand in every table below.",
        "",
        *table_of(Named, skip=frozenset()),
        "",
        "A part below the battery also has these. Left out, `fed_by` follows the usual chain:",
        "battery, fuse, polarity, switch, cutoff, and then everything else; a receiver or a USB",
        "port hangs on the rail of its voltage. A lead is copper size, one-way length and perhaps",
        'a connector of the drawer: `"AWG 18, 30 cm, spade-6mm3"`.',
        "",
        *table_of(Fed, skip=common),
    ]
    for kind, model in {**ONE_KINDS, **MANY_KINDS}.items():
        many = " (may come several times)" if kind in MANY_KINDS else ""
        skip = common | (fed if issubclass(model, Fed) else frozenset())
        lines += ["", f"## `[{kind}]`{many}", "", f"{(model.__doc__ or '').splitlines()[0]}", ""]
        lines += table_of(model, skip=skip)
        if kind == "battery":
            lines += ["", "Each row of `rate_table`:", "", *table_of(RatePoint, skip=frozenset())]
        if kind == "driver":
            lines += FILTER
        for key, circuit in tables_in(model):
            says = (circuit.__doc__ or "").splitlines()[0]
            lines += [
                "",
                f"### `[{kind}.{key}]`",
                "",
                says,
                "",
                *table_of(circuit, skip=frozenset()),
            ]
    lines += ["", "## Kinds of the drawer that are no table of a build file", ""]
    for kind, model in COMPONENT_KINDS.items():
        lines += [f"### {kind}", "", f"{(model.__doc__ or '').splitlines()[0]}", ""]
        lines += [*table_of(model, skip=common), ""]
    return "\n".join(lines).rstrip() + "\n"


FILTER = [
    "",
    "The steps of `filter` run from the amplifier to the driver. A step is `series` (in the lead)",
    "or `across` (from there to the other lead), then a component or several in a chain:",
    "",
    "| written | means |",
    "|---|---|",
    '| `"series 6.8 µF"` | a film capacitor in the lead, 10 % wide |',
    '| `"series 6.8 µF bipolar 63 V"` | its kind, and the volts it stands |',
    '| `"across 0.33 mH 0.4 Ω"` | a coil and the resistance of its wire |',
    '| `"series 2.2 Ω 5 W"` | a resistor and the watts it stands |',
    '| `"across 6.8 Ω + 12 µF"` | a chain: both in series, across the leads |',
]
"""How a filter is written, below the keys of a driver."""


def tables_in(model: type) -> list[tuple[str, type]]:
    """Keys of a table that hold a table of their own: a soldered circuit, a vent, a radiator."""
    return [
        (key, choice)
        for key, field in model.model_fields.items()  # type: ignore[attr-defined]
        for choice in typing.get_args(field.annotation)
        if isinstance(choice, type)
        and choice.__module__.endswith(("build.circuits", "build.openings"))
    ]


def commands_of(some: typer.Typer) -> list[list[str]]:
    """Words of every command of an app, those of its groups after the group itself."""
    found = [
        [command.name or command.callback.__name__]  # type: ignore[union-attr]
        for command in some.registered_commands
    ]
    for group in some.registered_groups:
        found.append([group.name])  # type: ignore[list-item]
        found += [[str(group.name), *words] for words in commands_of(group.typer_instance)]  # type: ignore[arg-type]
    return found


def commands_page() -> str:
    runner = CliRunner(env={"COLUMNS": "90", "NO_COLOR": "1", "TERM": "dumb"})
    lines = [NOTE, "# Commands", ""]
    for words in [[], *commands_of(app)]:
        said = runner.invoke(app, [*words, "--help"], prog_name="boomwright").output
        title = " ".join(["boomwright", *words])
        text = "\n".join(line.rstrip() for line in said.strip().splitlines())
        lines += [f"## `{title}`", "", "```text", text, "```", ""]
    lines += [
        "Exit codes: 0 fine or mind, 1 something must stop, 2 what was given cannot be used.",
    ]
    return "\n".join(lines) + "\n"


def rules_page() -> str:
    lines = [
        NOTE,
        "# Rules",
        "",
        "What `boomwright check` looks for. Each finding says what, where, the numbers, why and",
        "what to do; `stop` means do not go on like this, `mind` means know it and decide, `fine`",
        "is advice and no fault. The page of a rule shows a case in which it fires.",
    ]
    for question, title in rule_pages.QUESTIONS.items():
        lines += [
            "",
            f"## {title}",
            "",
            "| rule | looks for | the limit comes from |",
            "|---|---|---|",
        ]
        lines += [
            f"| [`{rule.id}`](rules/{rule.id}.md) | {rule.title} | {rule.source} |"
            for rule in sorted(all_rules(), key=lambda rule: rule.id)
            if rule.question == question
        ]
    return "\n".join(lines) + "\n"


METHODS = {
    "amplifier": ("amplifier", "claims", "clipping"),
    "battery": ("battery", "pack", "kibam", "chemistry", "peukert", "shelf"),
    "circuits": (
        "zener",
        *(f"circuit.{name}" for name in ("laws", "operating", "sweep", "thresholds", "readings")),
        *(f"circuit.{name}" for name in ("response", "transient", "spice")),
        *("outcome.cycling", "outcome.beats"),
    ),
    "cabinet": (
        *("enclosure", "acoustic_load", "box_response", "vent", "alignment", "limits"),
        *("placement", "stuffing", "time_response"),
        "outcome.boxes",
    ),
    "crossover": ("ladder", "filter_values", "pads", "air_coil", "summed", "curves"),
    "fuse": ("fuse", "inrush"),
    "heat": ("box", "heatsink", "touch", "convection", "air"),
    "identify": (
        *(f"bench.driver.{name}" for name in ("identified", "fit", "start", "recording", "signal")),
        *(f"bench.driver.{name}" for name in ("sweep_file", "readings", "typical")),
    ),
    "loudspeaker": ("loudspeaker", "impedance", "enclosure"),
    "loudspeaker-circuit": (
        *("driver", "acoustic_load", "box_response", "circuit.blocks.loudspeaker"),
        "outcome.loudspeaker_circuit",
    ),
    "music": (
        *(f"bench.music.{name}" for name in ("loudness", "amplitudes", "spectrum", "analysis")),
        "outcome.volumes",
    ),
    "programme": ("programme", "clipped_programme", "spectrum"),
    "protection": ("polarity", "relay", "noise"),
    "regulator": ("linear", "converter", "buck", "smoothing"),
    "sound": ("sound", "hearing", "room_level"),
    "sound-of-a-build": ("outcome.sound", "outcome.at_listener", "outcome.dose", "outcome.in_time"),
    "wire": ("wire", "preferred"),
}
"""Method page → modules whose laws it explains; of boomwright.physics where no package is named."""

IN_CODE = "\n## In the code\n"


def method_page(name: str) -> str:
    """The page as written by hand, then the list of its functions from the code."""
    text = (DOCS / "method" / f"{name}.md").read_text(encoding="utf-8").split(IN_CODE)[0]
    rows = ["", "| function | gives |", "|---|---|"]
    for entry in METHODS[name]:
        module_name = entry if "." in entry else f"physics.{entry}"
        module = importlib.import_module(f"boomwright.{module_name}")
        for function in module.__all__:
            law = getattr(module, function)
            if inspect.isfunction(law):
                summary = (law.__doc__ or "").splitlines()[0].replace("|", "\\|")
                rows.append(f"| `{module_name}.{function}` | {summary} |")
    return text.rstrip() + "\n" + IN_CODE + "\n".join(rows) + "\n"


PAGES = {
    "build-file.md": build_file_page,
    "commands.md": commands_page,
    "rules.md": rules_page,
    **{f"method/{name}.md": partial(method_page, name) for name in METHODS},
    **rule_pages.PAGES,
    **tutorial_page.PAGES,
}


def main(arguments: list[str]) -> int:
    stale = []
    for file in sorted((DOCS / "rules").glob("*.md")):
        name = f"rules/{file.name}"
        if name not in PAGES:
            stale.append(name)
            if "--check" not in arguments:
                file.unlink()
    for name, page in PAGES.items():
        text, file = page(), DOCS / name
        if not file.exists() or file.read_text(encoding="utf-8") != text:
            stale.append(name)
            if "--check" not in arguments:
                file.parent.mkdir(exist_ok=True)
                file.write_text(text, encoding="utf-8")
    for name in stale:
        print(f"docs/{name} {'is stale' if '--check' in arguments else 'brought up to date'}")
    return 1 if stale and "--check" in arguments else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
