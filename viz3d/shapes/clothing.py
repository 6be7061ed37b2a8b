"""A person in plain clothes: skin, hair, T-shirt and shorts as skinned surfaces that follow the pose.

Question answered: what is seen of this person from outside, and of which stuff is it?

Clothes are grown as the skin is, from its solids made thicker and from a few looser ones (``shell.toml``), and cut
along hems; what lies well under them is left out. All are bound to the links by the same function of place as the
skin, so that cloth stays over skin. It spans hollows and falls in folds (:mod:`viz3d.shapes.drape`). Generic: nobody's
face, no marks. Left out: cloth that swings.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from viz3d.arrays import Array
from viz3d.body.names import LEFT, RIGHT, SEXES
from viz3d.body.person import Body
from viz3d.shapes import cache
from viz3d.shapes.binding import arm_side, below, eased
from viz3d.shapes.body_form import Form, neutral_frames
from viz3d.shapes.body_shell import (
    APART,
    Shell,
    bound,
    girdle,
    joined,
    piece_about,
    skin_piece,
    skin_solids,
    thicker,
    with_hands,
)  # fmt: skip
from viz3d.shapes.build import Shape
from viz3d.shapes.cut import cut, with_fold
from viz3d.shapes.drape import (
    combed,
    folded,
    hanging,
    leg_folds,
    side_folds,
    sleeve_folds,
    spanned,
    stranded,
    stretched,
)
from viz3d.shapes.fields import Blended, Solid, fold, smooth_minimum
from viz3d.shapes.finish import finish
from viz3d.shapes.shadow import contact_shadow
from viz3d.shapes.surface import Surface, extract, neighbour_mean

FEATURES = ("eye_white", "eye", "lips")
"""Colours that lie on the skin of a face."""
MATERIALS = ("skin", "hair", "shirt", "shirt_hem", "shorts", "shorts_hem", *FEATURES)
"""What a person is seen in; each has a colour of its name in every theme."""
_GRID = {"shirt": (5.5, 9000), "shorts": (5.5, 7000), "hair": (3.0, 5000)}
"""Grid (mm) and number of triangles before cutting."""
_OVER = {"shirt": 5.5, "shorts": 3.5}
"""Cloth over skin, mm."""
_HUNG = 48.0
"""Cloth hangs over collar bones and shoulder blades in a curve of about so much, mm."""
_UNDER = 0.032
"""How far skin, and shorts under the shirt, reach below cloth, m."""
_FINE, _DEEP = 0.7, 2.0
"""Grid of what lies on a face, and how far it reaches into the skin, mm."""
_HEM = 0.011
"""Width of a hem, m."""
_THICK = 0.003
_SPAN = 0.040
"""So far cloth spans hollows, m."""
_YOKE = (0.005, 0.050)
"""So far from a shirt's neckline it spans nothing, and all from so far on: round a neck cloth lies close, m."""
_BUST = 0.32
"""From so far above the hips on a shirt hangs straight from the collar bones, m."""
_INNER, _PARTED, _OPEN = 0.009, 0.006, 0.028
"""A shirt's side and a sleeve part so far inside the armpit's plane, by twice that, from so far above the sleeve's end
on, m."""
_STEEP = 8.0
"""How fast it goes from an arm to the side at a shirt's hems: no hem lies along the side."""
SIGNS = ((RIGHT, 1.0), (LEFT, -1.0))
_HAND = 0.016
"""Half the thickness of a hand that hangs beside the hips, m."""


