"""Pages on phones, tablets, desks and enlarged: figure and result stay in sight, nothing hides what is moved."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.web.conftest import PHONE, TABLET, Opened
from viz3d.scene.reader import load_scene
from viz3d.web.themes import theme_style, themes_of

NAME = "cane-opposite-hand"
LAID, LAPTOP, DESK = (844, 390), (1366, 768), (1920, 1080)
ENLARGED, ENLARGED_LAID = (195, 422), (683, 384)
"""A phone upright, and a laptop, at 200 %."""
ALL = [ENLARGED, LAID, TABLET, LAPTOP, DESK, ENLARGED_LAID]
SIZES = [PHONE, *(pytest.param(size, marks=pytest.mark.long) for size in ALL)]

IN_SIGHT = """(all) => {
  const wrong = [];
  const seen = (e, share) => {
    const b = e.getBoundingClientRect(), high = Math.min(b.bottom, innerHeight) - Math.max(b.top, 0);
    return high >= share * b.height - 1 && b.left >= -1 && b.right <= innerWidth + 1;
  };
  for (const e of document.querySelectorAll("#controls :is(input, button, select, summary)")) {
    if (!e.checkVisibility() || e.disabled) continue;
    e.focus();
    const b = e.getBoundingClientRect();
    const over = document.elementFromPoint(b.left + b.width / 2, b.top + Math.min(b.height, 60) / 2);
    if (!over || !(e.contains(over) || over.closest("label")?.contains(e))) wrong.push(`${e.id || e.textContent} is covered`);
    if (!seen(document.querySelector(".canvas"), all ? 0.99 : 0.7)) wrong.push(`no figure beside ${e.id || e.textContent}`);
    if (!seen(document.getElementById("joint"), 0.99)) wrong.push(`no result beside ${e.id || e.textContent}`);
  }
  return wrong;
}"""

COVERED = """() => {
  const canvas = document.getElementById("figure"), box = canvas.getBoundingClientRect();
  const copy = document.createElement("canvas");
  [copy.width, copy.height] = [canvas.width, canvas.height];
  const pen = copy.getContext("2d");
  pen.drawImage(canvas, 0, 0);
  const per = canvas.width / box.width;
  return Array.from(document.querySelectorAll(".tag")).filter(e => e.offsetHeight).map(e => {
    const b = e.getBoundingClientRect();
    const { data } = pen.getImageData((b.left - box.left) * per, (b.top - box.top) * per, b.width * per, b.height * per);
    let solid = 0;
    for (let k = 3; k < data.length; k += 4) solid += data[k] > 250;
    return [e.textContent, solid / (data.length / 4)];
  });
}"""
"""Share of solid pixels, those of bones, aids and arrows, behind every label; the skin is not solid."""


@pytest.mark.parametrize("size", SIZES)
def test_figure_and_result_stay_with_every_control_in_hand(
    written: Callable[..., Path], open_page: Callable[..., Opened], size: tuple[int, int]
) -> None:
    opened = open_page(written(NAME).as_uri(), size)
    assert opened.page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
    assert opened.page.evaluate(IN_SIGHT, size not in (LAPTOP, DESK)) == []
    if size == PHONE:
        check_upper_half(opened)


def check_upper_half(opened: Opened) -> None:
    """Figure and result take the upper half, and what is touched is as large as a thumb."""
    opened.page.focus("#lean")
    foot = opened.page.evaluate("() => document.getElementById('result').getBoundingClientRect().bottom")
    assert 0.4 * PHONE[1] < foot < 0.53 * PHONE[1]
    low = opened.page.evaluate(
        "() => Array.from(document.querySelectorAll('#controls :is(button, input[type=range], .choices label)'))"
        ".filter(e => e.checkVisibility()).map(e => e.getBoundingClientRect().height)"
    )
    assert min(low) >= 40  # a thumb's width
    check_steps(opened)


def check_steps(opened: Opened) -> None:
    """Every step's button is whole, and the step that is seen is marked until something is moved."""
    buttons = opened.page.locator("#steps button")
    marked = opened.page.locator("#steps [aria-current=step]")
    ends = buttons.evaluate_all("all => all.map(e => [e.getBoundingClientRect().right, e.scrollWidth - e.clientWidth])")
    assert len(ends) > 1
    assert max(right for right, _ in ends) <= PHONE[0]
    assert max(cut for _, cut in ends) <= 1
    assert marked.all_text_contents() == buttons.all_text_contents()[:1]
    buttons.nth(1).click()
    assert marked.all_text_contents() == buttons.all_text_contents()[1:2]
    opened.slide("#lean", 3)
    assert marked.count() == 0


