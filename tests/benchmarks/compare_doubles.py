"""How many defective controllers `compare` tells from the reference.  By hand:
`.venv/bin/python tests/benchmarks/compare_doubles.py [SITE ...]`.

Each double is compared at the sites named, one after the other, until it is told; prints the rate.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from gatesim.cli import known
from gatesim.plant.logic.contract import Roles
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.run import default_roles
from gatesim.search.compare import Compared, Effort, Pair, compare
from gatesim.search.doubles.base import Double, Role
from gatesim.search.doubles.catalogue import doubles
from gatesim.search.tries import site_tree, tries

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
REFERENCE = default_roles()._replace(controller=ReferenceController(by_library=False))


def told(double: Double, site: str) -> Compared:
    """The double against the reference, at one site."""
    file = str(SITES / f"{site}.site.yaml")
    with tries(site_tree(file), known.scenario) as tried:
        return compare(known.site(file), Pair(REFERENCE, double.roles(REFERENCE)), 1, Effort(), tried)


def main(roles: Roles = REFERENCE) -> None:
    sites = sys.argv[1:] or ["mill-lane", "ferry-steps", "ferry-quay", "orchard-row"]
    wrong = [one for one in doubles().values() if one.role is Role.CONTROLLER]
    missed = []
    for double in wrong:
        begun = time.process_time()
        found = next((one for site in sites if (one := told(double, site)).difference is not None), None)
        took = time.process_time() - begun
        if found is None or found.found is None or found.difference is None:
            missed.append(double.name)
            print(f"{double.name:34} not told{' (equivalent)' if double.equivalent else ''}, {took:.1f} s", flush=True)
            continue
        print(f"{double.name:34} {found.site.name}: story {sum(found.tried.values())}, {found.steps_before} -> "
              f"{len(found.found.steps)} steps, {', '.join(found.difference.members)}; {took:.1f} s", flush=True)
    print(f"{len(wrong) - len(missed)} of {len(wrong)} told from the reference; not told: {missed}")


if __name__ == "__main__":
    main()
