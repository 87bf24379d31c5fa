"""Lets a test import the scripts that stand beside it; examples are the same for everybody."""

import sys
from pathlib import Path

import hypothesis

for folder in ("bench", "campaign", "commands", "guard", "reduce"):
    sys.path.insert(0, str(Path(__file__).parent / folder))

# A red run can be run again, and a busy machine is no failure; what searches on is a benchmark.
hypothesis.settings.register_profile("same", derandomize=True, deadline=None)
hypothesis.settings.load_profile("same")
