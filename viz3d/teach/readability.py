"""How easy words are to read: a school grade by a published formula.

Question answered: up to which school year have people learned to read this?

English: Flesch-Kincaid grade level, 0.39 words/sentence + 11.8 syllables/word - 15.59 (Kincaid, Fishburne, Rogers &
Chissom 1975, Naval Technical Training Command, Research Branch Report 8-75). Syllables are counted by groups of vowels,
a silent e at the end left out.
"""

from __future__ import annotations

import re

FORMULAS = {"en": "Flesch-Kincaid (1975)"}
"""Language -> the formula that is used for it."""


def grade(text: str) -> float:
    """School grade of an English text; sentences end with . : ? ! or a line.

    Examples
    --------
    >>> round(grade("The cat sat on the mat."), 1)
    -1.4
    """
    sentences = [s for s in re.split(r"[.:?!](?:\s|$)|\n", text) if re.search("[a-z]", s)]
    words = [w for s in sentences for w in re.findall(r"[a-z']+", s.lower())]
    syllables = sum(max(1, len(re.findall(r"[aeiouy]+", re.sub(r"([^l])e$", r"\1", w)))) for w in words)
    if not words:
        return 0.0
    return 0.39 * len(words) / len(sentences) + 11.8 * syllables / len(words) - 15.59
