"""The one error a user sees: what is wrong, where, and the cure, on one line."""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

SELDOM_CHANCE = 0.6
"""Likeness of two words (difflib's ratio) up to which they are hardly the same one misspelt: 'shiny' and 'satin'."""
SHORT_WORD = 3
"""Letters of a word so short that it is like another, or stands in one, by chance."""
NAMED = 3
"""Of a long list so many names are told where none is close (our choice)."""


class InputError(Exception):
    """Something the user gave cannot be used. The command line prints it and leaves with exit code 2.

    what: what arrived and why it is wrong. where: file, key and value as far as known. key: of the job, as
    'run.session_min', where it is the value of one that is wrong; it is told where there is no `where`.
    cure: what to write or do instead. No control character of the input reaches the terminal; bytes of a file's name
    that Python keeps as lone surrogates (PEP 383) are shown as the text they are, if any.
    """

    def __init__(self, what: str, *, where: str = "", cure: str = "", key: str = "") -> None:
        # The parts are kept: whoever catches it says it again under another name of the place (`naming`).
        self.what, self.where, self.cure, self.key = what, where or key, cure, key
        text = (f"{self.where}: " if self.where else "") + what + (f"; {cure}" if cure else "")
        plain = "".join(c if c.isprintable() or "\udc80" <= c <= "\udcff" else " " for c in text)
        super().__init__(plain.encode("utf-8", "surrogateescape").decode("utf-8", "replace"))


class NoSuchArea(InputError):
    """The job names areas or edges that the drawing, as it was read, has not."""


def nearest(name: str, known: "list[str] | tuple[str, ...]", most: int | None = None) -> str:
    """'did you mean' for a misspelt name: those of `known` that hold it, else the closest, as a whole or in as many of
    its words, capitals aside; when none is close the whole list, of more than `most` only the likest."""
    close = near(name, known)
    if not close and most and len(known) > most:
        word = name.strip().lower()
        likest = sorted(known, key=lambda k: -_likeness(word, k.lower()))[:most]
        return f"the nearest of its {len(known)} names: {', '.join(likest)}"
    return f"did you mean '{close[0]}'?" if len(close) == 1 else "use one of: " + ", ".join(close or known)


def near(name: str, known: "list[str] | tuple[str, ...]") -> list[str]:
    """Those of `known` that hold a misspelt name, else the closest; none where no one is close."""
    word = name.strip().lower()
    # Two letters stand in nearly every name, and three in many by chance, so these must begin a word: 'red', not 'hod'
    # in 'method'.
    within = re.escape(word) if len(word) > SHORT_WORD else rf"(?<![^\W_]){re.escape(word)}"
    if holding := [k for k in known if len(word) > 2 and re.search(within, k.lower())]:
        return holding
    close = {k: _likeness(word, k.lower()) for k in known}
    best = max(close.values(), default=0.0)
    # All that are as near as the nearest: which of 'left eye' and 'left ear' was meant nobody can tell.
    return [k for k, likeness in close.items() if likeness == best and best > SELDOM_CHANCE]


def _likeness(word: str, known: str) -> float:
    """0 to 1: 'titanum' is like 'titanium', so like 'titanium-white' and 'buff-titanium' alike."""
    # Needed only where something is wrong: it need not cost every command its time.
    from difflib import SequenceMatcher

    count, words = len(re.split(r"[\s_-]+", word)), re.split(r"[\s_-]+", known)
    # A part of a long name counts as the name: 'titanum' would be unlike 'titanium-white' as a whole.
    runs = (" ".join(words[k : k + count]) for k in range(len(words) - count + 1))
    written = (known, *(run for run in runs if len(run) > SHORT_WORD))
    spaced = re.sub(r"[\s_-]+", " ", word)
    return max(SequenceMatcher(None, *pair).ratio() for w in written for pair in ((w, word), (w, spaced)))


@contextmanager
def naming(file: str, options: Mapping[str, str], paths: Mapping[str, str], numbers: str = "") -> Iterator[None]:
    """Within it, an InputError says where its value was written: in the job file, or on the command line.

    file: the job file; the key run.start_at becomes 'my.toml: run.start_at'. options: key -> option, for those that
    were given: room.humidity_pct becomes '--humidity'. paths: path -> what named it: 'b.toml' becomes '--paints
    b.toml'. numbers: the option, if any, that has the drawing read anew, so that the job's numbers of areas may not
    fit.
    """
    try:
        yield
    except InputError as error:
        where = paths.get(error.where, error.where)
        if error.key:
            where = options.get(error.key) or (f"{file}: {error.key}" if file else where)
        if numbers and file and isinstance(error, NoSuchArea):
            where = f"{numbers} with {where}"
        if where == error.where:
            raise
        raise InputError(error.what, where=where, cure=error.cure, key=error.key) from error
