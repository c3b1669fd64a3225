"""Phrases that this kit writes in English inside of a refusal, in the reader's language.

The table `page.phrase` has each of them, with places for what varies. A phrase is found by its
English text, and said by the text of the same key in the reader's language.
"""

import re
from functools import lru_cache

from airover.proposal.said import Said
from airover.texts import PLACE, Texts

TABLE = "page.phrase."
# Figures, units and a few words that join them: the same in every language but for these words.
_PLAIN = re.compile(
    r"(?:[-+\d.,/%°\s()\"]|\b(?:to|or|and|about|hp|k?W|V|VAC|A|uF|F|Hz|rpm|in|ft|mm|cm|m3?/?[sh]?|kg|"
    r"lb|oz|g|deg[FC]?|K|rad|cfm|l/s|s|h|hr|min|Btu/?h|MBH|tons|MW|USD|degF|degC|E?\d+|e[+-]?\d+|"
    r"cycles|mfd|amp)\b|\")+"
)


def phrase(text: str, said: Said) -> str | None:
    """``text`` in the language of ``said``, or None for a phrase that the table does not have."""
    if said.texts.language == "en":
        return said.typed(text)
    for pattern, key in _patterns():
        if match := pattern.fullmatch(text):
            values = {name: _value(value, said) for name, value in match.groupdict().items()}
            return said.texts(key, **values)
    return said.typed(text) if _PLAIN.fullmatch(text) else None


def _value(text: str, said: Said) -> str:
    """What stands in a place: a word, a phrase again, or figures, units, examples as they are."""
    word = said.texts.word(text)
    return word if word != text else phrase(text, said) or said.typed(text)


@lru_cache
def _patterns() -> list[tuple[re.Pattern, str]]:
    """The English phrases as patterns, those with the most words first."""
    english = {key: text for key, text in Texts("en").texts.items() if key.startswith(TABLE)}
    longest = sorted(english.items(), key=lambda pair: -len(PLACE.sub("", pair[1])))
    return [(re.compile(_pattern(text)), key) for key, text in longest]


def _pattern(text: str) -> str:
    parts = PLACE.split(text)  # every second one is the name of a place
    return "".join(
        f"(?P<{part}>.+?)" if at % 2 else re.escape(part) for at, part in enumerate(parts)
    )
