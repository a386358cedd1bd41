"""Edits of a text: what changes, and that nothing else does."""

from __future__ import annotations

import tomllib

import pytest

from boomwright.build.edit import Edit, edits_between, with_table, with_values

TEXT = """\
# My box.
name = "Box"  # not painted yet

[battery]
part = "agm-12v-7ah"  # from the alarm panel
# weighed on the kitchen scale
mass = "2.2 kg"

# The fuse sits in the lid.
[fuse]
rating = "5 A"   # blade
# spare one taped beside it

[[driver]]
name = "left"
count = 1

[[driver]]  # the other side
name = "right"
count = 1
"""


def test_new_key_follows_the_last_entry_of_its_table():
    done = with_values(TEXT, {("battery", "vented_bay"): True, ("fuse", "distance"): "10 cm"})
    assert done == TEXT.replace(
        'mass = "2.2 kg"\n', 'mass = "2.2 kg"\nvented_bay = true\n'
    ).replace("# blade\n", '# blade\ndistance = "10 cm"\n')


def test_value_is_replaced_in_its_place():
    done = with_values(TEXT, {("fuse", "rating"): "7.5 A", ("driver", 1, "count"): 3})
    assert done == TEXT.replace('"5 A"', '"7.5 A"').replace(
        'name = "right"\ncount = 1', 'name = "right"\ncount = 3'
    )


def test_entry_taken_out_leaves_its_comment():
    done = with_values(TEXT, {("battery", "part"): None, ("battery", "cells"): None})
    assert done == TEXT.replace('part = "agm-12v-7ah"  # from', "# from")


def test_text_with_quotes_and_backslashes_is_written_right():
    said = 'a "box" of \\ wood\nand more'
    assert tomllib.loads(with_values(TEXT, {("fuse", "title"): said}))["fuse"]["title"] == said


def test_strings_over_several_lines_are_no_headers():
    text = '[battery]\ntitle = """\n[fuse]\n# none\n"""\n\n[want]\nhours = "5 h"\n'
    done = tomllib.loads(with_values(text, {("battery", "cells"): 6}))
    assert done["battery"] == {"title": "[fuse]\n# none\n", "cells": 6}
    assert list(done) == ["battery", "want"]


def test_new_table_stands_where_its_kind_usually_stands():
    done = with_table(TEXT, "switch", {"part": "rocker-automotive"})
    block = '# spare one taped beside it\n\n[switch]\npart = "rocker-automotive"\n\n[[driver]]'
    assert block in done
    assert done.replace('[switch]\npart = "rocker-automotive"\n\n', "") == TEXT


def test_comment_right_above_a_header_stays_with_it():
    done = with_table(TEXT, "supply", {"part": "brick-12v-5a"})
    assert 'part = "brick-12v-5a"\n\n# The fuse sits in the lid.\n[fuse]' in done


def test_first_table_of_a_file_without_one():
    done = with_table('name = "Box"\n', "want", {"hours": "6 h"})
    assert done == 'name = "Box"\n\n[want]\nhours = "6 h"\n'


def test_single_table_becomes_the_first_of_several():
    done = with_table(TEXT, "fuse", {"name": "lamp fuse", "rating": "1 A"})
    assert '# The fuse sits in the lid.\n[[fuse]]\nrating = "5 A"   # blade\n' in done
    assert '# spare one taped beside it\n\n[[fuse]]\nname = "lamp fuse"\nrating = "1 A"\n' in done
    assert [table["rating"] for table in tomllib.loads(done)["fuse"]] == ["5 A", "1 A"]


def test_one_more_of_several():
    done = tomllib.loads(with_table(TEXT, "driver", {"name": "sub"}))
    assert [table["name"] for table in done["driver"]] == ["left", "right", "sub"]


