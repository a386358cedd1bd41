"""Edits of a build file as lines of words."""

from __future__ import annotations

import io

from rich.console import Console

from boomwright.build.edit import Edit
from boomwright.cli.show import edit_table


def printed(*edits):
    written = io.StringIO()
    Console(width=80, file=written).print(edit_table(edits))
    return " ".join(written.getvalue().split())


def test_tables_and_lists_of_an_edit_are_words_and_no_code():
    cone = {"count": 2, "sd": "88 cm²", "sealed": True}
    told = printed(
        Edit("cabinet.radiator", cone, None, 67),
        Edit("music.files", None, ["march.wav", "waltz.wav"], 71),
    )
    assert "line 67 cabinet.radiator count 2, sd 88 cm², sealed true taken out" in told
    assert "line 71 music.files new: march.wav, waltz.wav" in told
