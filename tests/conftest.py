"""Lets a test import the scripts that stand beside it."""

import sys
from pathlib import Path

for folder in ("bench", "campaign", "commands", "guard", "reduce"):
    sys.path.insert(0, str(Path(__file__).parent / folder))
