"""One shot's solid things in the window that turns them: bones, muscles, skin or clothes, arrows, lever arms.

Question answered: where does each of them stand in a row of the plan, and which layers show it?

Surfaces, colours and lights are those of every picture; arrows are solid, of one scale in all directions.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.output.cartilage import cartilage_colours, cartilage_pressure, hatching, isobars
from viz3d.output.flesh import Flesh
from viz3d.output.orbit_clothes import ClothesInWindow, Opening
from viz3d.output.solid_arrows import HEAD, METRES_PER_WEIGHT, POINT, SHAFT, SHORTEST, arrow_parts, arrow_pose
from viz3d.output.views import at_hip, held_ever, is_held
from viz3d.output.window import Window, baked_colours, reshape, unlight
from viz3d.shapes.build import Shape
from viz3d.shapes.skeleton import Figure, belongs
from viz3d.shapes.spine import BENDING, bent_spine
from viz3d.shapes.surface import Surface
from viz3d.stage.canvas import DRAWN_OUT
from viz3d.stage.desk_labels import lever_ends
from viz3d.stage.figure import LAYER_OF, rests
from viz3d.stage.plan import Plan
from viz3d.stage.theme import Theme

_VEIL = 0.22
"""Opacity of the body's outline."""


class ShotInWindow:
    """A plan and its figure in a window; ``show(row, layers)`` brings it to a moment.

    View 0 has the person and what is held. Of a person in clothes the hip's bones, seen through the window on it, and
    all arrows stand in view 1, which is drawn over it.
    """

    def __init__(self, window: Window, plan: Plan, figure: Figure, theme: Theme) -> None:
        self.window, self.plan, self.figure, self.theme = window, plan, figure, theme
        self.opening, self.reach = Opening(), REACH
        self.clothes = None
        if figure.clothed is not None:
            self.clothes = ClothesInWindow(window, 0, figure.clothed, theme.colours, self.opening)
        self.over = int(self.clothes is not None)
        self.parts: list[tuple[str, Shape, Any, Any]] = []
        self.isobars, self.hatching = (window.add_lines(self.over, wide) for wide in (1.5, 1.0))
        self.hatching.show(*hatching(figure, plan.side, theme))
        helds = held_ever(plan)
        for key, shape in figure.shapes.items():
            if self._is_seen(key, shape) and any(belongs(key, shape, held) for held in helds):
                self._part(key, shape)
        self.flesh = Flesh(window, self.over, plan, theme.colours, figure, plan.muscles)
        for actor in self.flesh.actors if self.clothes is not None else ():
            self.opening.fade(actor)
        self.skin: tuple[Any, Any] | None = self._skin() if self.clothes is None else None
        self.arrows = {a.key: self._arrow(theme.colours[a.role]) for a in plan.arrows}
        self.levers = {x.key: self._lever(theme.colours[x.role]) for x in plan.dimensions}

    # ---- what is in it ----------------------------------------------------------------------------------

    def _is_seen(self, key: str, shape: Shape) -> bool:
        """Of a person in clothes, the bones of the hip that is talked about, and what is held."""
        return self.clothes is None or at_hip(shape, self.plan.side) or is_held(key, shape)

    def _part(self, key: str, shape: Shape) -> None:
        colours = np.clip(255 * baked_colours(shape.surface, self.theme.colours[shape.material]), 0, 255)
        inside = self.clothes is not None and not is_held(key, shape)
        actor, mesh = self.window.add_surface(int(inside), shape.surface, colours.astype(np.uint8))
        if self._loaded(shape):
            unlight(actor)
        if inside:
            self.opening.fade(actor)
        self.parts.append((key, shape, actor, mesh))

    def _loaded(self, shape: Shape) -> bool:
        return shape.name == "lunate" and shape.side == self.plan.side

    def _skin(self) -> tuple[Any, Any]:
        shell = self.figure.shell
        surface = Surface(shell.points.copy(), shell.triangles, shell.normals, np.ones(len(shell.points)))
        plain = np.clip(255 * baked_colours(surface, self.theme.colours["shell_fill"]), 0, 255).astype(np.uint8)
        actor, mesh = self.window.add_surface(0, surface, plain)
        actor.GetProperty().SetOpacity(_VEIL)
        actor.GetProperty().BackfaceCullingOn()
        return actor, mesh

    def _arrow(self, colour: str) -> tuple[Any, Any]:
        import pyvista as pv

        rod = pv.Cylinder(center=(0, 0.5, 0), direction=(0, 1, 0), radius=SHAFT, height=1.0, resolution=24)
        cone = pv.Cone(center=(0, POINT / 2, 0), direction=(0, 1, 0), height=POINT, radius=HEAD, resolution=32)
        actors = [self._solid(m, color=colour, ambient=0.4, diffuse=0.7) for m in (rod, cone)]
        return actors[0], actors[1]

    def _lever(self, colour: str) -> tuple[Any, Any]:
        import pyvista as pv

        line = pv.PolyData(np.zeros((2, 3)), lines=[2, 0, 1])
        return line, self._solid(line, color=colour, line_width=3, lighting=False)

    def _solid(self, mesh: Any, **look: Any) -> Any:
        self.window.plotter.subplot(0, self.over)
        actor = self.window.plotter.add_mesh(mesh, specular=0.0, reset_camera=False, render=False, **look)
        _in_front(actor)
        return actor

    # ---- bringing it to a moment ------------------------------------------------------------------------

    def hide(self) -> None:
        """Show nothing of it."""
        for actor in self._actors():
            actor.SetVisibility(False)

    def _actors(self) -> list[Any]:
        solid = [a for _, _, a, _ in self.parts] + self.flesh.actors + [self.isobars.actor, self.hatching.actor]
        solid += self.clothes.actors if self.clothes is not None else []
        solid += [self.skin[0]] if self.skin is not None else []
        return solid + [a for pair in self.arrows.values() for a in pair] + [a for _, a in self.levers.values()]

    def show(self, row: int, layers: frozenset[str], joint: bool) -> None:
        """Bring everything to a row of the plan; ``joint``: the thigh is drawn out of its socket."""
        plan, held = self.plan, self.plan.held_at(row)
        for key, shape, actor, mesh in self.parts:
            actor.user_matrix = self._frame(shape.link_among(plan.frames), row, joint)
            there = belongs(key, shape, held)
            layer = "bones" in layers or (self.clothes is not None and is_held(key, shape))
            actor.SetVisibility(layer and there and (not joint or self._at_joint(shape)))
            if shape.name in BENDING:
                reshape(mesh, *bent_spine(shape, self.figure.shell, plan.frames, row))
            if self._loaded(shape):
                self._press(shape, actor, mesh, row, layers)
        muscles = "muscle" in layers and not joint
        if muscles:
            self.flesh.pose(row)
        for actor in self.flesh.actors:
            actor.SetVisibility(muscles)
        self._outside(row, "skin" in layers and not joint, "bones" in layers)
        for arrow in plan.arrows:
            self._place_arrow(arrow.key, row, layers & {"joint"} if joint else layers)
        for lever in plan.dimensions:
            line, actor = self.levers[lever.key]
            line.points = lever_ends(lever, plan, row)
            seen = {"lever", LAYER_OF[lever.role]} <= layers and not joint and not rests(plan, lever.key, row)
            actor.SetVisibility(seen)

    def _outside(self, row: int, seen: bool, opened: bool) -> None:
        """Clothes with their window, or the outline."""
        if self.clothes is not None:
            self.clothes.show(self.plan, row, seen, opened)
        if self.skin is not None:
            actor, mesh = self.skin
            actor.SetVisibility(seen)
            if seen:
                reshape(mesh, *self.figure.shell.posed(self.plan.frames, row, self.plan.empty_hands(row)))

    def _at_joint(self, shape: Shape) -> bool:
        """True for what is looked at from close by: the pelvis and the thigh bone of the stance leg."""
        return shape.link == "pelvis" or (shape.name in ("femur", "head_cartilage") and shape.side == self.plan.side)

    def _press(self, shape: Shape, actor: Any, mesh: Any, row: int, layers: frozenset[str]) -> None:
        pascals = cartilage_pressure(shape, self.plan, row) * ("pressure" in layers)
        colours = cartilage_colours(shape, pascals, self.theme, self.plan.sign)
        mesh.point_data["colour"][:] = np.clip(255 * colours + 0.5, 0, 255).astype(np.uint8)
        mesh.GetPointData().GetArray("colour").Modified()
        self.isobars.show(*isobars(shape, pascals, self.theme))
        for lines in (self.isobars, self.hatching):
            lines.actor.user_matrix = actor.user_matrix
        self.hatching.actor.SetVisibility("bones" in layers)
        if "bones" not in layers:
            self.isobars.actor.SetVisibility(False)

    def _frame(self, link: str, row: int, joint: bool) -> Array:
        """Where a link stands; looking into the joint, the stance thigh is drawn out of its socket."""
        frame: Array = self.plan.frames[link][row]
        if joint and link in {f"{self.plan.side}_{name}" for name in ("thigh", "shank", "foot", "toes")}:
            frame = frame.copy()
            frame[:3, 3] += np.array(DRAWN_OUT) * (1.0, 1.0, self.plan.sign)
        return frame

    def _place_arrow(self, key: str, row: int, layers: frozenset[str]) -> None:
        from scipy.spatial.transform import Rotation

        arrow = self.plan.arrow(key)
        tail, turn, length = (v[row] for v in arrow_pose(self.plan, arrow, self.reach))
        rod, cone = self.arrows[key]
        shaft, (at, head) = (v for v in arrow_parts(np.array([length])))
        place = np.eye(4)
        place[:3, :3] = Rotation.from_quat(turn).as_matrix()
        place[:3, 3] = tail
        rod.user_matrix = place @ np.diag([*shaft[0], 1.0])
        lifted = np.diag([*head[0], 1.0])
        lifted[:3, 3] = at[0]
        cone.user_matrix = place @ lifted
        seen = bool(LAYER_OF.get(arrow.role, arrow.role) in layers and length > SHORTEST)
        for actor in (rod, cone):
            actor.SetVisibility(seen)


REACH = METRES_PER_WEIGHT
"""Length of an arrow of one body weight, m."""


def _in_front(actor: Any) -> None:
    """Draw it over whatever stands before it, as arrows and lever arms are in pictures."""
    actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0.0, -2e6)
    actor.mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0.0, -2e6)
