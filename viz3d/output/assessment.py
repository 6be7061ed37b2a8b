"""Exercises as a QTI 3 package: one item a question, one test, their pictures, a manifest.

Question answered: how are exercises handed to a learning system that reads the open assessment standard?

Standard: QTI 3.0.1 and its content packaging, as its published examples use them
(https://www.imsglobal.org/spec/qti/v3p0/impl). Each item is a single choice with score 1 for the right one, and a
feedback for each choice: the working, or the mistake behind it. All texts are nodes of a tree, never markup. The same
exercises give the same bytes.
"""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from pathlib import Path
from xml.etree import ElementTree as ET

from viz3d.output.files import written_whole
from viz3d.output.sketch import sketch_svg
from viz3d.solution.script import Script
from viz3d.teach.exercises.exercise import Exercise
from viz3d.teach.facts import taught
from viz3d.teach.sketch import free_body
from viz3d.words.message import message
from viz3d.words.voice import Voice

ITEM = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
PACKAGE = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"
_SCHEMAS = "https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd"
_INSTANCE = "http://www.w3.org/2001/XMLSchema-instance"
_LANG = "{http://www.w3.org/XML/1998/namespace}lang"
_DAY = (1980, 1, 1, 0, 0, 0)
"""The one date of every packed file: packages are functions of their exercises."""


def write_package(exercises: Sequence[Exercise], title: str, path: Path, voice: Voice) -> Path:
    """Write a package; ``path`` ends in .zip.

    Raises
    ------
    RenderError : it cannot be written.
    """
    files = package_files(exercises, title, voice)
    with written_whole(path) as part, zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(zipfile.ZipInfo(name, _DAY), content)
    return path


def package_files(exercises: Sequence[Exercise], title: str, voice: Voice) -> dict[str, str]:
    """Name in the package -> text, the manifest first."""
    items, pictures = {}, {}
    for number, exercise in enumerate(exercises, 1):
        name = f"exercise-{number:02d}"
        if exercise.picture:
            at = taught(Script(exercise.scene, "exercise"), exercise.step)
            pictures[name] = sketch_svg(free_body(at), voice)
        items[name] = _text(item(exercise, name, number, voice))
    files = {f"items/{name}.xml": text for name, text in items.items()}
    files |= {f"items/{name}.svg": text for name, text in pictures.items()}
    test = {"test.xml": _text(_test(list(items), title, voice))}
    return {"imsmanifest.xml": _text(_manifest(list(items), list(pictures))), **test, **files}


def item(exercise: Exercise, name: str, number: int, voice: Voice) -> ET.Element:
    """One exercise as an item."""
    root = _root("qti-assessment-item", name, voice.say(message("exercise.title", number=str(number))), voice)
    root.set("time-dependent", "false")
    root.set("adaptive", "false")
    _declarations(root, exercise)
    body = ET.SubElement(root, "qti-item-body")
    ET.SubElement(body, "p").text = " ".join(voice.lines(list(exercise.told)))
    if exercise.picture:
        alt = voice.say(message("exercise.sketch"))
        ET.SubElement(ET.SubElement(body, "p"), "img", {"src": f"{name}.svg", "alt": alt})
    listed = ET.SubElement(body, "ul")
    for fact in exercise.givens:
        line = voice.say(message("exercise.given_line", name=fact.name, value=fact.said(voice)))
        ET.SubElement(listed, "li").text = line
    ET.SubElement(body, "p").text = voice.say(message("exercise.rounded"))
    asked = ET.SubElement(
        body, "qti-choice-interaction", {"response-identifier": "RESPONSE", "shuffle": "true", "max-choices": "1"}
    )
    ET.SubElement(asked, "qti-prompt").text = voice.say(exercise.question)
    for n, choice in enumerate(exercise.choices, 1):
        ET.SubElement(asked, "qti-simple-choice", {"identifier": f"choice{n}"}).text = voice.say(choice.said)
    _processing(root)
    for n, choice in enumerate(exercise.choices, 1):
        right = [message("exercise.right"), *exercise.working]
        _feedback(root, f"choice{n}", voice.lines(right if choice.mistake is None else [choice.mistake]))
    return root


