"""The Outcome as JSON and back, without loss."""

from __future__ import annotations

from functools import cache

from pydantic import ConfigDict, TypeAdapter

from boomwright.outcome.data import Outcome

__all__ = ["outcome_from_json", "outcome_json"]


@cache
def _adapter() -> TypeAdapter[Outcome]:
    # JSON has no infinity; it is written as the text "Infinity", which reads back as the number.
    Outcome.__pydantic_config__ = ConfigDict(ser_json_inf_nan="strings")  # type: ignore[attr-defined]
    return TypeAdapter(Outcome)


def outcome_json(outcome: Outcome) -> str:
    """Outcome as JSON text.

    Parameters
    ----------
    outcome : Outcome
        Any outcome.

    Returns
    -------
    str
    """
    return _adapter().dump_json(outcome).decode()


def outcome_from_json(text: str) -> Outcome:
    """Outcome read back from its JSON text.

    Parameters
    ----------
    text : str
        From :func:`outcome_json`.

    Returns
    -------
    Outcome

    Raises
    ------
    pydantic.ValidationError
        If it is no outcome.
    """
    return _adapter().validate_json(text)
