"""How plain a text is: the Flesch-Kincaid grade, with a small counter of syllables."""

import re
from functools import cache

_VOWELS = re.compile("(?:[aeiou]|y(?![aeiou]))+")
_SPOKEN_APART = re.compile(r"(?<=[aeiouy])ing|ia|(?<![ctxs])io(?!n)|ie(?=[rt]|nc)|iu|uel|eo|ua(?=[lt])")
_SILENT = re.compile(r"(?<![aeiouy])(?<!^)e(?=ful|less|ly$|ment|s?$|d$|where|thing|time)")
_SOUNDED = re.compile(r"[^aeiouyl]le[sd]?$|[td]ed$|(?:[sxzcg]|ch|sh)es$")
_KNOWN = {"area": 3, "idea": 3, "people": 2, "something": 2, "every": 2, "create": 2, "gauges": 2, "mm": 1}
"""Words that the rules get wrong."""
NEVER_SAID = re.compile(
    r"\b(optimal|insufficient|exceed(?:s|ed)?|errors?|warnings?|clear|suction power|pull)\b", re.IGNORECASE
)
"""Words that the page leaves out: stilted, alarming, or wrong (nothing pulls water; clear reads as clean water)."""
_STOP = re.compile(r"(?<=[.?!])[”’)]*\s+")


@cache
def syllables(word: str) -> int:
    """Syllables by groups of vowels, a silent e left out. A figure or symbol counts as one, as Flesch counts them."""
    letters = re.sub("[’']s$|[^a-z]", "", word.lower())
    if letters in _KNOWN:
        return _KNOWN[letters]
    silent = 0 if _SOUNDED.search(letters) else len(_SILENT.findall(letters))
    count = len(_VOWELS.findall(letters)) + len(_SPOKEN_APART.findall(letters)) - silent
    return max(count + bool(re.search("[sd]n[’']t$", word.lower())), 1)


def words_of(text: str) -> list[str]:
    """Words and figures; a lone mark is none, a hyphen parts two."""
    return [word for word in re.split(r"[\s\-/×–·…]+", text) if re.search(r"\w", word)]


def sentences_of(text: str) -> list[str]:
    """Sentences of a text, each with its stop."""
    return [part.strip() for part in _STOP.split(text) if words_of(part)]


def grade(*texts: str) -> float:
    """Grade of texts taken together: 0.39 words a sentence + 11.8 syllables a word - 15.59.

    J. P. Kincaid, R. P. Fishburne, R. L. Rogers, B. S. Chissom, "Derivation of New Readability Formulas for Navy
    Enlisted Personnel", Research Branch Report 8-75, 1975. [school years in the US]
    """
    sentences = [sentence for text in texts for sentence in sentences_of(text)]
    words = [word for sentence in sentences for word in words_of(sentence)]
    return 0.39 * len(words) / len(sentences) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59