@dataclass(frozen=True)
class Clothed:
    """What is seen of a person: material -> skinned surface, and its shade (V,) in contact."""

    surfaces: dict[str, Shell]
    shade: dict[str, Array]
    arms_out: dict[str, float]
    """Side -> how far a free arm is drawn out from where it hangs so that it clears the hips, rad."""

    def frames(self, solved: Mapping[str, Array], index: int) -> dict[str, Array]:
        """Link frames (1, 4, 4) of one situation, free arms beside the hips."""
        return self.hung({name: frame[index : index + 1] for name, frame in solved.items()})

    def hung(self, frames: Mapping[str, Array]) -> dict[str, Array]:
        """Link frames (N, 4, 4) with free arms beside the hips."""
        out = dict(frames)
        for side, sign in ((RIGHT, 1.0), (LEFT, -1.0)):
            turn = np.eye(4)
            c, s = np.cos(self.arms_out[side]), sign * np.sin(self.arms_out[side])
            turn[1:3, 1:3] = [[c, s], [-s, c]]
            shoulder = out[f"{side}_upper_arm"][:, :3, 3]
            for name in ("upper_arm", "forearm", "hand"):
                frame = out[f"{side}_{name}"].copy()
                frame[:, :3, 3] -= shoulder
                frame = turn @ frame
                frame[:, :3, 3] += shoulder
                out[f"{side}_{name}"] = frame
        return out


def build_clothed(body: Body, aids: Mapping[str, str]) -> Clothed:
    """A person in clothes (first of the batch), from cache or built; ``aids``: side -> what that hand grips."""
    frames = neutral_frames(body, short=False, apart=APART)
    found = {shape.name: shape.surface for shape in _stuffs(body)}
    worn = {name: bound(surface, body, frames) for name, surface in found.items() if name != "skin"}
    skin, shade = with_hands(found["skin"], body, frames, aids)
    return Clothed(
        worn | {"skin": skin},
        {name: surface.shade for name, surface in found.items()} | {"skin": shade},
        {side: 0.0 if side in aids else _beside(found["shorts"], frames) for side in (RIGHT, LEFT)},
    )


def build_clothes(body: Body) -> Clothed:
    """A person in clothes but without hands, which are pieces of skin of their own; both arms hang free."""
    frames = neutral_frames(body, short=False, apart=APART)
    found = {shape.name: shape.surface for shape in _stuffs(body)}
    return Clothed(
        {name: bound(surface, body, frames) for name, surface in found.items()},
        {name: surface.shade for name, surface in found.items()},
        dict.fromkeys((RIGHT, LEFT), _beside(found["shorts"], frames)),
    )


def _beside(shorts: Surface, frames: dict[str, Array]) -> float:
    """How far a hanging arm has to turn outward for its hand to pass the hips, rad."""
    shoulder, hip = frames["right_upper_arm"][:3, 3], frames["pelvis"][1, 3]
    level = shorts.points[np.abs(shorts.points[:, 1] - hip) < 0.05]
    wanted = float(level[:, 2].max()) + _HAND - shoulder[2]
    return float(np.arctan2(max(wanted, 0.0), shoulder[1] - hip))


def _stuffs(body: Body) -> list[Shape]:
    """Everything but the hands in the neutral stance, from cache or built."""
    about = piece_about(body, "clothed")
    key = hashlib.sha256(json.dumps(about, sort_keys=True).encode()).hexdigest()[:24]

    def build() -> list[Shape]:
        made = [Shape(name, "body", "middle", name, s) for name, s in _dressed(body).items()]
        cache.store(key, made, {k: v for k, v in about.items() if k != "table"})
        return made

    return cache.found_or_built(key, build)


def _dressed(body: Body) -> dict[str, Surface]:
    frames = neutral_frames(body, short=False, apart=APART)
    form = Form(body, frames)
    hems, skin = Hems(form), skin_piece(body, "body")
    shirt, shorts = (_hung(form, name, _cloth(form, name)) for name in ("shirt", "shorts"))
    for inside in (hems.waist, lambda points: _UNDER - hems.shirt(points)):
        shorts = cut(shorts, inside(shorts.points))
    clothes = _hemmed("shirt", shirt, hems.shirt(shirt.points)) | _hemmed("shorts", shorts, hems.legs(shorts.points))
    bare = cut(skin, _UNDER - np.maximum(hems.shirt(skin.points), hems.shorts(skin.points)))
    bare, *cloth = _shaded([bare, *clothes.values()])
    foot = _shaded([skin_piece(body, "foot")])[0]
    head, hair = _shaded([skin_piece(body, "head"), combed(_cloth(form, "hair"), form.frames["head"], form.scale)])
    hair = stranded(hair, form.frames["head"])
    out = dict(zip(clothes, cloth, strict=True))
    on_face = {name: _feature(form, head, name) for name in (*FEATURES, "brow")}
    out |= {name: on_face[name] for name in FEATURES}
    return out | {"skin": joined([bare, head, foot, foot.mirrored()]), "hair": joined([hair, on_face["brow"]])}


