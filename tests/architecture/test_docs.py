"""Pages generated from the tables are up to date; the README's examples, commands, keys and links are real."""

from __future__ import annotations

import importlib.util
import json
import re
import shlex
import tomllib
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from typer.main import get_command

from viz3d.cli.app import app
from viz3d.scene.reader import check_scene, library_scenes, load_scene, walking_scenes
from viz3d.scene.schema import Scene

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS: dict[str, Any] = get_command(app).commands  # type: ignore[attr-defined]
IN_TABLE = re.findall(r"^\| `viz3d (.+?)` \| (.+) \|$", README, flags=re.M)
TYPED = [
    line.split(" && ")[-1].replace(".venv\\Scripts\\", ".venv/bin/").removeprefix(".venv/bin/").removeprefix("viz3d ")
    for language, block in re.findall(r"^```(\w*)\n(.*?)^```", README, flags=re.S | re.M)
    for line in block.splitlines()
    if not language and re.search(r"(^|[/\\])viz3d [a-z]", line)
]
"""Every command of the README's blocks, without the program's name."""
IN_TEXT = [w for w in re.findall(r"`(?:\.venv/bin/)?viz3d ([a-z][^`]*)`", README) if w not in {a for a, _ in IN_TABLE}]


def test_defaults_page_is_current() -> None:
    spec = importlib.util.spec_from_file_location("make_defaults", ROOT / "docs" / "make_defaults.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert (ROOT / "docs" / "defaults.md").read_text(encoding="utf-8") == module.page()


def test_readme_example_is_a_scene() -> None:
    example, *more = re.findall(r"```toml\n(.*?)```", README, flags=re.S)
    for steps in more:  # further examples are steps to put at a scene's end
        assert check_scene(tomllib.loads(f"{example}\n{steps}"), Path("readme.toml")).steps[-1].name
    scene = check_scene(tomllib.loads(example), ROOT / "README.md")
    assert len(scene.steps) == 2


def test_one_list_of_system_packages() -> None:
    listed = (ROOT / "system-packages.txt").read_text(encoding="utf-8")
    assert "libegl1" in listed
    for name in ("setup.sh", ".ci/run", "viz3d/output/gl.py"):
        assert "libegl1" not in (ROOT / name).read_text(encoding="utf-8"), f"{name} must read the one list"


def parsed(line: str) -> tuple[str, dict[str, Any]]:
    """A command line read by the program's own parser, which refuses unknown options and missing arguments."""
    name, *words = shlex.split(line)
    command = COMMANDS[name]
    return name, dict(command.make_context(name, words, resilient_parsing=False).params)


def test_the_table_of_commands_is_what_the_program_has() -> None:
    assert [a.split()[0] for a, _ in IN_TABLE] == list(dict.fromkeys(a.split()[0] for a, _ in IN_TABLE))
    assert {a.split()[0] for a, _ in IN_TABLE} == set(COMMANDS)


@pytest.mark.parametrize("line", [a for a, _ in IN_TABLE])
def test_commands_of_the_table_can_be_typed(line: str) -> None:
    name, _ = parsed(line)
    assert name == line.split(maxsplit=1)[0]


@pytest.mark.parametrize(("line", "told"), IN_TABLE, ids=[a for a, _ in IN_TABLE])
def test_options_told_of_a_command_are_its_own(line: str, told: str) -> None:
    options = {o for p in COMMANDS[line.split(maxsplit=1)[0]].params for o in p.opts}
    assert set(re.findall(r"--[a-z-]+", told)) <= options
    for words in re.findall(r"`(--[^`]+)`", told):
        if len(words.split()) > 1:
            parsed(f"{line} {words}")


@pytest.mark.parametrize("line", [*TYPED, *IN_TEXT])
def test_commands_of_the_readme_parse(line: str) -> None:
    """By the program's own parser; scenes that are named come with it, what is changed by ``--set`` is allowed."""
    line = line.split(" > ", maxsplit=1)[0]
    if " " not in line:
        assert line in COMMANDS  # named in a sentence, with nothing after it
        return
    _, given = parsed(line)
    named = [given.get(k) or [] for k in ("scene", "scenes", "source")]
    flat = [x for some in named for x in ([some] if isinstance(some, str) else some)]
    assert bool(given.get("changes")) is ("--set " in line)
    for scene in (str(s).split(":", maxsplit=1)[0] for s in flat):
        if scene not in {"SCENE", "my-scene"} and not scene.endswith(".toml"):
            assert scene in library_scenes() | walking_scenes(), line
            load_scene(scene, given.get("changes") or ())


def test_the_readme_types_many_commands() -> None:
    assert len(TYPED) >= 18
    assert len(IN_TEXT) >= 5


def test_keys_of_the_readme_are_in_the_schema() -> None:
    """Every dotted key of the table is a field; a key's last part may be the name of a table."""
    words = set(re.findall(r'"(\w+)": ', json.dumps(Scene.model_json_schema()["$defs"]))) | set(Scene.model_fields)
    keys = re.findall(r"`([a-z_]+(?:\.[a-z_]+)+)`", README.split("## Pictures")[0])
    assert len(keys) > 25
    for key in keys:
        missing = [part for part in key.split(".") if part not in words]
        assert not missing, f"{key}: {missing}"


@pytest.mark.parametrize(
    "name", ["README.md", "DEVELOPERS.md", *(f"docs/{p.name}" for p in (ROOT / "docs").glob("*.md"))]
)
def test_links_lead_to_files(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    for link in re.findall(r"\]\(([^)#]+)", text):
        if "://" not in link:
            assert (ROOT / name).parent.joinpath(link).exists(), f"{name}: {link}"
    assert text.startswith("#")


def test_the_tested_versions_are_allowed_and_name_no_place() -> None:
    """Every library that viz3d or its tests ask for has one tested version, which the project file allows."""
    about = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lines = (ROOT / "tests" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    told = {canonicalize_name(n): v for n, v in (x.split("==") for x in lines if not x.startswith("#"))}
    assert all(re.fullmatch(r"[\w.]+", version) for version in told.values())
    wanted = [Requirement(r) for r in about["dependencies"] + about["optional-dependencies"]["test"]]
    wrong = [r.name for r in wanted if told.get(canonicalize_name(r.name), "0") not in r.specifier]
    assert wrong == []
