#!/bin/sh
# Everything that has to pass, here and in CI.
set -eu
cd "$(dirname "$0")"
gatesim fmt --check scenarios
gatesim check scenarios
