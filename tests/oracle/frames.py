#!/usr/bin/env python3
"""Reference values of level, noise, split, block medians and shift on the recorded frames in tests/data.

    target/oracle/bin/pip install -r tests/oracle/requirements.txt
    target/oracle/bin/python tests/oracle/frames.py            # writes frames.json
    target/oracle/bin/python tests/oracle/frames.py --check    # exit status 1 if it differs

numpy sorts, scipy gives the median absolute deviation, scikit-image Otsu's threshold and the shift by phase correlation.
"""

import json
import sys
from pathlib import Path

import numpy as np
from scipy.stats import median_abs_deviation
from skimage import io
from skimage.filters import threshold_otsu
from skimage.registration import phase_cross_correlation

HERE = Path(__file__).resolve().parent
DATA = HERE.parent / "data"
SIDE = 32
# Upper left corners of windows of 320 x 256 pixels: the first against each of the others.
WINDOWS = [(160, 128), (163, 128), (160, 121), (152, 133), (171, 119), (157, 138)]


def values(image):
    flat = np.sort(image.ravel())
    second = image[:, :-2].astype(int) - 2 * image[:, 1:-1] + image[:, 2:]
    rows, columns = image.shape[0] // SIDE, image.shape[1] // SIDE
    blocks = []
    for j in range(rows):
        for i in range(columns):
            # Block i covers columns i·width/columns onward; band j, rows from the first at or past j·height/rows.
            y0, y1 = -(-j * image.shape[0] // rows), -(-(j + 1) * image.shape[0] // rows)
            x0, x1 = i * image.shape[1] // columns, (i + 1) * image.shape[1] // columns
            block = np.sort(image[y0:y1, x0:x1].ravel())
            blocks.append(int(block[(block.size - 1) // 2]))
    return {
        "pixels": int(image.size),
        "quantiles": {str(p): int(flat[min(image.size - 1, image.size * p // 1000)]) for p in (5, 50, 250, 500, 750, 950, 995)},
        "mad": float(median_abs_deviation(image, axis=None)),
        "sigma": float(1.482602 * median_abs_deviation(second, axis=None) / np.sqrt(6)),
        "otsu": int(threshold_otsu(image)),
        "blocks": blocks,
    }


def shifts(image):
    def window(x, y):
        return image[y : y + 256, x : x + 320].astype(float)

    first = window(*WINDOWS[0])
    out = []
    for x, y in WINDOWS[1:]:
        found, _, _ = phase_cross_correlation(window(x, y), first, upsample_factor=16)
        # The content moves against the window.
        out.append({"window": [x, y], "truth": [WINDOWS[0][0] - x, WINDOWS[0][1] - y], "phase": [float(found[1]), float(found[0])]})
    return out


night = io.imread(DATA / "building_night/22-18-41-880.tif")
brake = np.load(DATA / "brake_small/frames.npy")[0]
result = {"night": values(night), "brake": values(np.where(brake == 0, 1, brake)), "shifts": shifts(night)}
text = json.dumps(result, indent=1, sort_keys=True) + "\n"
path = HERE / "frames.json"
if "--check" in sys.argv:
    if path.read_text() != text:
        sys.exit("frames.json differs")
    print("frames.json: equal")
else:
    path.write_text(text)
