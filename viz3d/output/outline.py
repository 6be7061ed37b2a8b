"""A sheet's solid things as flat patches for print and the web: no drawing library is needed.

Question answered: which areas of the page show each bone, muscle, aid and loaded cartilage, and in which tones?

What each solid shows of itself is found on a fine grid (:mod:`viz3d.output.visible`) and traced: its colour in a few
steps of light, edged by a line, with thin lines where one part of it lies in front of another. Loaded cartilage has
bands of 0.25 MPa, unlit, and a line every 0.5 MPa. The body's outline also makes the ghost.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from viz3d.arrays import Array
from viz3d.output.arms import arm_vertices
from viz3d.output.cartilage import hatching_colour
from viz3d.output.dressed import PANE, clearness, clothed_of
from viz3d.output.flesh import FAINT
from viz3d.output.solids import PlainSolid, clothed_solids, faint_solids, resting_solids, view_solids
from viz3d.output.trace import outlines, softened, spread
from viz3d.output.views import MAIN, camera_at, faintness, focus_of, frame_at, from_near, sheet_views, wears_clothes
from viz3d.output.visible import FineGrid, Seen, covered, seen
from viz3d.output.window import View
from viz3d.shapes.body_shell import Shell, without_arms
from viz3d.shapes.skeleton import Figure
from viz3d.shapes.socket_floor import PITCH
from viz3d.shapes.surface import Triangles
from viz3d.stage.camera import Camera
from viz3d.stage.canvas import Canvas
from viz3d.stage.card_boxes import FIGURE
from viz3d.stage.drawing import Box
from viz3d.stage.palette import ISOBAR, PRESSURE_RANGE, hexed, isobar_colours, pressure_colours, rgb

_FINE, _MOST = 1.6, 8e6
"""Points of the grid per pixel, and how many there may be in all."""
_TONES = (0.92, 0.80, 0.68, 0.55, 0.42)
"""Between these shares of a colour light goes in steps."""
_TONE_SOFT = 0.0016
"""How far light and heat are softened before their steps are traced, m."""
_SPECK = 8.0
"""Tones over a smaller area than this are left out, square pixels."""
_LEAST_SEEN = 0.06
"""What shows more weakly is left out."""
_INK = 0.40
"""A solid's line is its colour times this."""
_WARM = np.array([0.88, 1.0, 1.12])
"""Powers of the share of light by channel."""
_BAND = 0.25e6
_PANES = (0.02, 0.15, 0.32, 0.50)
"""Clearness at which the steps of the window on the hip lie; bones are seen within the last."""
_FIBRE, _SLIP = 0.0032, 0.11
"""Lines along fibres stand so far apart, m, and are so wide to each side, share of that."""
_JUMP = 0.004
"""Steps of depth within one solid above this get a line, m."""


@dataclass(frozen=True)
class Patch:
    """Closed outlines (P, 2), filled by the even-odd rule; ``edge`` is "" for none. ``solid``: whose area it is."""

    paths: list[Array]
    fill: str
    edge: str = ""
    width: float = 0.0
    opacity: float = 1.0
    solid: str = ""


def sheet_patches(sheet: Canvas, figure: Figure, i: int) -> list[tuple[View, list[Patch]]]:
    """Every view's patches in frame ``i``, each view with its box."""
    return [(view, _view_patches(sheet, figure, view, i)) for view in sheet_views(sheet)]


def ghost_paths(sheet: Canvas, figure: Figure, i: int) -> list[Array]:
    """Outlines of the body, the pelvis and the thighs in the main view of frame ``i``."""
    view = sheet_views(sheet)[0]
    skin, _ = figure.shell.posed(sheet.plan.frames, i, sheet.plan.empty_hands(i))
    paths = traced(view.camera.project(skin), figure.shell.triangles, view.box)
    for shape in figure.shapes.values():
        if shape.name in ("hip", "sacrum", "femur"):
            frame = frame_at(sheet, view, shape, i)
            world = shape.surface.points @ frame[:3, :3].T + frame[:3, 3]
            paths += traced(camera_at(sheet, view, i).project(world), shape.surface.triangles, view.box)
    return paths


def traced(page: Array, triangles: Triangles, box: Box) -> list[Array]:
    """Closed outlines (P, 2) of the area that a solid's projected triangles cover, within a box."""
    grid = _grid(box)
    return outlines(softened(covered(grid, page, triangles)), 0.5, grid)


