"""Edits of a build file's text that keep its comments, order and layout."""

from __future__ import annotations

from collections.abc import Mapping

from boomwright.build.locate import Path

__all__ = ["with_values"]


def with_values(text: str, values: Mapping[Path, str | int | bool | None]) -> str:
    r"""Text with some values set, everything else as it was.

    Parameters
    ----------
    text : str
        TOML.
    values : mapping of path to value
        Path → new value; None takes the entry out. Missing tables are made.

    Returns
    -------
    str

    Raises
    ------
    KeyError
        If an index of a path lies past the end of its array.

    Examples
    --------
    >>> print(with_values('[want]\nhours = "5 h"  # one afternoon\n', {("want", "hours"): "6 h"}))
    [want]
    hours = "6 h"  # one afternoon
    <BLANKLINE>
    """
    import tomlkit
    from tomlkit.container import Container
    from tomlkit.items import AoT, Table

    document = tomlkit.parse(text)
    for path, value in values.items():
        place: object = document
        for step in path[:-1]:
            if isinstance(step, int):
                if not isinstance(place, AoT) or step >= len(place):
                    raise KeyError(f"no table {step + 1} at {path[0]}")
                place = place[step]
            elif isinstance(place, Container | Table):
                if step not in place:
                    place[step] = tomlkit.table()
                place = place[step]
            else:
                raise KeyError(f"{step} stands in no table")
        key = str(path[-1])
        if not isinstance(place, Container | Table):
            raise KeyError(f"{key} stands in no table")
        if value is None:
            place.pop(key, None)
        else:
            place[key] = value
    return tomlkit.dumps(document)
