"""The pages in a browser: Chromium, offline, as a person opens them from disk."""

from __future__ import annotations

import itertools
import json
import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from gatesim.cli.main import serve

ROOT = Path(__file__).parents[2]
CHROMIUM = shutil.which("chromium")
HOSTILE = "</script><script>window.hurt=1</script><img src=x onerror='window.hurt=1'>\"'`{{7*7}}&amp;"
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync")
KINDS = ("run", "two leaves", "check", "sweep", "error")


def _made(folder: Path, name: str, *args: object) -> Path:
    path = folder / f"{name.replace(' ', '-')}.html"
    assert int(serve([*map(str, args), "--format", "html", "--output", str(path), "-q"])) in (0, 1, 2)
    return path


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """One page of each kind; `hostile`: a run whose texts try to be more than text."""
    folder = tmp_path_factory.mktemp("pages")
    stories = ROOT / "scenarios"
    text = (stories / "lost-link-closing.scenario.yaml").read_text()
    text = re.sub(r"(?m)^title: .*$", lambda _: "title: " + json.dumps(HOSTILE), text)
    shutil.copytree(stories / "sites", folder / "sites")
    text = re.sub(r"(?m)^site: .*$", "site: sites/mill-lane.site.yaml", text)
    (folder / "h.scenario.yaml").write_text(text)
    broken = folder / "broken.scenario.yaml"
    broken.write_text("format: gatesim-scenario/1\ntitle: 3\n")
    lost = stories / "event-lost.scenario.yaml"
    return {
        "run": _made(folder, "run", "run", lost),
        "two leaves": _made(folder, "two leaves", "run", stories / "two-leaves-contact-on-second.scenario.yaml"),
        "hostile": _made(folder, "hostile", "run", folder / "h.scenario.yaml"),
        "check": _made(folder, "check", "check", lost, stories / "bad-watchdog-too-long.scenario.yaml", broken),
        "error": _made(folder, "error", "run", broken),
        "sweep": _made(folder, "sweep", "sweep", stories / "sites" / "mill-lane.site.yaml", "--fault", "lost-link",
                       "--fault", "force-sensing-dead", "--budget", 2, "--jobs", 1),
    }


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One browser for all tests of this file."""
    if CHROMIUM is None:
        if os.environ.get("CI") == "true":
            pytest.fail("chromium is not here, and in CI it must be")
        pytest.skip("chromium is not here")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        one = player.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield one
        one.close()


Opened = Callable[..., Any]


@pytest.fixture
def opened(browser: Any, pages: dict[str, Path]) -> Iterator[Opened]:
    """Open a page; at the end nothing was said on its console and nothing asked for but the file."""
    wrong: list[str] = []
    contexts: list[Any] = []
    asked: list[str] = []

    def open_(name: str, scheme: str = "light", width: int = 1280) -> Any:
        context = browser.new_context(offline=True, color_scheme=scheme, viewport={"width": width, "height": 900})
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda said: wrong.append(said.text))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("request", lambda request: asked.append(request.url))
        page.goto(pages[name].as_uri())
        return page

    yield open_
    for context in contexts:
        context.close()
    assert wrong == []
    assert asked
    assert all(url in {path.as_uri() for path in pages.values()} for url in asked), asked


@pytest.mark.parametrize(("name", "scheme"), [*itertools.product(KINDS, ["light", "dark"]), ("hostile", "light")])
def test_no_rule_of_accessibility_is_broken(opened: Opened, name: str, scheme: str) -> None:
    """The rules of axe-core, contrast among them (WCAG 2.x, levels A and AA, and its good practice)."""
    from axe_playwright_python.sync_playwright import Axe

    page = opened(name, scheme)
    if name == "sweep":
        page.locator("button.cell").first.click()
    if name == "check":
        page.locator("#unfold").click()
    found = Axe().run(page).response["violations"]
    assert [(one["id"], [node["html"][:200] for node in one["nodes"][:3]]) for one in found] == []


@pytest.mark.parametrize("name", KINDS)
def test_nothing_is_lost_to_the_side_at_200_per_cent(opened: Opened, name: str) -> None:
    """1280 pixels at 200 % are 640 to the page (WCAG 2.1, 1.4.10 asks for 320, where text alone must not scroll)."""
    for width in (640, 320):
        page = opened(name, width=width)
        if name == "sweep":
            page.locator("button.cell").first.click()
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_gate_moves_with_slider_and_keys(opened: Opened) -> None:
    page = opened("run")
    leaf, clock, slider = page.locator("#leaf-first"), page.locator("#clock"), page.locator("#time")
    still = leaf.get_attribute("transform")
    slider.focus()
    for _ in range(3):
        page.keyboard.press("PageUp")
    assert leaf.get_attribute("transform") != still
    assert slider.get_attribute("aria-valuetext") == clock.inner_text() != "0.000 s"
    page.keyboard.press("Home")
    assert clock.inner_text() == "0.000 s"
    assert leaf.get_attribute("transform") == still
    page.keyboard.press("End")
    page.keyboard.press("b")
    before = clock.inner_text()
    assert page.locator("tr.current button").inner_text() == before
    page.keyboard.press("n")
    page.keyboard.press("b")
    assert clock.inner_text() == before


def test_no_long_state_is_missing_in_a_lane(opened: Opened) -> None:
    """The controller is always in some mode: its bands fill the lane."""
    lane = opened("run").locator(".lane", has_text="controller").first
    wide = [float(text.rstrip("%")) for text in lane.locator("svg.track > svg").evaluate_all(
        "all => all.map(one => one.getAttribute('width'))")]
    assert sum(wide) > 97


def test_a_jump_shows_the_contact(opened: Opened) -> None:
    page = opened("run")
    assert page.locator(".block.closing").is_hidden()
    page.locator("#story tr", has_text="touches test block").locator("button").click()
    assert page.locator(".block.closing").is_visible()
    assert page.locator("#now").get_by_text("test block").is_visible()


def test_playing_goes_on_and_stops(opened: Opened) -> None:
    page = opened("run")
    page.locator("#play").press("Enter")
    page.wait_for_function("document.getElementById('clock').textContent !== '0.000 s'")
    page.locator("#play").press("Enter")
    assert page.locator("#play").get_attribute("aria-pressed") == "false"


def test_the_delays_add_up_on_the_page(opened: Opened) -> None:
    page = opened("run")
    chains = page.locator("section.chain").all()
    assert chains
    for chain in chains:
        takes = [float(text.removesuffix(" ms")) for text in chain.locator("tbody td:nth-child(3)").all_inner_texts()]
        whole = float(chain.locator("tfoot td:nth-child(3)").inner_text().removesuffix(" ms"))
        assert len(takes) >= 2
        # Each is rounded to a tenth of a millisecond.
        assert sum(takes) == pytest.approx(whole, abs=0.05 * (len(takes) + 1))


def test_what_is_not_exercised_or_failed_is_never_green(opened: Opened) -> None:
    page = opened("run")
    good = page.locator(".badge.good").first.evaluate("one => getComputedStyle(one).backgroundColor")
    for kind in ("idle", "bad"):
        assert page.locator(f".badge.{kind}").first.evaluate("one => getComputedStyle(one).backgroundColor") != good
    assert {text.strip() for text in page.locator(".badge.good").all_inner_texts()} == {"✓ pass"}


@pytest.mark.parametrize("name", ["hostile"])
def test_hostile_texts_stay_texts(opened: Opened, name: str) -> None:
    page = opened(name)
    assert page.evaluate("window.hurt") is None
    assert page.locator("h1").inner_text() == HOSTILE
    assert page.title() == HOSTILE
    assert page.locator("img").count() == 0


def test_marks_that_turn_the_reading_are_written_out(browser: Any) -> None:
    """No file may hold them; a page made of one by another way shows them as their escapes."""
    from gatesim.errors import Trouble
    from gatesim.report.html.run_page import error_page
    from gatesim.report.judged import Judged

    title = "\u202eevil\u2066<b>"
    page = browser.new_page()
    page.set_content(error_page(Judged("a.yaml", title, 1, errors=(Trouble("a.yaml", 1, 1, title),))))
    assert page.locator("h1 bdi").inner_text() == r"\u202eevil\u2066<b>"
    assert page.locator("b").count() == 0
    page.close()


def test_the_policy_lets_nothing_else_run(opened: Opened, pages: dict[str, Path]) -> None:
    page = opened("run")
    policy = page.locator("meta[http-equiv=Content-Security-Policy]").get_attribute("content")
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    assert "http" not in policy
    for path in pages.values():
        # The names of the SVG language and nothing else; text of a scenario is escaped and counts as text.
        assert set(re.findall(r"https?://[\w./]+", path.read_text())) <= {"http://www.w3.org/2000/svg"}


def test_a_check_is_filtered_and_leads_to_the_expectation(opened: Opened, pages: dict[str, Path]) -> None:
    page = opened("check")
    assert page.locator("details.file:visible").count() == 3
    page.locator("#which").select_option("differs")
    assert page.locator("details.file:visible").count() == 1
    page.locator("#which").select_option("")
    page.locator("#words").fill("event-lost")
    assert page.locator("details.file:visible").count() == 1
    page.locator("details.file:visible summary").press("Enter")
    link = page.locator("details.file:visible a[href]", has_text=re.compile(r":\d+$")).first
    target = pages["check"].parent / link.get_attribute("href")
    line = int(link.inner_text().rsplit(":", 1)[1])
    assert "requirement" in target.resolve().read_text().splitlines()[line - 1]


def test_a_cell_of_the_sweep_tells_its_worst_moment(opened: Opened) -> None:
    page = opened("sweep")
    first = page.locator("button.cell").first
    first.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    assert first.get_attribute("aria-pressed") == "true"
    assert page.locator("#chosen table.story tbody tr").count() > 5
    assert page.locator("#chosen").get_by_text("FAULT").first.is_visible()
    assert page.evaluate("document.activeElement.id") == "h-detail"
    for cell in page.locator("button.cell").all():
        assert re.search(r"safe|unsafe|latent|no effect|nuisance|late|undetermined", cell.inner_text())
        green = "good" in str(cell.get_attribute("class")).split()
        first = cell.locator("strong").inner_text().strip()
        assert green == (first == "✓ safe in time"), "green is what is proved for every moment"


def test_only_what_is_proved_is_green() -> None:
    from types import SimpleNamespace

    from gatesim.report.html.sweep_page import look_of
    from gatesim.search.classes import Class
    from gatesim.search.moments import Coverage

    green = {(what, how) for what in Class for how in Coverage
             if look_of(SimpleNamespace(outcome=what, coverage=how))[0] == "good"}  # type: ignore[arg-type]
    assert green == {(Class.SAFE, Coverage.EXACT)}


@pytest.mark.parametrize("name", ["run", "check", "sweep"])
def test_print_leaves_out_what_paper_can_not_do(opened: Opened, name: str) -> None:
    page = opened(name, "dark")
    page.emulate_media(media="print")
    for control in ("#time", ".buttons", ".filter"):
        if page.locator(control).count():
            assert page.locator(control).first.is_hidden()
    assert page.evaluate("getComputedStyle(document.documentElement).color") == "rgb(0, 0, 0)"
    assert page.locator("h1").is_visible()
    assert page.locator(".caution").is_visible()
    assert page.pdf(format="A4")[:5] == b"%PDF-"


# --- without a browser -----------------------------------------------------------------------------------------------


def test_pages_are_small_and_the_same_each_time(pages: dict[str, Path], tmp_path: Path) -> None:
    for name in ("run", "two leaves"):
        assert pages[name].stat().st_size < 1_000_000
    again = tmp_path / "run.html"
    # At a place as far away, so that links to the scenario are the same.
    again = pages["run"].with_name("again.html")
    serve(["run", str(ROOT / "scenarios" / "event-lost.scenario.yaml"), "--format", "html", "-o", str(again), "-q"])
    assert again.read_bytes() == pages["run"].read_bytes()


def test_no_page_says_that_a_gate_complies(pages: dict[str, Path]) -> None:
    for path in pages.values():
        text = path.read_text().lower()
        assert "complies" not in text
        assert "compliant" not in text
        assert "it is no statement about a gate that stands somewhere" in text


def test_without_jinja2_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
                                                tmp_path: Path) -> None:
    import sys

    from gatesim.report.html import pages as made

    made._environment.cache_clear()
    monkeypatch.setitem(sys.modules, "jinja2", None)
    code = serve(["run", str(ROOT / "scenarios" / "first-look.scenario.yaml"), "--format", "html", "-o",
                  str(tmp_path / "page.html")])
    assert int(code) == 2
    assert "gatesim[html]" in capsys.readouterr().err
    assert not (tmp_path / "page.html").exists()
    monkeypatch.undo()
    made._environment.cache_clear()