def test_a_first_question_and_its_button_are_seen_at_once(
    written: Callable[..., Path], open_page: Callable[..., Opened]
) -> None:
    opened = open_page(written(NAME).as_uri(), PHONE, predict=True)
    for size in (PHONE, LAID):
        opened.page.set_viewport_size({"width": size[0], "height": size[1]})
        opened.settled()
        assert opened.page.evaluate("() => document.querySelector('.primary').getBoundingClientRect().bottom") < size[1]
        assert not opened.page.locator("#unit").is_visible()
    opened.page.click("#settings summary")
    assert opened.page.locator("#unit").is_visible()
    opened.page.keyboard.press("Escape")
    assert not opened.page.locator("#unit").is_visible()
    opened.page.set_viewport_size({"width": LAPTOP[0], "height": LAPTOP[1]})
    opened.page.wait_for_selector("#unit")


@pytest.mark.parametrize("size", [PHONE, *(pytest.param(size, marks=pytest.mark.long) for size in (LAID, ENLARGED))])
def test_labels_get_shorter_rather_than_cover_bones(
    written: Callable[..., Path], open_page: Callable[..., Opened], size: tuple[int, int]
) -> None:
    opened = open_page(written(NAME).as_uri(), size)
    for view in ("front", "turned", "back"):
        opened.page.click(f"[data-view={view}]")
        opened.settled()
        covered = opened.page.evaluate(COVERED)
        assert len(covered) >= 3
        assert [name for name, share in covered if share > 0.02] == [], view
    opened.page.click("[data-view=front]")
    opened.settled()
    told = " ".join(opened.page.locator(".tag:visible").all_text_contents())
    assert ("Pull of the hip muscle" in told) == (size == LAID)
    opened.page.set_viewport_size({"width": LAPTOP[0], "height": LAPTOP[1]})
    opened.settled()
    opened.page.wait_for_function(
        "() => document.getElementById('labels').textContent.includes('Pull of the hip muscle')"
    )


def test_light_and_dark_are_the_devices_or_a_persons(
    written: Callable[..., Path], open_page: Callable[..., Opened]
) -> None:
    from viz3d.stage.palette import palette

    opened = open_page(written(NAME).as_uri(), PHONE, color_scheme="dark")
    for name in ("dark", "light"):
        if name == "light":
            opened.page.click("#settings summary")  # folded on a phone
            opened.page.select_option("#theme", "light")
            opened.settled()
        colours = palette(name)
        drawn = opened.page.evaluate(
            "() => [getComputedStyle(document.body.parentNode).backgroundColor,"
            " viz.page.figure.forces.arrows.joint.children[0].material.color.getHexString(),"
            " document.querySelector('#polygon [data-key=joint]').getAttribute('fill')]"
        )
        wanted = tuple(int(colours["paper_top"][k : k + 2], 16) for k in (1, 3, 5))
        assert drawn[0] == f"rgb({wanted[0]}, {wanted[1]}, {wanted[2]})"
        assert [drawn[1], drawn[2]] == [colours["joint"][1:].lower(), colours["joint"]]
    opened.page.reload()
    opened.settled()
    assert opened.page.input_value("#theme") == "light"  # kept


def test_a_dark_scene_opens_dark() -> None:
    themes = themes_of(load_scene(NAME, ["picture.backdrop=dark"]))
    assert themes["first"] == "dark"
    assert themes_of(load_scene(NAME))["first"] == "device"
    assert "prefers-color-scheme:dark" in theme_style(themes)


@pytest.mark.parametrize("paper", ["A4", pytest.param("Letter", marks=pytest.mark.long)])
def test_it_prints_as_one_sheet(written: Callable[..., Path], open_page: Callable[..., Opened], paper: str) -> None:
    """From a phone and from a desk, predicted or not: one page, with the figure in it and nothing beside it."""
    size, predict = (PHONE, True) if paper == "A4" else (LAPTOP, False)
    opened = open_page(written(NAME).as_uri(), size, predict=predict)
    opened.page.evaluate(
        "() => addEventListener('afterprint', () => null) ?? addEventListener('beforeprint', () => {"
        " const copy = document.getElementById('sheet'), pen = copy.getContext('2d');"
        " const { data } = pen.getImageData(0, 0, copy.width, copy.height);"
        " window.printed = [copy.width, data.filter((v, k) => k % 4 === 3 && v > 250).length / (copy.width * copy.height),"
        "   document.body.scrollWidth, document.documentElement.dataset.theme]; })"
    )
    pages = opened.page.pdf(format=paper)
    assert len(re.findall(rb"/Type\s*/Page\b", pages)) == 1
    fine, solid, wide, theme = opened.page.evaluate("() => window.printed")
    assert fine > 1300
    assert 0.1 < solid < 0.5
    assert wide <= max(703, size[0])
    assert theme == "light"
    assert opened.page.get_attribute("body", "data-paper") == "no"
