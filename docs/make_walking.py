"""Write walking.md: a solved walk beside measurements, and what each choice on the way to it is worth.

.venv/bin/python docs/make_walking.py
"""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.person import Body, make_body
from viz3d.motion.cycle import Cycle, cycle_of
from viz3d.motion.hands import Held
from viz3d.motion.library import usual_motion
from viz3d.motion.swing import measured_ground
from viz3d.motion.table import Motion
from viz3d.solution.changed import AskedWalk, changed_walk
from viz3d.solution.walk import Walked, solve_walk
from viz3d.solution.walk_beside import FIRST, SECOND, Compared, compared, decimals, extreme, frontal_degrees, phase
from viz3d.statics.ground import RULES
from viz3d.statics.hip import balanced, effort
from viz3d.statics.loads import INERTIA, Load, total
from viz3d.statics.model import EQUIVALENT, MODELS, SPATIAL_SET, MuscleModel
from viz3d.statics.moving import hip_frame, moving_lines
from viz3d.words.message import message
from viz3d.words.voice import USUAL

HERE = Path(__file__).parent
WOMAN = ("female", 64.0, 1.66)
FACTS = """# Walking: what comes out, and why

One cycle of measured walking ({speed:.2f} m/s, one adult; {source}; licence: {licence}), put on a woman of 64 kg and
1.66 m. Nothing below is tuned to: what comes out is printed. Moments are those that the body's own tissue makes. Written
by `docs/make_walking.py`.
"""
WHY = """## Why it lies outside

* **Joint force.** One muscle about the frontal axis gives {one:.2f} BW, within what instrumented hips read ({low:.2f} to
  {high:.2f} BW). All muscles about three axes give {three:.2f}: above ten of those hips, within the {old} of the one
  measured in 1993. The reason is in the muscles, not in the motion: the moments *measured on the walker himself*, put
  through the same muscles with the same weights and inertia, give {theirs:.2f} BW. Their arms for extending and flexing
  are short (upper gluteus maximus 1.6 cm when the heel strikes, iliacus 1.3 cm with the leg behind the body), and
  strength does not change with length. People with a new hip also walk more slowly (about 1.1 m/s) and with smaller
  moments than this walker.
* **First peak of the abduction moment.** {abduction:.2f} against {abduction_low:.2f} to {abduction_high:.2f} N m/kg. The
  source's own hips lie 198 mm apart (found from its foot at rest), ours the published mean of 160: 19 mm less lever for
  1.1 BW are 0.2 N m/kg. Hips 190 mm apart give {wide:.2f}.
* **Extension moment.** {extension:.2f} against {extension_low:.2f} to {extension_high:.2f} N m/kg, and on average
  {lean:.2f} N m/kg too far towards extension while the foot stands: the walker's trunk is measured 6 degrees forward of
  his pelvis, in frames that are not ours. With the trunk upright on average the difference is {upright:.2f}.
* **Centre of mass.** Sideways {aside:.0f} and upward {rise:.0f} mm, less than others': the walker's own measured ground
  forces, twice integrated, ask for {asked_aside:.0f} and {asked_rise:.0f} mm. He steps narrowly (88 mm).
* **Pelvis.** {pelvis:.1f} degrees of frontal range; 24 young adults at 1.23 m/s have 11.3 (median curve; Fukuchi 2018),
  the older ones of Reininga 2012, who walk more slowly, 8.2.
* **Knee.** The standing knee looks bent because the walker's own is: measured {theirs_strike:.0f} degrees at heel strike,
  {theirs_loading:.0f} as the leg takes the weight, {theirs_least:.0f} at the least ({strike:.0f}, {loading:.0f} and {least:.0f} on
  this body: {knee_changed:.1f} of root mean square change), where 24 young adults have 0, 15 and 4 (median curve; Fukuchi 2018). From
  strike to loading he bends it as they do, by 15 degrees; the rest is his habit or his markers' zero, which the source
  does not tell. Drawn bones turn by the solved angles within a degree; at zero the drawn centres of hip, knee and ankle lie
  in line, and the middles of the shafts stand 3 degrees apart, since the femoral head lies ahead of the shaft: a line along
  shaft and shin reads that much more. Nothing of it is changed here.
* **Forward ground force** is no result by default: as the markers have it, the centre of mass swings {swing:.0f} mm too
  little forward and back, the braking force is half of the measured one, and the centre of pressure lies
  {behind:.0f} mm behind the heel when the other foot leaves. `--swing as-measured` shows that walk.
"""