def _grid(box: Box) -> FineGrid:
    """A fine grid over a box and a little around it."""
    low, high = np.array([box.left, box.top]) - 6.0, np.array([box.right, box.bottom]) + 6.0
    fine = min(_FINE, float(np.sqrt(_MOST / np.prod(high - low))))
    columns, rows = np.ceil((high - low) * fine).astype(int)
    return FineGrid(low, fine, (int(rows), int(columns)))


def _view_patches(sheet: Canvas, figure: Figure, view: View, i: int) -> list[Patch]:
    camera, c, out = camera_at(sheet, view, i), sheet.colours, []
    if wears_clothes(sheet, view):
        return _clothed(sheet, figure, view, i)
    if view.skin:
        skin, _ = figure.shell.posed(sheet.plan.frames, i, sheet.plan.empty_hands(i))
        near = view.name == MAIN and from_near(sheet)
        triangles = without_arms(figure.shell) if near else figure.shell.triangles
        paths = traced(camera.project(skin), triangles, view.box)
        out.append(Patch(paths, c["shell_fill"], c["shell_rim"], 1.0, solid="body"))
    solids = view_solids(sheet, figure, view, i)
    look = _look(view, camera, solids)
    out += _patches(sheet, view, look, solids)
    out += _resting(sheet, view, camera, solids, resting_solids(sheet, figure, view, i))
    faint = [
        Patch(
            traced(camera.project(one.points), one.triangles, view.box),
            one.fill,
            c["shell_rim"],
            1.2,
            faintness(sheet),
            one.name,
        )
        for one in faint_solids(sheet, figure, view, i)
    ]
    out = faint + out if sheet.view == "joint" else out + faint
    return [patch for patch in out if patch.paths]


def _look(view: View, camera: Camera, solids: list[PlainSolid]) -> Seen:
    """What is seen of solids in a view."""
    return seen(_grid(view.box), [(camera.project(s.points), s.points @ camera.toward, s.triangles) for s in solids])


def _patches(sheet: Canvas, view: View, look: Seen, solids: list[PlainSolid]) -> list[Patch]:
    """The patches of solids, the nearest last."""
    parts = [_Part(sheet, view, look, k, s, where) for k, s, where in _shown(look, solids)]
    return [patch for part in sorted(parts, key=lambda part: part.near) for patch in part.patches()]


def _resting(
    sheet: Canvas, view: View, camera: Camera, solids: list[PlainSolid], faint: list[PlainSolid]
) -> list[Patch]:
    """See-through muscles, where nothing else lies before them."""
    if not faint:
        return []
    every = [*solids, *faint]
    look = _look(view, camera, every)
    parts = [_Part(sheet, view, look, k, s, where) for k, s, where in _shown(look, every) if k >= len(solids)]
    return [patch for part in sorted(parts, key=lambda part: part.near) for patch in part.faint()]


def _clothed(sheet: Canvas, figure: Figure, view: View, i: int) -> list[Patch]:
    """The clothed person, a pane in steps around the hip, and the bones seen through it."""
    camera, people = camera_at(sheet, view, i), clothed_solids(sheet, figure, view, i)
    look = _look(view, camera, people)
    out = _patches(sheet, view, look, people)
    if view.name != MAIN:
        return out
    grid, person = look.grid, softened(look.solid >= 0) - 0.5
    rows, columns = (np.arange(n, dtype=float) for n in grid.shape)
    x, y = (grid.to_page(np.stack([v, v], axis=-1))[:, k] for k, v in ((0, columns), (1, rows)))
    clear = clearness(camera, sheet.plan.hip[i], x[None, :], y[:, None])
    if sheet.frontal:
        clear = clear * (1.0 - softened(_arms(look, people, clothed_of(figure).surfaces["skin"])))
    strength = 1.0 - (1.0 - PANE) ** (1.0 / len(_PANES))
    for step in _PANES:
        paths = outlines(np.minimum(person, clear - step), 0.0, grid)
        out.append(Patch(paths, sheet.colours["pane"], opacity=strength))
    bones = view_solids(sheet, figure, view, i)
    behind = _look(view, camera, bones)
    behind.solid[clear < _PANES[-1]] = -1
    return out + _patches(sheet, view, behind, bones)


def _arms(look: Seen, people: list[PlainSolid], skin: Shell) -> NDArray[np.bool_]:
    """The grid's points at which an arm is seen, which the window on the hip lies behind."""
    k = next((n for n, one in enumerate(people) if one.name == "skin"), None)
    if k is None:
        return np.zeros(look.grid.shape, dtype=bool)
    mine = np.tile(arm_vertices(skin)[skin.triangles].all(axis=1), 2)  # both sides of every triangle
    return np.asarray((look.solid == k) & mine[np.where(look.solid == k, look.triangle - look.first[k], 0)])


