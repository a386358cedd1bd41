"""The tutorial: written by hand, its screens from real runs of the file that it mends.

The page carries its own marks. ``<!-- shows: four answers -->`` and ``<!-- shows: ID … -->`` are
filled with what the check prints at that point; ``<!-- mend by hand -->`` lays the TOML block below
it over the file, after ``take out`` of what it names; ``<!-- mend by fix: ID … -->`` makes the
edits that the findings offer, and shows the command.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from worked import edited, example, mended, worked

PAGE = Path(__file__).resolve().parent.parent / "docs" / "tutorial.md"
FILE = "my-box.toml"
MARK = re.compile(
    r"<!-- (?P<verb>shows|mend by fix|mend by hand)(?:: (?P<what>[^>]*?))?"
    r"(?:; take out (?P<out>[^>]*?))? -->\n(?P<rest>.*?)<!-- end -->\n",
    re.DOTALL,
)
END = "<!-- end -->\n"


def screen(*lines: str) -> str:
    return "\n".join(["", "```text", *lines, "```", "", ""])


def shown(text: str, what: str) -> str:
    """What the check prints of a file: the head, or the findings of some rules."""
    now = worked(text, FILE)
    if what == "four answers":
        return screen(now.answers)
    said = [now.said_by(rule_id) for rule_id in what.split()]
    if "" in said:
        raise ValueError(f"{PAGE.name}: {what.split()[said.index('')]} says nothing at this point")
    return screen("\n\n".join(said))


def changed(before: str, after: str) -> list[str]:
    """The lines that an edit of a file wrote anew, each below the head of its table."""
    old, lines, head = tomllib.loads(before), [], ""
    for kind, content in tomllib.loads(after).items():
        there = old.get(kind)
        rows = content if isinstance(content, list) else [content]
        for place, row in enumerate(rows):
            if not isinstance(row, dict):
                continue
            past = there[place] if isinstance(there, list) else there or {}
            head = f"[[{kind}]]" if isinstance(content, list) else f"[{kind}]"
            name = f"   # {row['name']}" if isinstance(content, list) else ""
            keys = [key for key, value in row.items() if past.get(key) != value]
            gone = [key for key in past if key not in row]
            if keys or gone:
                lines += ["", head + name]
            for key in keys:
                value = row[key]
                plain = str(value).lower() if isinstance(value, bool) else value
                lines.append(f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {plain}")
            lines += [f"# {key} is taken out" for key in gone]
    return lines[1:]


def tutorial_page() -> str:
    """The page with its screens filled from the runs of today."""
    text, file = PAGE.read_text(encoding="utf-8"), example("first-attempt")

    def filled(mark: re.Match[str]) -> str:
        nonlocal file
        head = mark[0][: mark[0].index("-->") + 4]
        what = (mark["what"] or "").strip()
        if mark["verb"] == "shows":
            return head + shown(file, what) + END
        if mark["verb"] == "mend by fix":
            before, ids = file, what.split()
            file = mended(file, ids, FILE)
            command = f"boomwright check {FILE} " + " ".join(f"--fix {name}" for name in ids)
            wrapped = re.sub(r"(?<!^)(--fix \S+ --fix \S+) (?=--fix)", r"\1 \\\n    ", command)
            edit = "\n".join(changed(before, file))
            return head + screen(wrapped) + f"which writes:\n\n```toml\n{edit}\n```\n\n" + END
        block = re.search(r"```toml\n(.*?)```", mark["rest"], re.DOTALL)
        out = [path.strip() for path in (mark["out"] or "").split(",") if path.strip()]
        file = edited(file, block[1] if block else "", out)
        return mark[0]

    return MARK.sub(filled, text)


PAGES = {"tutorial.md": tutorial_page}
