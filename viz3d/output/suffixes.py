"""The kinds of file each command writes, by the end of the name.

Question answered: which file names may be asked for?
"""

from __future__ import annotations

GLB = ".glb"
STILLS = (".png", ".svg", ".pdf")
MOVING = (".mp4", ".gif", ".webp")
FILMS = (*MOVING, ".png", GLB)
"""A ``.png`` asked of a film stands for numbered pictures."""
CHARTS = (".png", ".svg", ".csv")
MESHES = (".stl", ".ply", ".obj", GLB)
EXERCISES = (".txt", ".zip")
SLIDES = (".pptx",)
SHEETS = (".pdf",)