def woman(**more: Any) -> Body:
    return make_body(*WOMAN, **more)


def walk(kind: str = EQUIVALENT, body: Body | None = None, motion: Motion | None = None, rule: str = RULES[0],
         against: float = 0.0, **how: float | bool) -> Walked:  # fmt: skip
    """One walk of the right hip."""
    who = woman() if body is None else body
    cycle = cycle_of(who, usual_motion() if motion is None else motion, **how)  # type: ignore[arg-type]
    return solve_walk(who, cycle, "right", MuscleModel(kind, co_contraction=against), rule)


def peaks(walked: Walked) -> tuple[float, float]:
    """Both peaks of the joint force, BW."""
    at, joint = phase(walked), walked.joint_bw[: walked.cycle.frames]
    return extreme(joint, at, FIRST, 1.0)[0], extreme(joint, at, SECOND, 1.0)[0]


def figure(walked: Walked, key: str) -> Compared:
    return next(c for c in compared(walked) if c.key == key)


def beside_table() -> list[str]:
    """Our figures by model beside the measured ones."""
    walks = {kind: {c.key: c for c in compared(walk(kind))} for kind in MODELS}
    out = ["| | one muscle | frontal set | three axes | measured | inside | source |", "|---|---|---|---|---|---|---|"]
    for key, last in walks[SPATIAL_SET].items():
        places = max(
            decimals(one.unit, one.ours, one.low, one.high)
            for one in (walks[k][key] for k in MODELS if key in walks[k])
        )
        ours = [f"{walks[kind][key].ours:.{places}f}" if key in walks[kind] else "–" for kind in MODELS]
        band = f"{last.low:.{places}f}" if last.low == last.high else f"{last.low:.{places}f} to {last.high:.{places}f}"
        verdict = {True: "yes", False: "no", None: "–"}
        inside = " / ".join(verdict[walks[k][key].inside] for k in MODELS if key in walks[k])
        inside = inside.split(" / ")[0] if len(set(inside.split(" / "))) == 1 else inside
        memory = " (from memory)" if last.status == "from-memory" else ""
        source = last.source.split(";")[0]
        told = USUAL.say(message(f"walk.beside.{key}"))
        out.append(f"| {told}, {last.unit} | {' | '.join(ours)} | {band} | {inside} | {source}{memory} |")
    return out


def row(name: str, one: Walked, three: Walked) -> str:
    """A row of the tables of choices."""
    first, second = peaks(one)
    third, fourth = peaks(three)
    flexion, ground = figure(one, "extension").ours, figure(one, "ground_first").ours
    planted = one.cycle.planted
    place = (one.floor.place[:, 1] - one.posed.joints["right_ankle"])[
        one.cycle.stands[:, 1] & ~one.cycle.stands[:, 0], 0
    ]
    return (
        f"| {name} | {first:.2f}, {second:.2f} | {third:.2f}, {fourth:.2f} | {figure(one, 'abduction_first').ours:.2f} |"
        f" {flexion:.2f} | {ground:.2f} | {1000 * place.min():.0f} to {1000 * place.max():.0f} |"
        f" {1000 * max(planted.slid.values()):.1f} |"
    )


HEADS = [
    "| | joint, one muscle, BW | joint, three axes, BW | abduction, N m/kg | extension, N m/kg | ground up, BW | pressure ahead"
    " of the ankle, mm | feet slide, mm |",
    "|---|---|---|---|---|---|---|---|",
]


def both(**how: float | bool) -> tuple[Walked, Walked]:
    return walk(EQUIVALENT, **how), walk(SPATIAL_SET, **how)  # type: ignore[arg-type]


