"""Draw the whole scene library in every view and theme, with a contact sheet for each scene.

    python docs/make_gallery.py [FOLDER] [SCENE ...]

Writes FOLDER (renders/gallery) / SCENE-VIEW-THEME.png and SCENE.png. Look at every one.
"""

from __future__ import annotations

import sys
from pathlib import Path

from PIL import Image

from viz3d.output.figures import figure_of
from viz3d.output.files import source_line
from viz3d.output.pictures import write_page
from viz3d.output.still import still_step
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.solution.inputs import body_of
from viz3d.solution.script import solve_scene
from viz3d.stage.page import single_page
from viz3d.stage.sheets import lay_out

VIEWS = ("front", "back", "three-quarter", "side", "joint")
THEMES = ("light", "dark", "print")
TILE = 800


def draw(name: str, folder: Path) -> None:
    """One scene's pictures and their contact sheet."""
    tiles, figure = [], None
    for theme in THEMES:
        for view in VIEWS:
            scene = load_scene(name, [f"picture.view={view}", f"picture.backdrop={theme}"])
            sheet = lay_out(scene, solve_scene(scene), scene.picture.pixels)
            figure = figure or figure_of(sheet.plan, body_of(scene))
            path = folder / f"{name}-{view}-{theme}.png"
            write_page(single_page(sheet, still_step(scene)), [figure], path, source_line([scene]))
            tiles.append(Image.open(path).convert("RGB").resize((TILE, TILE * 9 // 16), Image.Resampling.LANCZOS))
    page = Image.new("RGB", (TILE * len(VIEWS), TILE * 9 // 16 * len(THEMES)))
    for k, tile in enumerate(tiles):
        page.paste(tile, (k % len(VIEWS) * TILE, k // len(VIEWS) * tile.height))
    page.save(folder / f"{name}.png")


if __name__ == "__main__":
    target = Path(sys.argv[1] if len(sys.argv) > 1 else "renders/gallery")
    target.mkdir(parents=True, exist_ok=True)
    for scene_name in sys.argv[2:] or library_scenes():
        draw(scene_name, target)
        print(target / f"{scene_name}.png", flush=True)
