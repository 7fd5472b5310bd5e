"""The reference, by a program that takes no snapshots: `forgets.py ROLE`."""

import sys

from gatesim.bench.serve import Served, serve
from gatesim.run import default_roles

hello = Served._hello
Served._hello = lambda self, given: {"hello": hello(self, given)["hello"] | {"snapshots": False}}
Served._save = Served._back = lambda self, number: {"refused": "no snapshots"}
serve(sys.argv[1], getattr(default_roles(), sys.argv[1]))