def upright_motion() -> Motion:
    """The usual motion with its trunk upright on the pelvis on average."""
    motion = usual_motion()
    level = motion.values["trunk_back"] - motion.values["trunk_back"].mean()
    return dataclasses.replace(motion, values=motion.values | {"trunk_back": level})


def measured_moments(walked: Walked) -> float:
    """Joint force, BW, of the muscle set under the moments measured on the walker, with this walk's forces."""
    motion, share = usual_motion(), walked.cycle.share
    at = motion.times[:-1] / motion.period
    names = ("flexion", "abduction", "rotation")
    asked = [np.interp(share, at, motion.values[f"hip_{n}_moment_right"][:-1], period=1.0) for n in names]
    turn = np.linalg.solve(walked.axes, (np.stack(asked, axis=1) * float(walked.body.mass[0]))[..., None])[..., 0]
    force, own = total(walked.load.loads, len(share))
    extra = Load("measured", INERTIA, np.zeros_like(force), np.zeros_like(force), couple=turn - own)
    frame = hip_frame(walked.posed, "right")
    lines = moving_lines(walked.body, walked.posed, frame, walked.cycle.angles.hips[:, 1, 1])
    found = balanced(walked.body, walked.hip, (*walked.load.loads, extra), lines, walked.model)
    return float(np.nanmax((found.joint_magnitude / float(walked.body.weight[0]))[5:62]))


def asked_ranges(cycle: Cycle) -> tuple[float, float]:
    """Sideways and upward range of the centre of mass, mm, that the measured ground forces ask for."""
    feet = [measured_ground(cycle.motion, cycle.share, side) for side in ("left", "right")]
    whole: Array = sum(f for f in feet if f is not None)  # type: ignore[assignment]
    found = np.fft.rfft(9.80665 * whole, axis=0)
    turn = 2.0 * np.pi * np.arange(len(found)) / float(cycle.period[0])
    found[0], found[7:] = 0.0, 0.0
    found[1:] /= -(turn[1:, None] ** 2)
    away = np.ptp(np.fft.irfft(found, n=len(whole), axis=0), axis=0)
    return float(1000 * away[2]), float(1000 * away[1])


def mean_flexion_off(walked: Walked) -> float:
    """Mean of our flexion moment less the measured one while the foot stands, N m/kg."""
    motion, share = usual_motion(), walked.cycle.share
    theirs = np.interp(share, motion.times / motion.period, motion.values["hip_flexion_moment_right"])
    ours = walked.moment_below[:, 0] / float(walked.body.mass[0])
    return float((ours - theirs)[walked.cycle.stands[:, 1]].mean())


def why(one: Walked, three: Walked) -> str:
    as_measured = walk(by_force=False)
    place = (as_measured.floor.place[:, 1] - as_measured.posed.joints["right_ankle"])[:, 0]
    alone = as_measured.cycle.stands[:, 1] & ~as_measured.cycle.stands[:, 0]
    aside, rise = asked_ranges(one.cycle)
    abduction, extension, band = (figure(one, k) for k in ("abduction_first", "extension", "joint_peak_2016"))
    old, motion = figure(one, "joint_peak_1993"), usual_motion()
    knee = np.degrees(
        np.interp(np.arange(100) / 100, motion.times / motion.period, motion.values["knee_flexion_right"])
    )
    return WHY.format(
        one=max(peaks(one)), three=max(peaks(three)), low=band.low, high=band.high, old=f"{old.low:g} to {old.high:g}",
        theirs=measured_moments(three), abduction=abduction.ours, abduction_low=abduction.low,
        abduction_high=abduction.high, wide=figure(walk(body=woman(hip_spacing=0.19)), "abduction_first").ours,
        extension=extension.ours, extension_low=extension.low, extension_high=extension.high,
        lean=-mean_flexion_off(one), upright=-mean_flexion_off(walk(motion=upright_motion())),
        aside=1000 * figure(one, "centre_aside").ours, rise=1000 * figure(one, "centre_up").ours, asked_aside=aside,
        asked_rise=rise, pelvis=figure(one, "pelvis_range").ours, swing=1000 * (one.cycle.swing or 0.0),
        strike=figure(one, "knee_strike").ours, loading=figure(one, "knee_loading").ours,
        least=figure(one, "knee_least").ours,
        theirs_strike=knee[0], theirs_loading=knee[:30].max(), theirs_least=knee[25:55].min(),
        knee_changed=np.degrees(one.cycle.planted.changed["right"][3]),
        behind=-1000 * place[alone].min() - 0.175 * 0.152 * 1660,
    )  # fmt: skip


