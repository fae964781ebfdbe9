import sys
from pathlib import Path

BUILDERS = str(Path(__file__).parents[1] / "builders")
if BUILDERS not in sys.path:
    sys.path.append(BUILDERS)
