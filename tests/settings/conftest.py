"""Lets these tests import the settings files that stand beside them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