def _declarations(root: ET.Element, exercise: Exercise) -> None:
    """What is answered, what is scored, which feedback is shown."""
    response = ET.SubElement(
        root, "qti-response-declaration",
        {"identifier": "RESPONSE", "cardinality": "single", "base-type": "identifier"},
    )  # fmt: skip
    ET.SubElement(ET.SubElement(response, "qti-correct-response"), "qti-value").text = f"choice{exercise.right + 1}"
    for name, kind, start in (("SCORE", "float", "0"), ("MAXSCORE", "float", "1"), ("FEEDBACK", "identifier", "")):
        outcome = ET.SubElement(
            root, "qti-outcome-declaration", {"identifier": name, "cardinality": "single", "base-type": kind}
        )
        if start:
            ET.SubElement(ET.SubElement(outcome, "qti-default-value"), "qti-value").text = start


def _processing(root: ET.Element) -> None:
    """Score 1 where the response is the correct one; the feedback is that of the choice."""
    rules = ET.SubElement(root, "qti-response-processing")
    condition = ET.SubElement(ET.SubElement(rules, "qti-response-condition"), "qti-response-if")
    match = ET.SubElement(condition, "qti-match")
    ET.SubElement(match, "qti-variable", {"identifier": "RESPONSE"})
    ET.SubElement(match, "qti-correct", {"identifier": "RESPONSE"})
    scored = ET.SubElement(condition, "qti-set-outcome-value", {"identifier": "SCORE"})
    ET.SubElement(scored, "qti-variable", {"identifier": "MAXSCORE"})
    told = ET.SubElement(rules, "qti-set-outcome-value", {"identifier": "FEEDBACK"})
    ET.SubElement(told, "qti-variable", {"identifier": "RESPONSE"})


def _feedback(root: ET.Element, choice: str, lines: list[str]) -> None:
    shown = ET.SubElement(
        root, "qti-modal-feedback", {"outcome-identifier": "FEEDBACK", "show-hide": "show", "identifier": choice}
    )
    body = ET.SubElement(shown, "qti-content-body")
    for line in lines:
        ET.SubElement(body, "p").text = line


def _test(items: list[str], title: str, voice: Voice) -> ET.Element:
    root = _root("qti-assessment-test", "test", title, voice)
    part = ET.SubElement(
        root, "qti-test-part",
        {"identifier": "part", "navigation-mode": "nonlinear", "submission-mode": "individual"},
    )  # fmt: skip
    section = ET.SubElement(
        part, "qti-assessment-section", {"identifier": "section", "title": title, "visible": "true"}
    )
    for name in items:
        ET.SubElement(section, "qti-assessment-item-ref", {"identifier": name, "href": f"items/{name}.xml"})
    return root


def _manifest(items: list[str], pictures: list[str]) -> ET.Element:
    root = ET.Element(
        "manifest",
        {
            "xmlns": PACKAGE, "xmlns:xsi": _INSTANCE, "identifier": "package",
            "xsi:schemaLocation": f"{PACKAGE} {_SCHEMAS}/imsqtiv3p0_imscpv1p2_v1p0.xsd",
        },
    )  # fmt: skip
    about = ET.SubElement(root, "metadata")
    ET.SubElement(about, "schema").text = "QTI Package"
    ET.SubElement(about, "schemaversion").text = "3.0.1"
    ET.SubElement(root, "organizations")
    resources = ET.SubElement(root, "resources")
    for name in items:
        used = [f"{name}-picture"] if name in pictures else []
        _resource(resources, name, "imsqti_item_xmlv3p0", f"items/{name}.xml", used)
    for name in pictures:
        _resource(resources, f"{name}-picture", "webcontent", f"items/{name}.svg", [])
    _resource(resources, "test", "imsqti_test_xmlv3p0", "test.xml", items)
    return root


def _resource(resources: ET.Element, name: str, kind: str, href: str, used: list[str]) -> None:
    one = ET.SubElement(resources, "resource", {"identifier": name, "type": kind, "href": href})
    ET.SubElement(one, "file", {"href": href})
    for other in used:
        ET.SubElement(one, "dependency", {"identifierref": other})


def _root(tag: str, name: str, title: str, voice: Voice) -> ET.Element:
    return ET.Element(
        tag,
        {
            "xmlns": ITEM, "xmlns:xsi": _INSTANCE, "identifier": name, "title": title, _LANG: voice.language,
            "xsi:schemaLocation": f"{ITEM} {_SCHEMAS}/imsqti_asiv3p0p1_v1p0.xsd",
        },
    )  # fmt: skip


def _text(root: ET.Element) -> str:
    ET.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ET.tostring(root, encoding="unicode")}\n'
