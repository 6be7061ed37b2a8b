"""viz3d: what the hip carries, computed and drawn to scale.

A scene file says who stands how and holds what; the rooms of this package turn it into numbers
(:mod:`viz3d.solution`), a picture plan (:mod:`viz3d.stage`) and files (:mod:`viz3d.output`).
SI units throughout; ISB axes: x forward, y up, z to the person's right.
"""

__version__ = "0.1.0"