def shares() -> list[str]:
    """Both rules of double stance against the measured forces of each foot."""
    out = [
        "| rule | up, rms BW | forward, rms BW | sideways, rms BW | joint, one muscle, BW | joint, three axes, BW |",
        "|---|---|---|---|---|---|",
    ]
    for rule in RULES:
        one, three = walk(rule=rule), walk(SPATIAL_SET, rule=rule)
        measured = measured_ground(one.cycle.motion, one.cycle.share, "right")
        assert measured is not None
        double = one.cycle.stands.all(axis=1)
        off = (one.floor.force[:, 1] / float(one.body.weight[0]) - measured)[double]
        size = np.sqrt((off**2).mean(axis=0))
        joints = [" and ".join(f"{p:.2f}" for p in peaks(w)) for w in (one, three)]
        out.append(f"| {rule} | {size[1]:.3f} | {size[0]:.3f} | {size[2]:.3f} | {joints[0]} | {joints[1]} |")
    return out


CHANGED = """## Changed walks

Each from a published change (sources in `viz3d/motion/changes.toml`, what is assumed or from memory too). One muscle; the
left hip is the painful one. The feet stay where they are; the whole body is moved aside over them (*sway*) until the
centre of pressure that Newton's law asks for is the unchanged walk's at every instant; *left* is what is missing of
that, and both paths to the hip agree to 1e-12 N m in every row. *Feet slide* is the worse foot. Peaks are what is compared. How deep
a valley between them is hangs on that rule: with the limp the moment nearly vanishes at 20 % of the cycle, as the pelvis
tilts half as fast there and the ground's sideways force alone keeps the pressure in its place. No source tells whether it does.
"""
CANES = """### A cane in the opposite hand, by how hard it is pressed

Beside it: abduction moment -26 % at the hip that the cane helps and +28 % at the other one (Ajemian 2004, after a hip
replacement, push not told), -25 % at the peak (27 people before one, Arch Rehabil Res Clin Transl 2022, doi
10.1016/j.arrct.2022.100209, impulse -15 % and, at the other hip, +7 %); abductor activity -31 % at the usual push and -42 % near the
greatest (Neumann 1998). Usual push: peak 7.2 (2.5) % of body weight, untrained (Hart 2019); rarely over 20 (Brand &
Crowninshield 1980). No size was fitted to them, but three choices were made anew after results had been seen: how long the cane
is down (from heel strike to heel strike at first, which gave -40 % at the first peak and -5 % at the second with 10 %; now as
long as the leg that it goes with stands, which is common practice), the shape in time of the trunk's sway (a squared sine over
stance at first, by which a limp had a *higher* first peak; now one rise a cycle; no source gives one), and how firmly the feet
are held to the floor (up to 5 points). Peak: the higher of a walk's two; mean: while that leg stands.
"""
CANES_WHY = """The other hip: +{other:.0f} % of the mean at 10 % of body weight where +28 % was measured (the second study has +7 %).
Its peak is no answer about the push: a cane that is only carried makes {only:+.0f} % of it, by how the arm brings it forward,
which is assumed. The push alone adds {added:.3f} N m/kg while the other leg stands alone; a sum worked out apart, an
inverted pendulum pushed by the cane, gives 0.020 (in the tests). The cane is in the air then, so that it acts by the sway
that it left behind; +28 % would ask for something that the people measured did and no source tells. In the **same hand** the cane passes outside
the hip: 10 % of body weight there changes the peak abduction moment by {same:+.0f} % and the joint's peak by {joint:+.0f} %; no less activity was
measured (Neumann 1998), larger moments were (Chan 2005).
"""
ONLY = 1e-6
"""Push of a cane that is only carried, as a share of body weight."""
STRENGTH = """### Half of the strength lost

With 48 % of the left abductors' strength left (a nerve block took 52 %: Kendall 2013, Pohl 2015) the motion is the same to the
last digit: pelvis {pelvis:.1f} and thorax {thorax:.1f} degrees of range before and after, joint force {joint:.2f} BW; the muscles give up to {before:.0f} % of what they
have before and {after:.0f} % after. Weakness alone does not make a limp here either.
"""


