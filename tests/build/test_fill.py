"""What a short build file leaves unsaid is filled in as usual, and nothing it says is changed."""

from __future__ import annotations

import copy
import itertools
import tomllib
from typing import Any

import pytest

from boomwright.build.drawer import Drawer
from boomwright.build.fill import CHAIN, Filled, fill

DRAWER = Drawer(
    {
        "fuse": {"blade-5a": {"rating": "5 A", "distance": "9 cm", "status": "standard"}},
        "battery": {"agm": {"chemistry": "lead-agm", "cells": 6, "capacity": "7 Ah"}},
    }
)


def _fill(text: str) -> Filled:
    return fill(tomllib.loads(text), DRAWER)


def _feeds(text: str) -> dict[str, str]:
    values = _fill(text).values
    tables = [table for kind in values.values() if isinstance(kind, list) for table in kind]
    return {table["name"]: table["fed_by"] for table in tables if "fed_by" in table}


@pytest.mark.parametrize(
    "kinds", [kinds for size in range(5) for kinds in itertools.combinations(CHAIN, size)]
)
def test_chain_hangs_in_its_usual_order_whatever_is_missing(kinds):
    written = "".join(f"[{kind}]\n" for kind in reversed(kinds))
    feeds = _feeds(f"[amplifier]\n[load]\n{written}[battery]\n")
    above = ["battery", *kinds]
    assert feeds == {
        **dict(zip(kinds, above[:-1], strict=True)),
        "amplifier": above[-1],
        "load": above[-1],
    }


def test_supply_takes_the_place_of_the_battery():
    assert _feeds("[supply]\nname = 'brick'\n[fuse]\n[amplifier]\n") == {
        "fuse": "brick",
        "amplifier": "fuse",
    }


def test_no_source_hangs_on_the_supply_that_is_missing():
    assert _feeds("[amplifier]\n") == {"amplifier": "supply"}


def test_names_are_used_in_feeds():
    feeds = _feeds("[battery]\nname='B'\n[fuse]\nname='F'\n[switch]\nname='S'\n[amplifier]\n")
    assert feeds == {"F": "B", "S": "F", "amplifier": "S"}


def test_second_fuse_hangs_on_the_end_of_the_chain():
    feeds = _feeds("[battery]\n[[fuse]]\n[[fuse]]\n[switch]\n[cutoff]\n")
    assert feeds == {"fuse": "battery", "fuse-2": "cutoff", "switch": "fuse", "cutoff": "switch"}


def test_names_count_from_two():
    values = _fill("[[load]]\n[[load]]\nname = 'lamp'\n[[load]]\n[want]\n").values
    assert [table["name"] for table in values["load"]] == ["load", "lamp", "load-3"]
    assert "name" not in values["want"]


def test_written_feed_is_kept():
    text = "[battery]\n[fuse]\n[switch]\nfed_by = 'battery'\n[cutoff]\nfed_by = 'rail'\n[rail]\n"
    feeds = _feeds(text + "[amplifier]\nfed_by = 'fuse'\n")
    assert feeds["switch"] == "battery"
    assert feeds["cutoff"] == "rail"
    assert feeds["amplifier"] == "fuse"
    assert feeds["rail"] == "fuse"


def test_written_feed_along_the_chain_carries_it_on():
    feeds = _feeds("[battery]\n[fuse]\n[switch]\nfed_by = 'fuse'\n[amplifier]\n")
    assert feeds["amplifier"] == "switch"


RAILS = "[battery]\n[switch]\n[[rail]]\nname='twelve'\nvoltage='12 V'\n[[rail]]\nname='five'\n"
RAILS += "voltage = '5.1 V'\n"


@pytest.mark.parametrize(
    ("part", "feeder"),
    [
        ("[receiver]\n", "five"),
        ("[receiver]\nvoltage = '5 V'\n", "five"),
        ("[receiver]\nvoltage = '12.4 V'\n", "twelve"),
        ("[receiver]\nvoltage = '9 V'\n", "switch"),
        ("[receiver]\nvoltage = 'nonsense'\n", "switch"),
        ("[receiver]\nvoltage = 12\n", "switch"),
        ("[receiver]\nvoltage = '0 V'\n", "switch"),
        ("[receiver]\nfed_by = 'switch'\n", "switch"),
        ("[usb]\n", "five"),
        ("[amplifier]\n", "switch"),
        ("[load]\n", "switch"),
    ],
)
def test_receivers_and_usb_hang_on_the_rail_of_their_voltage(part, feeder):
    feeds = _feeds(RAILS + part)
    assert feeds[part[1 : part.index("]")]] == feeder


def test_usb_without_a_five_volt_rail_hangs_on_the_chain():
    assert _feeds("[battery]\n[[rail]]\nvoltage = '12 V'\n[usb]\n")["usb"] == "battery"
    assert _feeds("[battery]\n[[rail]]\n[usb]\n")["usb"] == "battery"


