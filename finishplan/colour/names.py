"""Plain English names for colours, by lightness, chroma and hue angle in L*a*b* (the borders are our choice)."""

import math
from collections.abc import Mapping, Sequence

from finishplan.colour.lab import Lab

# Hue angle up to which the row holds; then the name when (light and clear, light and dull, middle, dull, dark).
_HUES: tuple[tuple[float, tuple[str, str, str, str, str]], ...] = (
    (18, ("pink", "pink", "crimson", "pink", "maroon")),
    (46, ("salmon pink", "pink", "red", "brick red", "brown")),
    (68, ("peach", "beige", "orange", "brown", "brown")),
    (75, ("peach", "beige", "amber", "brown", "brown")),
    (86, ("apricot", "cream", "mustard", "khaki", "olive brown")),
    (108, ("yellow", "cream", "mustard", "khaki", "olive brown")),
    (122, ("lime green", "cream", "olive green", "olive", "olive")),
    (160, ("green", "sage green", "green", "moss green", "green")),
    (184, ("mint green", "mint green", "sea green", "sea green", "green")),
    (228, ("aqua", "aqua", "teal", "teal", "teal")),
    (262, ("sky blue", "grey blue", "blue", "slate blue", "blue")),
    (290, ("light blue", "grey blue", "blue", "slate blue", "navy blue")),
    (310, ("lavender", "lavender", "violet blue", "slate blue", "navy blue")),
    (322, ("lilac", "lilac", "violet", "mauve", "violet")),
    (344, ("orchid pink", "lilac", "purple", "mauve", "purple")),
    (360, ("pink", "pink", "magenta", "pink", "plum")),
)


# Hue angle up to which a grey leans that way, where light and where dark, after the greys of the ISCC-NBS names.
_LEANS: tuple[tuple[float, tuple[str, str]], ...] = (
    (18, ("pinkish", "reddish")),
    (75, ("pinkish", "brownish")),
    (110, ("yellowish", "olive")),
    (200, ("greenish", "greenish")),
    (290, ("bluish", "bluish")),
    (344, ("purplish", "purplish")),
    (360, ("pinkish", "reddish")),
)
_LEANING = 3.0
"""Chroma from which a grey beside others is seen to lean to a hue (our choice)."""


# Hue angle up to which the row holds; chroma above which a colour is clear and not dull (our choice).
_CLEAR = ((18, 34), (46, 38), (104, 42), (184, 34), (290, 25), (360, 34))


def _grey_name(L: float, chroma: float, hue: float) -> str:
    steps = ((29, "black"), (45, "dark"), (66, "mid"), (86, "light"))
    tone = next((name for top, name in steps if top > L), "white" if L > 95.5 else "off-white")
    if tone not in ("dark", "mid", "light"):
        return tone
    light, dark = next(words for top, words in _LEANS if hue <= top)
    return f"{tone} {light if L > 66 else dark} grey" if chroma >= _LEANING else f"{tone} grey"


def colour_name(lab: Lab) -> str:
    """A name such as 'dark teal' or 'dusky pink' for one colour."""
    L, chroma = lab[0], math.hypot(lab[1], lab[2])
    hue = math.degrees(math.atan2(lab[2], lab[1])) % 360
    # The darker a colour, the more chroma it takes before a hue is seen.
    if chroma < 5 or (L < 20 and chroma < 6):
        return _grey_name(L, chroma, hue)
    clear_light, dull_light, middle, dull, dark = next(names for top, names in _HUES if hue <= top)
    if _light_from(hue) < L:
        name = clear_light if chroma > 32 else dull_light
    elif L < 32:
        # Only a dull dark red is a brown: #800000 is maroon or dark red to everyone, #6b3a2a is not.
        name = "red" if 18 < hue <= 46 and chroma > _clear_from(L, hue) else dark
    else:
        name = middle if chroma > _clear_from(L, hue) else dull
    name = _nearer(name, L, chroma, hue)
    word = _modifier(L, chroma, hue)
    return name if not word or word in name else f"{word} {name}"


def _nearer(name: str, L: float, chroma: float, hue: float) -> str:
    """The name, where within its row another comes nearer."""
    if name == "brick red" and chroma < 26:
        return "brown"
    if name == "amber" and L < 58:
        return "golden brown"
    return "violet" if name == "navy blue" and hue > 298 and L >= 24 else name


def _light_from(hue: float) -> float:
    """Lightness above which a colour of that hue counts as light: pinks early, yellows late."""
    if hue <= 18 or hue > 344:
        return 55
    return 62 if hue <= 46 else 74 if 75 < hue <= 86 else 80 if 86 < hue <= 108 else 72


def _clear_from(L: float, hue: float) -> float:
    """Chroma above which a colour of that hue counts as clear: a dull red, and any orange that is dark but for the
    brightest rust, is a brown; the blues that paint can make have little chroma."""
    if 46 < hue <= 75 and L < 48:
        return 56
    return next(least for top, least in _CLEAR if hue <= top)


_MODIFIERS = ("bright", "pale", "very", "dark", "deep", "dusky")


def _modifier(L: float, chroma: float, hue: float) -> str:
    """The word that goes before the name, '' in the middle of the range."""
    if L > 72:
        return "bright" if chroma > 70 else "pale" if chroma < 20 or (L > 88 and chroma < 48) else ""
    if L < 22:
        return "very dark"
    if L < 42:
        return "dark" if chroma < 50 else "deep"
    return "bright" if chroma > 70 else "dusky" if chroma <= min(34, _clear_from(L, hue)) else ""


def unique_names(labs: Sequence[Lab], told: Mapping[int, str] | None = None) -> tuple[str, ...]:
    """A distinct name for each colour; colours of one name are told apart by lightness, then by number. told: names
    that some have already, by their place; they are distinct and stay."""
    told = told or {}
    names = [told.get(i) or colour_name(lab) for i, lab in enumerate(labs)]
    free = [i for i in range(len(labs)) if i not in told]
    for name in dict.fromkeys(names[i] for i in free):
        same = sorted((i for i in free if names[i] == name), key=lambda i: (-labs[i][0], i))
        # 'darker dark teal' says less than a number, and beside a dark teal a 'darker teal' may be the lighter.
        plain = name.split()[0] not in _MODIFIERS and f"dark {name}" not in names
        if plain and len(same) == 2 and labs[same[0]][0] - labs[same[1]][0] > 3:
            names[same[0]], names[same[1]] = f"lighter {name}", f"darker {name}"
        elif len(same) > 1:
            for number, i in enumerate(same[1:], start=2):
                names[i] = f"{name} {number}"
    # A number put behind above may make a name that another bears already.
    seen = dict.fromkeys(told.values(), 1)
    for i in free:
        name = names[i]
        seen[name] = seen.get(name, 0) + 1
        if seen[name] > 1:
            names[i] = f"{name} ({seen[name]})"
    return tuple(names)
