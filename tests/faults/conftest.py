"""Puts `tools/` on the import path: the parts of `make faults` stand there."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tools"))
