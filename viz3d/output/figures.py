"""The solid things that a plan shows.

Question answered: which surfaces does this plan need, for this person?
"""

from __future__ import annotations

from viz3d.body.person import Body
from viz3d.progress import Progress
from viz3d.shapes.skeleton import Figure, build_figure
from viz3d.stage.plan import Plan


def figure_of(plan: Plan, body: Body, progress: Progress | None = None, detail: str = "full") -> Figure:
    """The figure of a plan: its bones, what it holds, its clothes and its muscles, from the cache where possible."""
    return build_figure(body, progress, plan.aids, detail, plan.dress, plan.flesh)
