"""A number the plan rests on."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Assumption:
    """A number the plan rests on. source: where it comes from, or 'common practice', or 'job file'."""

    name: str
    value: str
    unit: str
    source: str
