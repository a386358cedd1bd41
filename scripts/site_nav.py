"""Hook of the site: the page of each rule in the navigation, tables in boxes, marks in colour."""

from __future__ import annotations

import re
from typing import Any

from boomwright.advice.rules import all_rules

QUESTIONS = {"loud": "How loud", "long": "How long", "hot": "How hot", "safe": "How safe"}


def on_config(config: Any) -> Any:
    """Hang the page of each rule below the index of rules."""
    below: list[Any] = [{"All rules": "rules.md"}]
    for question, title in QUESTIONS.items():
        rules = sorted((r for r in all_rules() if r.question == question), key=lambda r: r.id)
        below.append({title: [{rule.title: f"rules/{rule.id}.md"} for rule in rules]})
    config.nav = [
        {"Rules": below} if isinstance(item, dict) and "Rules" in item else item
        for item in config.nav
    ]
    return config


def on_page_content(html: str, **_: Any) -> str:
    """Wide tables scroll in boxes of their own, which the keyboard reaches; marks have colour."""
    boxed = '<div class="wide" role="region" aria-label="table" tabindex="0">\\g<0></div>'
    html = re.sub(r"<table>.*?</table>", boxed, html, flags=re.DOTALL)
    html = re.sub(r"[●▲■] (fine|mind|stop)\b", r'<span class="\1">\g<0></span>', html)
    return html.replace("<pre>", '<pre tabindex="0">')