@pytest.mark.parametrize(
    "text",
    [
        'fuse = {rating = "5 A"}  # inline\nname = "Box"\n',
        'fuse = [{rating = "5 A"}]\nname = "Box"\n',
        'name = "Box"\n[[fuse]]\nrating = "5 A"',
    ],
)
def test_other_ways_to_write_tables(text):
    paths = {"inline": ("fuse", "distance"), "array": ("fuse", 0, "distance")}
    path = paths["inline" if "inline" in text else "array"]
    changed = tomllib.loads(with_values(text, {path: "7 cm"}))["fuse"]
    assert (changed[0] if isinstance(changed, list) else changed)["distance"] == "7 cm"
    added = tomllib.loads(with_table(text, "fuse", {"rating": "2 A"}))
    assert added["fuse"] == [{"rating": "5 A"}, {"rating": "2 A"}]
    assert added["name"] == "Box"


def test_dotted_keys_take_values_but_no_second_table():
    text = 'name = "Box"\nfuse.rating = "5 A"\n'
    done = tomllib.loads(with_values(text, {("fuse", "distance"): "7 cm"}))
    assert done["fuse"] == {"rating": "5 A", "distance": "7 cm"}
    with pytest.raises(KeyError, match="fuse is written in dotted keys"):
        with_table(text, "fuse", {"rating": "2 A"})


@pytest.mark.parametrize("path", [("driver", 2, "count"), ("name", "x"), ("fuse", 0, "rating")])
def test_path_that_leads_nowhere(path):
    with pytest.raises(KeyError, match="no table"):
        with_values(TEXT, {path: 1})


def test_edits_name_key_values_and_line():
    done = with_values(
        TEXT,
        {("fuse", "rating"): "7.5 A", ("driver", 1, "count"): 3, ("battery", "mass"): None},
    )
    done = with_table(done, "fuse", {"rating": "1 A"})
    lines = done.split("\n")
    edits = edits_between(TEXT, done)
    assert edits == (
        Edit("battery.mass", "2.2 kg", None, 4),
        Edit("fuse.1.rating", "5 A", "7.5 A", lines.index('rating = "7.5 A"   # blade') + 1),
        Edit("fuse.2.rating", None, "1 A", lines.index('rating = "1 A"') + 1),
        Edit("driver.2.count", 1, 3, lines.index("count = 3") + 1),
    )


def test_same_text_has_no_edits():
    assert edits_between(TEXT, TEXT + "\n# a remark\n") == ()


def test_lists_stand_on_lines_that_fit():
    numbers = [float(number) for number in range(20)]
    text = with_values(
        TEXT, {("music", "levels"): numbers, ("music", "files"): ["a.ogg", 'b "live".ogg']}
    )
    assert tomllib.loads(text)["music"] == {"levels": numbers, "files": ["a.ogg", 'b "live".ogg']}
    assert "levels = [\n  0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0,\n  8.0" in text
    assert text.count("\nfiles = [") == 1


def test_a_list_is_set_anew_and_keeps_its_comment():
    text = "[music]\nbands = [63.0, 125.0]  # two\nlevels = [0.0]\n"
    done = with_values(text, {("music", "bands"): [31.5, 63.0, 125.0]})
    assert done == "[music]\nbands = [31.5, 63.0, 125.0]  # two\nlevels = [0.0]\n"


def test_items_of_a_list_change_and_the_comments_between_them_stay():
    text = """[driver]
filter = [
    "series 5.6 µF",   # film
    "across 0.33 mH",  # air coil
]
"""
    found = with_values(
        text, {("driver", "filter"): ("series 4.7 µF", "across 0.33 mH", "series 2.2 Ω")}
    )
    assert "# film" in found
    assert "# air coil" in found
    assert tomllib.loads(found)["driver"]["filter"] == [
        "series 4.7 µF",
        "across 0.33 mH",
        "series 2.2 Ω",
    ]
    shorter = with_values(found, {("driver", "filter"): ("series 4.7 µF",)})
    assert tomllib.loads(shorter)["driver"]["filter"] == ["series 4.7 µF"]
    assert "# film" in shorter
