"""Renders the photograph that the handbook shows in every screen: `python3 manuals/handbook/photograph.py` (needs what Heron's photograph.py needs).

Heron on a bare sheet, in colour, seen from above, with the window of Heron's own picture on the left: its light falls off over the sheet, as it does on a bench.
"""

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "heron"))
import photograph as heron  # noqa: E402

# A sheet with no wall behind it.
heron.BACK, heron.WOOD = 900.0, False
heron.LOOK[heron.TABLE] = 0.42, 0.50, 0.54, 0.0
# A mug that is not as light as the sheet, as the handbook advises.
heron.LOOK[heron.GLAZE] = 0.40, 0.13, 0.09, 0.2
SHOT = (heron.Pose(tilt=4, head=14), 22.6, (32.0, 108.0, 92.0), (10.2, 19.6, 0.0), 0.52, None, 0.3, 1000, 1000, 0.95)

if __name__ == "__main__":
    scale, samples = (float(sys.argv[1]), int(sys.argv[2])) if len(sys.argv) > 2 else (1.0, 16)
    out = sys.argv[3] if len(sys.argv) > 3 else HERE / "heron.jpg"
    heron.shoot(SHOT, scale, samples, heron.film).save(out, quality=90)