def change(asked: AskedWalk, side: str = "left", body: Body | None = None, kind: str = EQUIVALENT) -> Walked:
    who = woman() if body is None else body
    found = changed_walk(who, usual_motion(), asked)
    return solve_walk(who, found.cycle, side, MuscleModel(kind), changed=found)


def carried(walked: Walked) -> tuple[float, float, float, float]:
    """Peak and mean abduction moment, N m/kg, mean muscle force and peak joint force, BW, while the leg stands."""
    own = walked.cycle.stands[:, int(walked.side == "right")]
    moment = walked.moment_below[:, 1] / float(walked.body.mass[0])
    muscle = walked.load.muscle_force / float(walked.body.weight[0])
    return float(moment.max()), float(moment[own].mean()), float(muscle[own].mean()), float(walked.joint_bw.max())


def push(share: float, hand: str = "right", body: Body | None = None) -> AskedWalk:
    who = woman() if body is None else body
    return AskedWalk(side="left", held=Held(push={hand: share * float(who.weight[0])}))


def changes() -> list[str]:
    """A row a change."""
    heavy = make_body("female", 90.0, 1.66)
    rows: list[tuple[str, AskedWalk, Body | None]] = [
        ("as measured", AskedWalk(side="left"), None),
        ("limp: trunk over the left hip", AskedWalk("compensated limp", "left"), None),
        ("painful hip without sway", AskedWalk("no sway", "left"), None),
        ("pelvis drops 5 degrees more (from memory)", AskedWalk("drop", "left"), None),
        ("80 % of the speed", AskedWalk(side="left", faster=0.8), None),
        ("125 % of the speed", AskedWalk(side="left", faster=1.25), None),
        ("cane in the right hand, 10 %BW", push(0.1), None), ("cane in the left hand, 10 %BW", push(0.1, "left"), None),
        ("bag of 8 kg in the right hand", AskedWalk(side="left", held=Held(bags={"right": 8.0})), None),
        ("bag of 8 kg in the left hand", AskedWalk(side="left", held=Held(bags={"left": 8.0})), None),
        ("backpack of 8 kg", AskedWalk(side="left", held=Held(backpack=8.0)), None),
        ("90 kg instead of 64", AskedWalk(side="left"), heavy),
    ]  # fmt: skip
    out = [
        "| | speed, m/s | left hip: joint, BW | N | right hip: joint, BW | abduction, left, N m/kg | pelvis / thorax, deg |"
        " sway, mm | trunk forward, deg | left, mm | feet slide, mm |",
        "|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    for name, asked, body in rows:
        left, right = change(asked, "left", body), change(asked, "right", body)
        first, second = peaks(left)
        assert left.changed is not None
        balance = left.changed.balance
        out.append(
            f"| {name} | {left.cycle.speed:.2f} | {first:.2f}, {second:.2f} |"
            f" {max(first, second) * float(left.body.weight[0]):.0f} | {', '.join(f'{p:.2f}' for p in peaks(right))} |"
            f" {carried(left)[0]:.2f} | {frontal_degrees(left, 'pelvis'):.1f} / {frontal_degrees(left, 'trunk'):.1f} |"
            f" {1000 * balance.sway:.0f} | {np.degrees(-balance.lean) + 0.0:.1f} |"
            f" {1000 * max(balance.aside, abs(balance.ahead)):.1f} |"
            f" {1000 * max(left.cycle.planted.slid.values()):.1f} |"
        )
    return out


def canes() -> list[str]:
    """A row a push: what changes at both hips, per cent."""
    usual = {side: carried(change(AskedWalk(side="left"), side)) for side in ("left", "right")}
    out = [
        "| push, %BW | peak abduction moment | mean | muscle, mean | joint, peak | other hip: peak abduction moment | mean |"
        " joint, peak |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for share in (ONLY, 0.05, 0.072, 0.10, 0.15, 0.20):
        left, right = (
            [
                100.0 * (new / old - 1.0)
                for new, old in zip(carried(change(push(share), side)), usual[side], strict=True)
            ]
            for side in ("left", "right")
        )
        cells = [*left, right[0], right[1], right[3]]
        told = "only carried" if share == ONLY else f"{100 * share:.3g}"
        out.append(f"| {told} | " + " | ".join(f"{v:+.0f} %" for v in cells) + " |")
    return out


def cane_why() -> str:
    pressed, only = change(push(0.1), "right"), change(push(ONLY), "right")
    usual, other = carried(change(AskedWalk(side="left"), "right")), carried(pressed)
    alone = pressed.cycle.stands[:, 1] & ~pressed.cycle.stands[:, 0]
    added = (pressed.moment_below - only.moment_below)[alone, 1].mean() / float(pressed.body.mass[0])
    own, same = carried(change(AskedWalk(side="left"))), carried(change(push(0.1, "left")))
    return CANES_WHY.format(
        other=100 * (other[1] / usual[1] - 1),
        only=100 * (carried(only)[0] / usual[0] - 1),
        added=added,
        same=100 * (same[0] / own[0] - 1),
        joint=100 * (same[3] / own[3] - 1),
    )


def strength() -> str:
    usual, weak = change(AskedWalk()), change(AskedWalk(), body=woman(left={"strength": 0.48}))
    before, after = (100.0 * float(effort(w.hip, w.load).max()) for w in (usual, weak))
    assert np.array_equal(usual.joint_bw, weak.joint_bw)
    return STRENGTH.format(
        pelvis=frontal_degrees(weak, "pelvis"), thorax=frontal_degrees(weak, "trunk"), joint=float(weak.joint_bw.max()),
        before=before, after=after,
    )  # fmt: skip


def page() -> str:
    motion = usual_motion()
    one, three = walk(), walk(SPATIAL_SET)
    people = {
        "man, 80 kg, 1.80 m": make_body("male", 80.0, 1.80), "man, 95 kg, 1.95 m": make_body("male", 95.0, 1.95),
        "woman, 45 kg, 1.48 m": make_body("female", 45.0, 1.48), "woman, hips 190 mm apart": woman(hip_spacing=0.19),
        "woman, Dempster's segments": make_body(*WOMAN, segment_table="dempster"),
    }  # fmt: skip
    parts = [
        FACTS.format(speed=motion.speed, source=motion.source.split(";")[0], licence=motion.licence),
        "## Beside measurements\n", *beside_table(), "\n" + why(one, three),
        "## What the cutoff changes\n", *HEADS,
        *(row(f"{hz} Hz", *both(cutoff=float(hz))) for hz in (3, 4, 5, 6, 8, 10)),
        "\n## How two feet share\n", *shares(),
        "\n## What else the answer hangs on\n", *HEADS, row("as above", one, three),
        row("swing as measured", *both(by_force=False)),
        row("trunk upright on average", *(walk(k, motion=upright_motion()) for k in (EQUIVALENT, SPATIAL_SET))),
        row("antagonists at 10 %", *(walk(k, against=0.1) for k in (EQUIVALENT, SPATIAL_SET))),
        *(row(name, *(walk(k, body=b) for k in (EQUIVALENT, SPATIAL_SET))) for name, b in people.items()),
        "\n" + CHANGED, *changes(), "\n" + CANES, *canes(), "\n" + cane_why(), strength().rstrip(),
    ]  # fmt: skip
    return "\n".join(parts) + "\n"


if __name__ == "__main__":
    (HERE / "walking.md").write_text(page(), encoding="utf-8")