def _feature(form: Form, head: Surface, name: str) -> Surface:
    """A thin piece that lies on the skin of the face where a list of the table says, lit and shaded as the skin is."""
    sex, lift = SEXES[int(form.body.sex[0])], form.table["lift"][name] * form.scale
    rows = form.parts(lambda r: r.get("sex", sex) == sex, name)
    (skin,) = skin_solids(form.body, "head")

    def distance(points: Array) -> Array:
        over = skin.solid.distance(points)
        return np.asarray(np.maximum(np.maximum(over - lift, -over - _DEEP), fold(rows, points)))

    solids = [r.solid for r in rows]
    low, high = np.min([s.low for s in solids], axis=0), np.max([s.high for s in solids], axis=0)
    made = finish(*extract([Blended(Solid(distance, low, high), 0.0)], _FINE), 900)
    nearest = cKDTree(head.points).query(made.points)[1]
    a, b, c = (made.points[made.triangles[:, k]] for k in range(3))
    skin_ward = np.einsum("ti,ti->t", np.cross(b - a, c - a), head.normals[nearest][made.triangles].sum(axis=1))
    outer = made.triangles[skin_ward > 0.0]  # what lies in the skin is never seen
    used, faces = np.unique(outer, return_inverse=True)
    at = nearest[used]
    made = Surface(made.points[used], faces.reshape(-1, 3).astype(np.int32), head.normals[at], head.shade[at])
    return made if name == "lips" else joined([made, made.mirrored()])


def _shaded(surfaces: list[Surface]) -> list[Surface]:
    """Surfaces that darken each other in contact, softened along each."""
    out = []
    for surface in contact_shadow(surfaces):
        average, shade = neighbour_mean(surface.triangles, len(surface.points)), surface.shade
        for _ in range(10):
            shade = 0.5 * (shade + average @ shade)
        out.append(replace(surface, shade=shade))
    return out


def _hemmed(name: str, surface: Surface, value: Array) -> dict[str, Surface]:
    """A garment cut at its hems: the hem's band, and all else."""
    whole, at = cut(surface, value), cut(replace(surface, shade=value), value).shade
    band, along = cut(whole, _HEM - at), cut(replace(whole, shade=at), _HEM - at).shade
    return {name: cut(whole, at - _HEM), f"{name}_hem": with_fold(band, along, _THICK)}


class Hems:
    """How far a point of the neutral stance lies inside a garment's hems, m; positive where there is cloth."""

    def __init__(self, form: Form) -> None:
        self.form, self.frames, self.size = form, form.frames, form.scale
        self.cuts = {k: v * form.scale * 1e-3 for k, v in form.table["hems"].items()}
        self.cuts["neck_round"] *= form.widened("neck")

    def shirt(self, points: Array) -> Array:
        """Inside neckline, sleeves and lower hem."""
        value = self.body(points)
        for side, sign in SIGNS:
            out = arm_side(points, self.frames, side, sign, self.size) + _INNER
            value = np.minimum(value, np.maximum(self.sleeve(points, side), -_STEEP * out))
        return value

    def sleeve(self, points: Array, side: str) -> Array:
        """Above the end of a sleeve."""
        return np.asarray(self.cuts["sleeve"] - below(points, self.frames[f"{side}_upper_arm"]))

    def body(self, points: Array) -> Array:
        """Inside neckline and lower hem."""
        value = points[:, 1] - self.frames["pelvis"][1, 3] - self.cuts["shirt_low"]
        return np.asarray(np.minimum(value, self.off_neck(points)))

    def off_neck(self, points: Array) -> Array:
        """Outside the neckline."""
        cuts, up = self.cuts, points[:, 1] - self.frames["pelvis"][1, 3]
        ahead = points[:, 0] - cuts["neck_x"] - cuts["neck_tilt"] * (up - cuts["neck_y"]) / cuts["neck_y"]
        away = np.hypot(ahead, points[:, 2]) - cuts["neck_round"]
        sloped = cuts["neck_front"] - self.form.table["hems"]["neck_slope"] * (points[:, 0] - 0.04 * self.size) - up
        return np.asarray(-smooth_minimum(-away, -sloped, 0.06 * self.size))

    def shorts(self, points: Array) -> Array:
        """Inside waistband and legs."""
        return np.asarray(np.minimum(self.waist(points), self.legs(points)))

    def waist(self, points: Array) -> Array:
        """Below the top of the shorts."""
        return np.asarray(self.frames["pelvis"][1, 3] + self.cuts["shorts_top"] - points[:, 1])

    def legs(self, points: Array) -> Array:
        """Above the hems of the shorts' legs; linear on each side, so that large triangles are cut straight."""
        value = np.full(len(points), 1.0)
        for side, sign in ((RIGHT, 1.0), (LEFT, -1.0)):
            leg = self.cuts["shorts_leg"] - below(points, self.frames[f"{side}_thigh"])
            value = np.where(sign * points[:, 2] > 0.0, leg, value)
            value = np.where(arm_side(points, self.frames, side, sign, self.size) > 0.0, -1.0, value)
        return value


