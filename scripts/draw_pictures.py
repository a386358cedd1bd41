"""Draw docs/img/: what the terminal shows, as SVG in the colours of the house."""

from __future__ import annotations

import io
import sys
from pathlib import Path

from rich.console import Console
from rich.terminal_theme import TerminalTheme
from rich.text import Text

from boomwright.advice.judge import judge
from boomwright.build.drawer import load_drawer
from boomwright.build.read import read_build
from boomwright.build.words import battery_of_words
from boomwright.cli.check import found_effects
from boomwright.cli.design.cutoff_files import cutoff_files
from boomwright.cli.show import print_verdict
from boomwright.design.cutoff.design import design_cutoff
from boomwright.design.cutoff.wish import cutoff_wish
from boomwright.outcome.run import run_build

ROOT = Path(__file__).resolve().parent.parent
PAPER, INK, FINE, MIND, STOP, QUIET = (
    (255, 253, 248),
    (29, 39, 51),
    (37, 107, 76),
    (138, 90, 0),
    (163, 33, 26),
    (93, 102, 114),
)
THEME = TerminalTheme(PAPER, INK, [INK, STOP, FINE, MIND, INK, INK, INK, QUIET], None)
FRAME = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {terminal_width} {terminal_height}"
 role="img" aria-label="What boomwright check prints">
<style>
.{unique_id}-matrix {{ font-family: ui-monospace, "DejaVu Sans Mono", Menlo, Consolas, monospace;
 font-size: {char_height}px; line-height: {line_height}px; font-variant-east-asian: full-width }}
{styles}
</style>
<rect width="100%" height="100%" rx="6" fill="#fffdf8" stroke="#d8cfbd"/>
<g transform="translate(14, 12) scale(0.966)">
{backgrounds}
<g class="{unique_id}-matrix">
{matrix}
</g>
</g>
</svg>
"""


def picture(file: str, *, lines: int) -> str:
    """The first lines of a check, as SVG."""
    build = read_build(ROOT / file)
    outcome = run_build(build)
    screen = Console(
        record=True, width=80, file=io.StringIO(), highlight=False, force_terminal=True
    )
    whole = Console(width=80, file=io.StringIO(), highlight=False, force_terminal=True)
    verdict = judge(build, outcome)
    screen.print(f"[dim]$[/] boomwright check {file}\n")
    effects = found_effects(ROOT / file, verdict, load_drawer())
    with whole.capture() as said:
        print_verdict(
            whole, verdict, outcome, name=build.name, file=file, brief=False, effects=effects
        )
    shown = said.get().splitlines()[:lines]
    screen.print(Text.from_ansi("\n".join(shown)))
    if len(said.get().splitlines()) > lines:
        screen.print("[dim]…[/]")
    return screen.export_svg(title="", theme=THEME, code_format=FRAME, unique_id="bw")


def cutoff_pictures() -> dict[str, str]:
    """Schematic and discharge of the cutoffs that the page on circuits speaks of, as SVG."""
    drawer = load_drawer()
    wish = cutoff_wish(battery_of_words("12 V 9 Ah AGM"))
    holding = design_cutoff("zener-relay-holding", wish, drawer, versions=20)
    return {"cutoff.svg": cutoff_files(holding)[0]}


def main() -> int:
    folder = ROOT / "docs" / "img"
    folder.mkdir(exist_ok=True)
    for name, text in cutoff_pictures().items():
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "check.svg").write_text(
        picture("examples/first-attempt.toml", lines=43), encoding="utf-8"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