def _shown(look: Seen, solids: list[PlainSolid]) -> list[tuple[int, PlainSolid, tuple[slice, slice]]]:
    """The solids that are seen at all, and the part of the grid where."""
    rows, columns = look.solid.shape
    out = []
    for k, found in enumerate(ndimage.find_objects(look.solid + 1, max_label=len(solids))):
        if found is not None:
            (top, end), (left, right) = ((max(0, s.start - 4), s.stop + 4) for s in found)
            out.append((k, solids[k], (slice(top, min(end, rows)), slice(left, min(right, columns)))))
    return out


class _Part:
    """What is seen of one solid: its area on the grid, and the patches made of it."""

    def __init__(
        self, sheet: Canvas, view: View, look: Seen, k: int, solid: PlainSolid, where: tuple[slice, slice]
    ) -> None:  # fmt: skip
        self.sheet, self.look, self.k, self.solid, self.where = sheet, look, k, solid, where
        self.area: NDArray[np.bool_] = look.solid[where] == k
        self.soft = softened(self.area)
        self.near = look.mean_depth(where, k)
        """How near it is on the whole: the nearest is drawn last."""
        self.small = view.name == FIGURE
        self.shown, self.behind = self._focus(view), sheet.colours["shell_fill" if view.skin else "paper_top"]
        self.wide = float(np.clip(_TONE_SOFT * view.camera.scale * look.grid.fine, 1.5, 6.0))
        self.width = (0.4 if self.small else 1.2) * max(sheet.u, 0.5)

    def patches(self) -> list[Patch]:
        """Its colour, its tones, its lines, its heat; nothing where it has faded away."""
        if self.shown < _LEAST_SEEN:
            return []
        solid, ink = self.solid, self._lit(self.solid.fill, _INK)
        tone = spread(self.look.field(solid.tone, self.where, self.k), self.area, self.wide)
        base = _TONES[1] if self.small else self._brightest(tone)
        paths = self._paths(self.soft, 0.5)
        out = [Patch(paths, self._lit(solid.fill, base), ink, self.width, solid=solid.name)]
        inner = self.soft - 0.93
        out += self._toned(inner, tone, solid.fill, base)
        for coat in solid.coats:
            share = spread(self.look.field(coat.share, self.where, self.k), self.area)
            level = np.minimum(inner, share - 0.5)
            out.append(Patch(self._paths(level, 0.0), self._lit(coat.fill, base)))
            out += self._toned(level, tone, coat.fill, base)
        if solid.fibres is not None and not self.small:
            out.append(self._fibres(inner, solid.fibres))
        if solid.hatch is not None and not self.small:
            out.append(self._hatched(inner, *solid.hatch))
        if not self.small:
            out.append(Patch(self._paths(softened(self._creases()), 0.5), ink))
        if solid.heat is not None:
            out += self._heated(inner, solid.heat)
        return [patch for patch in out if patch.paths]

    def faint(self) -> list[Patch]:
        """Its colour and its fibres, seen through; no tones, which would lie upon each other."""
        solid, inner = self.solid, self.soft - 0.93
        fill, ink = self._lit(solid.fill, _TONES[0]), self._lit(solid.fill, _INK)
        out = [Patch(self._paths(self.soft, 0.5), fill, ink, self.width, FAINT, solid.name)]
        for coat in solid.coats:
            share = spread(self.look.field(coat.share, self.where, self.k), self.area)
            paths = self._paths(np.minimum(inner, share - 0.5), 0.0)
            out.append(Patch(paths, self._lit(coat.fill, _TONES[0]), opacity=FAINT))
        out += [] if solid.fibres is None else [self._fibres(inner, solid.fibres)]
        return [patch for patch in out if patch.paths]

    def _focus(self, view: View) -> float:
        """How strongly it shows: the main view's bones fade with their distance from the hips."""
        if view.name != MAIN:
            return 1.0
        row, column = (float(v.mean()) for v in np.nonzero(self.area))
        at = self.look.grid.to_page(np.array([column + self.where[1].start, row + self.where[0].start]))
        x, y = at - view.camera.project(self.sheet.plan.middle_hip.mean(axis=0))
        full, far, low = focus_of(self.sheet)
        share = float(np.clip((np.hypot(x, 0.85 * y) / self.sheet.u - full) / (far - full), 0.0, 1.0))
        return 1.0 - (1.0 - low) * share * share * (3.0 - 2.0 * share)

    def _lit(self, colour: str, share: float) -> str:
        """A colour in less light, a little warmer the darker it is (greys stay grey), and as strong as it shows."""
        own = np.array(rgb(colour))
        lit = own * share ** (_WARM if np.ptp(own) > 0.01 else np.ones(3))
        return hexed(self.shown * lit + (1.0 - self.shown) * np.array(rgb(self.behind)))

    def _paths(self, level: Array, at: float, small: float = 1.5) -> list[Array]:
        return outlines(level, at, self.look.grid, (self.where[0].start, self.where[1].start), small)

    def _brightest(self, tone: Array) -> float:
        most = float(np.percentile(tone[self.area], 99))
        return next((_step(k) for k, t in enumerate(_TONES) if most > t), _step(len(_TONES)))

    def _toned(self, inner: Array, tone: Array, fill: str, base: float) -> list[Patch]:
        """The darker steps of a colour within an area, each lying on the one before."""
        if self.small:
            return []
        out = []
        for k, below in enumerate(_TONES):
            if _step(k + 1) < base and (tone[self.area] < below).any():
                paths = self._paths(np.minimum(inner, 8.0 * (below - tone)), 0.0, _SPECK)
                out.append(Patch(paths, self._lit(fill, _step(k + 1))))
        return out

    def _creases(self) -> NDArray[np.bool_]:
        """Where a part of it ends in front of another, on the far side."""
        depth, slopes = self.look.depths(self.where, self.k)
        marks = np.zeros(self.area.shape, dtype=bool)
        for axis in (0, 1):
            here, there = (_cut(axis, slice(None, -1)), _cut(axis, slice(1, None)))
            both = self.area[here] & self.area[there]
            step = depth[there] - depth[here]
            slope = np.abs(slopes[axis])
            jump = both & (np.abs(step) - 1.5 * np.minimum(slope[here], slope[there]) > _JUMP)
            marks[here] |= jump & (step > 0)
            marks[there] |= jump & (step < 0)
        label, count = ndimage.label(marks, structure=np.ones((3, 3)))
        sizes = np.bincount(label.ravel(), minlength=count + 1)
        long = (sizes > 6 * self.look.grid.fine)[label] & marks
        return np.asarray(ndimage.binary_dilation(long) & self.area)

    def _fibres(self, inner: Array, across: Array) -> Patch:
        """Fine lines along a muscle's fibres, as thin slips of a darker tone."""
        place = spread(self.look.field(across, self.where, self.k), self.area) / _FIBRE
        slips = _SLIP - np.abs(place - np.round(place))
        line = self._paths(np.minimum(inner, slips), 0.0, 3.0)
        return Patch(line, self._lit(self.solid.fill, _TONES[-1]), opacity=0.4)

    def _hatched(self, inner: Array, where: Array, across: Array) -> Patch:
        """Lines on what carries no load, as thin slips."""
        there = spread(self.look.field(where, self.where, self.k), self.area) - 0.6
        place = spread(self.look.field(across, self.where, self.k), self.area) / PITCH
        slips = 0.7 * _SLIP - np.abs(place - np.round(place))
        line = self._paths(np.minimum(np.minimum(inner, there), slips), 0.0, 3.0)
        return Patch(line, hexed(hatching_colour(self.sheet.colours["bone"])))

    def _heated(self, inner: Array, heat: Array) -> list[Patch]:
        """Bands of pressure, each lying on the one below it, a line round every other."""
        grey, colours = self.sheet.theme.backdrop == "print", self.sheet.colours
        loaded = self.look.field((heat > 0.0).astype(float), self.where, self.k)
        known = loaded > 0.99  # between loaded and bare corners pressure does not run down: it ends
        field = spread(self.look.field(heat, self.where, self.k), known, self.wide)
        inner = np.minimum(inner, spread(loaded, self.area, self.wide) - 0.5)
        out = []
        for k in range(int(PRESSURE_RANGE[1] / _BAND) + 1):
            paths = self._paths(np.minimum(inner, (field - k * _BAND) / _BAND if k else inner), 0.0)
            fill = hexed(pressure_colours(np.array([(k + 0.5) * _BAND]), colours, grey)[0])
            out.append(Patch(paths, fill))
            if k and (k * _BAND) % ISOBAR == 0:
                line = hexed(isobar_colours(np.array([k * _BAND]), colours, grey)[0])
                out[-1] = Patch(paths, fill, line, 0.6 * self.width)
        return out


def _cut(axis: int, part: slice) -> tuple[slice, slice]:
    return (part, slice(None)) if axis == 0 else (slice(None), part)


def _step(k: int) -> float:
    """Brightness of the k-th step of light, the brightest first."""
    steps = [1.0, *_TONES, _TONES[-1] - 0.12]
    return (steps[k] + steps[k + 1]) / 2
