"""Two leaves agree with one another, or each disagreement is told at its line with a remedy."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from gatesim.errors import BadInput, Trouble
from gatesim.scenario.check_site import warnings_of
from gatesim.scenario.read import read_scenario, read_site

COURT = Path(__file__).parents[2] / "scenarios" / "sites" / "foundry-court.site.yaml"
TEXT = COURT.read_text(encoding="utf-8")


def read(folder: Path, *changes: tuple[str, str]) -> object:
    text = TEXT
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    file = folder / "court.site.yaml"
    file.write_text(text, encoding="utf-8")
    return read_site(file)


def troubles(act: Callable[[], object]) -> tuple[Trouble, ...]:
    with pytest.raises(BadInput) as caught:
        act()
    return caught.value.troubles


def test_the_shipped_site_agrees_with_itself() -> None:
    assert warnings_of(read_site(COURT)) == ()


ZONE = "  - name: first closing gap\n    leaf: first\n    direction: closing\n"
ERRORS = [
    ('overlap: "250 mm"', 'overlap: "2.4 m"', "as long as the travel", "travel is 2.4 m", "overlap"),
    ('overlap: "250 mm"', 'overlap: "2.38 m"', "can't wait before the overlap", "shorten", "overlap"),
    ("opens_first: first", "opens_first: third", "'third' is not one of", "first, second", "third"),
    ('  opening_delay: "600 ms"\n', "", "opening_delay", "", "second_leaf"),
    ('  closing_delay: "1.2 s"\n', "", "closing_delay", "", "second_leaf"),
    ('  overlap: "250 mm"\n', "", "overlap", "", "second_leaf"),
    ('opening_delay: "600 ms"', 'opening_delay: "-1 s"', "out of range", "between 0 s", "opening_delay"),
    ("leaf: second", "leaf: secnd", "'secnd' is not one of", "'second'", "secnd"),
    ('    travel: "1.8 m"', '    travel: "0 m"', "travel is zero", "above zero", 'travel: "0 m"'),
    ('    heaviest: "190 kg"', '    heaviest: "150 kg"', "lighter than mass", "at least mass", 'heaviest: "150'),
    ("second_leaf:\n", 'second_leaf:\n  leaf_at: "1.9 m"\n', "beyond its travel", "travel is 1.8 m", "leaf_at"),
    ("second_leaf:\n", 'second_leaf:\n  leaf_at: "1 m"\n', "stands open while the other lies over it",
     "open the first leaf by 250 mm", "leaf_at"),
    ('    end: "1.8 m"', '    end: "2.4 m"', "ends beyond the travel", "travel is 1.8 m", None),
    (ZONE, ZONE + "    hinge_side: true\n", "is declared closing", "set direction to opening", "direction: closing"),
    ("    input: second transmitter", "    input: first transmitter", "carries edges of both leaves", "its own",
     "name: first transmitter"),
    ('reversal_distance: "1.2 m"', 'reversal_distance: "4.3 m"', "longer than the travel", "at most 4.2 m", "4.3"),
]


@pytest.mark.parametrize(("old", "new", "message", "remedy", "line"), ERRORS)
def test_each_disagreement_is_told(tmp_path: Path, old: str, new: str, message: str, remedy: str,
                                   line: str | None) -> None:
    found = troubles(lambda: read(tmp_path, (old, new)))
    assert [one for one in found if message in one.message + one.hint and remedy in one.message + one.hint], found
    if line is not None:
        lines = (tmp_path / "court.site.yaml").read_text(encoding="utf-8").splitlines()
        told = [one for one in found if message in one.message + one.hint]
        assert line in lines[told[0].line - 1]


def test_a_hinge_side_zone_opens(tmp_path: Path) -> None:
    zone = "  - name: first pocket\n    leaf: first\n    direction: opening\n"
    assert read(tmp_path, (zone, zone + "    hinge_side: true\n"))


def test_a_leaf_without_its_table_is_refused(tmp_path: Path) -> None:
    begin, end = TEXT.index("second_leaf:"), TEXT.index("zones:")
    found = troubles(lambda: read(tmp_path, (TEXT[begin:end], "")))
    assert {one.message for one in found if "second leaf" in one.message} == {"the site has no second leaf"}
    assert len([one for one in found if one.message == "the site has no second leaf"]) == 2


def test_the_second_leaf_s_own_drive_is_checked(tmp_path: Path) -> None:
    drive = TEXT[TEXT.index("drive:\n"):TEXT.index("second_leaf:")]
    own = "".join(f"  {line}\n" for line in drive.splitlines()).replace('slow_zone: "300 mm"', 'slow_zone: "1 m"')
    found = troubles(lambda: read(tmp_path, ("second_leaf:\n", "second_leaf:\n" + own)))
    assert ["leave no travel between" in one.message for one in found] == [True]


def test_a_leaf_without_zones_is_warned_of(tmp_path: Path) -> None:
    site = read(tmp_path, *[("leaf: second", "leaf: first")] * 2)
    assert any("second leaf has no entrapment zone" in said for said in warnings_of(site))  # type: ignore[arg-type]


def test_a_travel_time_counts_the_delay(tmp_path: Path) -> None:
    assert warnings_of(read(tmp_path, ('travel_time_closing: "45 s"', 'travel_time_closing: "14 s"'))) == (  # type: ignore[arg-type]
        "every full travel exceeds it; at least 14533333 us, and the time of the ramps",)


STORY = """format: gatesim-scenario/1
title: t
teaches: t
site: {site}
ends: "9 s"
steps:
  - at: "1 s"
    do: push leaf
    direction: opening
    distance: "10 mm"
    leaf: second
expect: []
"""


@pytest.mark.parametrize(("site", "refused"), [("foundry-court", False), ("mill-lane", True)])
def test_only_a_second_leaf_that_is_there_is_pushed(tmp_path: Path, site: str, refused: bool) -> None:
    (tmp_path / "sites").mkdir()
    shipped = COURT.parent / f"{site}.site.yaml"
    (tmp_path / "sites" / shipped.name).write_bytes(shipped.read_bytes())
    file = tmp_path / "a.scenario.yaml"
    file.write_text(STORY.format(site=f"sites/{shipped.name}"), encoding="utf-8")
    if refused:
        assert "no second leaf" in troubles(lambda: read_scenario(file, {}, ()))[0].message
    else:
        assert read_scenario(file, {}, ()).steps
