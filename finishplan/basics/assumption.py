"""A number the plan rests on."""

from dataclasses import dataclass

YOURS = "as you set it"


@dataclass(frozen=True)
class Assumption:
    """A number the plan rests on. source: where it comes from, or 'common practice', or YOURS. key: of the job, that
    changes it, as 'room.temperature_c'; '' where there is none."""

    name: str
    value: str
    unit: str
    source: str
    key: str = ""

    @property
    def own(self) -> bool:
        """Whether the maker set it."""
        return self.source == YOURS
