"""Recipes of a box computed before it is known for which colours, while a drawing is read: they are kept on disk, where
every search finds them. Nothing hangs on it: what is not there is computed when it is asked for; a box with too many
recipes is told of then."""

from collections.abc import Iterator
from contextlib import suppress

from finishplan.basics.errors import InputError
from finishplan.paint.cache import is_missing, stored_index
from finishplan.paint.model import Box
from finishplan.paint.recipes import Group
from finishplan.paint.settings import MixSettings
from finishplan.paint.shelf import Shelf, every_tier, make_shelf


def is_new(box: Box, settings: MixSettings) -> bool:
    """Whether recipes of this box are to be kept and the first of them are not there yet."""
    with suppress(InputError):
        return is_missing(*next(_recipes(box, settings)), settings)
    return False


def keep_recipes(box: Box, settings: MixSettings) -> None:
    """Keep the recipes of the box that hang on no colour."""
    with suppress(InputError):
        for shelf, groups in _recipes(box, settings):
            if is_missing(shelf, groups, settings):
                stored_index(shelf, groups, settings)


def _recipes(box: Box, settings: MixSettings) -> Iterator[tuple[Shelf, tuple[Group, ...]]]:
    shelf = make_shelf(box, settings)
    for groups in every_tier(shelf, settings):
        yield shelf, groups
