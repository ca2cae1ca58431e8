"""What a mapping in a YAML file may hold, checked by hand: quick to load, every problem located."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .errors import Problem, did_you_mean
from .yamlfile import Located

Path_ = tuple[str | int, ...]
_WORDS_FOR = {str: "text", list: "a list", dict: "keys with values", float: "a number", int: "a whole number"}


@dataclass(frozen=True)
class Key:
    """One allowed key.

    kinds     Python types that its value may have; float takes whole numbers too
    choices   the words allowed, where only some are
    bounds    least and greatest number
    inner     keys of the mapping, or of each mapping of the list, that it holds
    """

    kinds: tuple[type, ...]
    required: bool = False
    choices: tuple[str, ...] = ()
    bounds: tuple[float, float] | None = None
    inner: Mapping[str, Key] | None = None
    example: str = ""


def check(
    located: Located, data: Any, shape: Mapping[str, Key], path: Path_, name: str | None, what: str
) -> list[Problem]:
    """Every key of `data` that is unknown, missing or of the wrong kind.

    path  where `data` stands in the file
    name  what the problems are headed with; None: the key itself
    what  what the mapping is called, for example "a rule"
    """
    if not isinstance(data, dict):
        return [located.problem(path, f"must be {what}: keys with values", name)]
    problems = []
    for key, value in data.items():
        here = (*path, key)
        if key not in shape:
            problems.append(_problem(located, here, name, f"is no key of {what}{did_you_mean(key, shape)}"))
        elif value is not None or shape[key].required:
            problems += _check_value(located, value, shape[key], here, name)
    for key, rule in shape.items():
        if rule.required and key not in data:
            hint = f"; write for example {rule.example}" if rule.example else f"; {what} needs it"
            problems.append(_problem(located, (*path, key), name, f"is missing{hint}"))
    return problems


def _problem(located: Located, path: Path_, name: str | None, text: str) -> Problem:
    key = ".".join(str(part) for part in path if isinstance(part, str))
    return located.problem(path, f"{path[-1]}: {text}" if name else text, name or key)


def _check_value(located: Located, value: Any, rule: Key, path: Path_, name: str | None) -> list[Problem]:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not isinstance(value, rule.kinds) and not (float in rule.kinds and number):
        kinds = " or ".join(_WORDS_FOR[kind] for kind in rule.kinds)
        return [_problem(located, path, name, f"must be {kinds}, not {value!r}")]
    if rule.choices and isinstance(value, str) and value not in rule.choices:
        return [_problem(located, path, name, f"must be {_either(rule.choices)}, not {value!r}")]
    if rule.bounds and number and not rule.bounds[0] <= value <= rule.bounds[1]:
        return [
            _problem(located, path, name, f"must lie between {rule.bounds[0]:g} and {rule.bounds[1]:g}, not {value!r}")
        ]
    if rule.required and value in ("", [], {}):
        return [_problem(located, path, name, "is empty")]
    if rule.inner is None:
        return []
    called = f"an entry of {path[-1]}"
    if isinstance(value, list):
        return [p for i, entry in enumerate(value) for p in check(located, entry, rule.inner, (*path, i), name, called)]
    return check(located, value, rule.inner, path, name, called) if isinstance(value, dict) else []


def _either(choices: tuple[str, ...]) -> str:
    return choices[0] if len(choices) == 1 else f"{', '.join(choices[:-1])} or {choices[-1]}"