def _hung(form: Form, name: str, surface: Surface) -> Surface:
    """A garment as it hangs over what it was grown on, in folds."""
    hip, size = form.frames["pelvis"][:3, 3], form.scale
    if name == "shorts":
        legs = [form.frames[f"{side}_thigh"] for side, _ in SIGNS]
        return folded(surface, leg_folds(surface.points, legs, size))
    points = surface.points
    most = _SPAN * size * eased(Hems(form).off_neck(points) / size, *_YOKE)
    trunk = np.ones(len(points), dtype=bool)
    for side, sign in SIGNS:
        pit = form.frames[f"{side}_upper_arm"][:3, 3] - np.array([0.0, 0.13, 0.02 * sign]) * size
        most *= eased(np.hypot(points[:, 1] - pit[1], points[:, 2] - pit[2]) / size, 0.03, 0.11)
        trunk &= arm_side(points, form.frames, side, sign, size) < 0.0
    surface = hanging(surface, trunk & (points[:, 1] > hip[1] + _BUST * size), most)
    hung = spanned(stretched(surface, trunk, most), most)
    height = np.where(trunk, side_folds(hung.points, hip, size), 0.0)
    for side, _ in SIGNS:
        height += np.where(trunk, 0.0, sleeve_folds(hung.points, form.frames[f"{side}_upper_arm"], size))
    return folded(hung, height)


def _armpits(form: Form) -> list[Blended]:
    """What parts a shirt's side from its arms below the sleeves, where they would grow together."""
    reach = np.abs(form.frames["right_hand"][:3, 3]).max() * 2e3
    out = []
    for side, sign in SIGNS:

        def distance(points: Array, side: str = side, sign: float = sign) -> Array:
            at = points * 1e-3
            slab = np.abs(arm_side(at, form.frames, side, sign, form.scale) + _INNER) - _PARTED
            under = form.table["hems"]["sleeve"] * form.scale * 1e-3 - below(at, form.frames[f"{side}_upper_arm"])
            return np.asarray(np.maximum(slab, under - _OPEN) * 1e3)

        out.append(Blended(Solid(distance, np.full(3, -reach), np.full(3, reach)), 3.0, True))
    return out


def _cloth(form: Form, name: str) -> Surface:
    """One garment, or hair, before it is cut."""
    sex = SEXES[int(form.body.sex[0])]
    own = form.parts(lambda r: r.get("sex", sex) == sex, name)
    if name in _OVER:
        over = _OVER[name] * form.scale
        under = form.table["under"][name]
        skin = form.parts(lambda r: not {"on", "carve", "bare"} & set(r) and r["at"] in under)
        hung = girdle(form.body, form) if name == "shirt" else []
        skin += [replace(p, blend=_HUNG * form.scale) for p in hung]
        own = [*(Blended(thicker(p.solid, over), p.blend) for p in skin), *own]
    own += _armpits(form) if name == "shirt" else []
    step, count = _GRID[name]
    return finish(*extract(own, step), count)
