"""Records of what scenes' and lessons' translations were made from: one a folder of translations.

Question answered: which texts of ours, or of somebody's own scene, are older in a language than what they translate?

:mod:`viz3d.words.settled` says how a record works; here are the files that they are about.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from viz3d.scene.reader import SUFFIX, library_folder, parse_scene
from viz3d.scene.translated import OF_LESSONS, OF_SCENES, text_pairs, texts_file
from viz3d.words.catalogue import SOURCE, languages
from viz3d.words.pseudo import PSEUDO
from viz3d.words.settled import FILE, Record, catalogue_record


def library_records(language: str) -> Iterator[Record]:
    """The catalogue's record, and that of each folder of our scenes and lessons.

    Raises
    ------
    TableError, SceneError : a file that cannot be read.
    """
    if language in (SOURCE, PSEUDO):
        return
    yield catalogue_record(language)
    for folder in dict.fromkeys(path.parent for path in library_files()):
        pairs: dict[str, tuple[str, str]] = {}
        for path in sorted(folder.glob(f"*{SUFFIX}")):
            pairs |= _pairs(path, language)
        if pairs:
            yield Record(language, folder / language / FILE, pairs)


def library_files() -> list[Path]:
    """Every scene and lesson of ours, without their translations."""
    return [path for path in sorted(library_folder().rglob(f"*{SUFFIX}")) if path.parent.name not in languages()]


def own_record(path: Path, language: str) -> Record:
    """The record of one scene or lesson, in the folder of its translations.

    Raises
    ------
    SceneError : it cannot be read.
    """
    return Record(language, texts_file(path, language).parent / FILE, _pairs(path, language), whole=False)


def _pairs(path: Path, language: str) -> dict[str, tuple[str, str]]:
    data = parse_scene(path)
    found = text_pairs(language, data, path, OF_LESSONS if "scenes" in data else OF_SCENES)
    return {f"{path.stem}.{key}": pair for key, pair in found.items()}