def test_driver_of_the_only_amplifier():
    values = _fill("[amplifier]\nname = 'amp'\n[[driver]]\n[[driver]]\namplifier = 'x'\n").values
    assert [driver["amplifier"] for driver in values["driver"]] == ["amp", "x"]
    two = _fill("[[amplifier]]\n[[amplifier]]\n[driver]\n").values
    assert "amplifier" not in two["driver"][0]
    assert "amplifier" not in _fill("[driver]\n").values["driver"][0]


def test_drawer_part_fills_what_is_not_written():
    filled = _fill("[fuse]\npart = 'blade-5a'\ndistance = '3 cm'\n")
    assert filled.values["fuse"][0] == {
        "part": "blade-5a",
        "rating": "5 A (standard)",
        "distance": "3 cm",
        "status": "standard",
        "name": "fuse",
        "fed_by": "supply",
    }
    assert filled.origins[("fuse", 0, "rating")] == "blade-5a"
    assert ("fuse", 0, "distance") not in filled.origins
    assert not filled.problems


def test_volume_of_ones_own_goes_before_the_sizes_of_a_part():
    sizes = {"width": "20 cm", "height": "33 cm", "depth": "21 cm", "wall": "12 mm"}
    drawer = Drawer({"cabinet": {"shelf": sizes}})
    own = fill(tomllib.loads("[cabinet]\npart = 'shelf'\nvolume = '9 L'\n"), drawer)
    assert own.values["cabinet"]["volume"] == "9 L"
    assert own.values["cabinet"].keys() & {"width", "height", "depth", "wall"} == {"wall"}
    text = "[cabinet]\npart = 'shelf'\nvolume = '9 L'\nwidth = '8 cm'\n"
    cabinet = fill(tomllib.loads(text), drawer).values["cabinet"]
    assert cabinet["width"] == "8 cm"
    assert cabinet.keys() >= {"height", "depth"}


def test_unknown_drawer_part_names_the_nearest():
    ((path, problem),) = _fill("[[fuse]]\npart = 'blad-5a'\n").problems
    assert path == ("fuse", 0, "part")
    assert problem.says == "no such fuse in the drawer"
    assert problem.got == "'blad-5a'"
    assert "Did you mean 'blade-5a'?" in problem.hint
    assert "boomwright drawer fuse" in problem.hint
    ((_, other),) = _fill("[battery]\npart = 'blade-5a'\n").problems
    assert "Known here: agm." in other.hint


def test_unknown_key_at_the_top_names_the_nearest():
    ((path, problem),) = _fill("batery = 1\n").problems
    assert path == ("batery",)
    assert problem.hint == "Did you mean 'battery'?"


def test_kind_of_which_there_is_one():
    ((path, problem),) = _fill("[[battery]]\n[[battery]]\n").problems
    assert (path, problem.says) == (("battery",), "more than one battery")


def test_names_taken_twice():
    filled = _fill("[battery]\nname='x'\n[fuse]\nname='x'\n[[load]]\n[[load]]\nname='load'\n")
    assert [(path, problem.says) for path, problem in filled.problems] == [
        (("fuse", 0, "name"), "the name 'x' is taken by another battery"),
        (("load", 1, "name"), "the name 'load' is taken by another load"),
    ]


def test_path_as_the_file_has_it():
    filled = _fill("[fuse]\n[[load]]\n")
    assert filled.written(("fuse", 0, "rating")) == ("fuse", "rating")
    assert filled.written(("fuse", 0)) == ("fuse",)
    assert filled.written(("load", 0, "current")) == ("load", 0, "current")
    assert filled.written(("battery", "rate_table", 0)) == ("battery", "rate_table", 0)
    assert filled.written(("fuse",)) == ("fuse",)


@pytest.mark.parametrize("wrong", [0, False, 5, [], {}, ["battery"], 1.5])
@pytest.mark.parametrize("key", ["name", "fed_by"])
def test_wrong_type_is_kept_for_the_model_to_refuse(key, wrong):
    raw: dict[str, Any] = {"battery": {}, "fuse": {key: wrong}}
    assert fill(raw, DRAWER).values["fuse"][0][key] == wrong


@pytest.mark.parametrize("content", ["text", 5, 2.5, True, [], ["a"], [[1]], [5, {}], {}])
@pytest.mark.parametrize("kind", ["battery", "fuse", "driver", "amplifier", "rail", "want", "name"])
def test_any_content_is_filled_without_a_traceback(kind, content):
    raw = {"battery": {}, "usb": {}, "driver": {}, kind: content}
    before = copy.deepcopy(raw)
    fill(raw, DRAWER)
    assert raw == before
