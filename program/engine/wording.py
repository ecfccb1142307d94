"""The few turns of phrase that sentences share."""

from collections.abc import Iterable, Mapping


def clock(seconds: int) -> str:
    """Minutes and seconds: 232 is "3:52"."""
    return f"{seconds // 60}:{seconds % 60:02}"


def plural(count: int, one: str, many: str = "") -> str:
    """ "1 minute", "2 minutes"; `many` where an s will not do."""
    return f"{count} {one if count == 1 else many or f'{one}s'}"


def listed(names: Iterable[str]) -> str:
    """ "a", "a and b", "a, b and c"; each name once."""
    *first, last = dict.fromkeys(names)
    return f"{', '.join(first)} and {last}" if first else last


def without_article(what: str) -> str:
    """A need as it stands after "no": "a stable seat" is "stable seat"."""
    for article in ("a ", "an ", "the "):
        what = what.removeprefix(article)
    return what


def pattern_in_words(pattern: str) -> str:
    """A movement pattern as it is said: "single_leg" is "single leg"."""
    return pattern.replace("_", " ")


def groups_in_words[Key](keys: Iterable[Key], names: Mapping[Key, str]) -> str:
    """ "Gymnasts and another group": cohorts by key, named as far as the reader may see them."""
    keys = list(keys)
    named = sorted(names[key] for key in keys if key in names)
    others = len(keys) - len(named)
    rest = ["another group"] if others == 1 else [f"{others} other groups"] if others else []
    return listed([*named, *rest])
