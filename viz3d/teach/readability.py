"""How easy words are to read: a school grade by a published formula, one for each language.

Question answered: up to which school year have people learned to read this?

English: Flesch-Kincaid grade level, 0.39 words/sentence + 11.8 syllables/word - 15.59 (Kincaid, Fishburne, Rogers &
Chissom 1975, Naval Technical Training Command, Research Branch Report 8-75). Syllables are counted by groups of vowels,
a silent e at the end left out.

Spanish: Fernández Huerta (1959, Medidas sencillas de lecturabilidad, Consigna 214, 29-32), 206.84 - 60 syllables/word
- 1.02 words/sentence, from 0 (very hard) to 100 (very easy); his second measure is printed as sentences in 100 words
and taken as words in a sentence, as those who use the formula do. His table names the school grade of each step of the
scale (from memory); the upper grade of a step is given. Syllables are counted by the rules of Spanish spelling: two
open vowels, or a stressed closed one beside an open one, are two; the u of que, qui, gue and gui is silent.
"""

from __future__ import annotations

import re

FORMULAS = {"en": "Flesch-Kincaid (1975)", "es": "Fernández-Huerta (1959)"}
"""Language -> the formula that is used for it."""
SCORED = ("es",)
"""Languages whose formula gives points, from which a table has the grade."""
_SENTENCE_ENDS = re.compile(r"[.:?!](?:\s|$)|\n")
_GRADES = ((90.0, 4.0), (80.0, 5.0), (70.0, 6.0), (60.0, 8.0), (50.0, 11.0), (30.0, 12.0))
"""Least points of a step of the Spanish scale -> its school grade; below: university."""
_UNIVERSITY = 13.0


def grade(text: str, language: str = "en") -> float:
    """School grade of a text by its language's formula; sentences end with . : ? ! or a line.

    Raises
    ------
    KeyError : no formula is named for the language.

    Examples
    --------
    >>> round(grade("The cat sat on the mat."), 1), grade("El gato duerme en la cama.", "es")
    (-1.4, 4.0)
    """
    return {"en": _english, "es": _spanish}[language](text)


def ease(text: str) -> float:
    """Points of a Spanish text on Fernández Huerta's scale, 0 (very hard) to 100 (very easy).

    Examples
    --------
    >>> round(ease("El gato duerme en la cama."), 1)
    110.7
    """
    sentences = [s for s in _SENTENCE_ENDS.split(text) if re.search(r"[^\W\d_]", s)]
    words = [w for s in sentences for w in re.findall(r"[^\W\d_]+", s.lower())]
    if not words:
        return 100.0
    spoken = sum(syllables(word) for word in words)
    return 206.84 - 60.0 * spoken / len(words) - 1.02 * len(words) / len(sentences)


def syllables(word: str) -> int:
    """Syllables of a Spanish word in small letters, at least 1.

    Examples
    --------
    >>> [syllables(w) for w in ("cadera", "peso", "tío", "bastón", "pie", "aquí", "muleta", "guía", "vergüenza", "muy")]
    [3, 2, 2, 2, 1, 2, 3, 2, 3, 1]
    """
    bare = re.sub(r"(?<=[qg])u(?=[eiéí])", "", word)
    bare = re.sub(r"y(?![aeiouáéíóú])", "i", bare).replace("ü", "u")
    groups = re.findall(r"[aeiouáéíóú]+", bare)
    return max(1, sum(1 + len(re.findall(r"(?=[aeoáéóíú][aeoáéóíú])", group)) for group in groups))


def _english(text: str) -> float:
    sentences = [s for s in _SENTENCE_ENDS.split(text) if re.search("[a-z]", s)]
    words = [w for s in sentences for w in re.findall(r"[a-z']+", s.lower())]
    spoken = sum(max(1, len(re.findall(r"[aeiouy]+", re.sub(r"([^l])e$", r"\1", w)))) for w in words)
    if not words:
        return 0.0
    return 0.39 * len(words) / len(sentences) + 11.8 * spoken / len(words) - 15.59


def _spanish(text: str) -> float:
    points = ease(text)
    return next((found for least, found in _GRADES if points >= least), _UNIVERSITY)
