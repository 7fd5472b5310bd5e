"""The reference logic as a program of its own: `reference.py ROLE`."""

import sys

from gatesim.bench.serve import serve
from gatesim.run import default_roles

serve(sys.argv[1], getattr(default_roles(), sys.argv[1]))
