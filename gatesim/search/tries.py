"""Candidates of a search for a shorter story: each is written as a file in a folder of its own, and read with every
check, as a user's file is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from gatesim.errors import BadInput
from gatesim.scenario.model import Scenario
from gatesim.scenario.strict import read_tree
from gatesim.scenario.write import text_of

Tree = dict[str, Any]
Read = Callable[[str], Scenario]
"""Reads a scenario file; raises BadInput."""


def site_tree(file: str) -> Tree:
    """The tree of a site file that was read before, without its `format`."""
    return {name: value for name, value in read_tree(Path(file), file).data.items() if name != "format"}


class Tries:
    """Reads candidates.  `site`: the tree of the site that they name by a path, whatever path it is."""

    def __init__(self, folder: Path, site: Tree | None, read: Read) -> None:
        self.folder, self.read = folder, read
        (folder / "sites").mkdir()
        if site is not None:
            whole = {"format": "gatesim-site/1", **site}
            (folder / "sites" / "one.site.yaml").write_text(text_of(whole), encoding="utf-8")

    def scenario(self, tree: Tree) -> Scenario | None:
        """The scenario of a tree; None where it does not read."""
        here = {**tree, "site": "sites/one.site.yaml"} if isinstance(tree["site"], str) else tree
        file = self.folder / "one.scenario.yaml"
        file.write_text(text_of(here), encoding="utf-8")
        try:
            return self.read(str(file))
        except BadInput:
            return None


@contextmanager
def tries(site: Tree | None, read: Read) -> Iterator[Tries]:
    """Tries in a folder that is gone afterwards."""
    with TemporaryDirectory(prefix="gatesim-") as folder:
        yield Tries(Path(folder), site, read)
