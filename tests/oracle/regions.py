#!/usr/bin/env python3
"""Regions of 2,000 generated images and of real ones, by libraries that share no code with oddheat.

    python3 -m venv target/oracle && target/oracle/bin/pip install -r tests/oracle/requirements-regions.txt
    target/oracle/bin/python tests/oracle/regions.py            # writes golden.csv and lists.csv of tests/data/regions
    target/oracle/bin/python tests/oracle/regions.py --check    # compares, exit status 1 if they differ

scipy.ndimage labels and numpy sums; OpenCV labels the same masks, and the script stops where the two partitions differ.
The images come from integers only, so that tests/tests/scanner/generate.rs makes the same ones; `pixels` proves it.

golden.csv, a line per image: name, width, height, hot and cold threshold, hash of the pixels, then for 8 and for 4
neighbors the number of regions and the hash of their sorted list. A region is twelve numbers: sign (1 hot, 2 cold),
area, x0, y0, x1, y1, mean count in 1/256 truncated, most extreme count, column and row of its first pixel in raster
order, mean column and row in 1/65536 truncated. Hashes are FNV-1a of 64 bits over little-endian words (16 bits for
pixels, 32 for regions). lists.csv holds the whole lists of the first images: name, neighbors, the twelve numbers.
"""

import argparse
import sys
from pathlib import Path

import cv2
import numpy as np
from scipy import ndimage

DATA = Path(__file__).resolve().parent.parent / "data"
REGIONS = DATA / "regions"
IMAGES, KINDS, LISTED = 2000, 16, 32
HOT, COLD = 1000, 500
LEVELS = (1, 2, 3, 7, 60, 400)
ORDINARY = (500, 700, 701, 1000)
DIRECTIONS = ((1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1))
STRUCTURES = {8: np.ones((3, 3), int), 4: ndimage.generate_binary_structure(2, 1)}


class Random:
    """xorshift32 with the shifts 13, 17, 5 (Marsaglia 2003)."""

    def __init__(self, index):
        self.state = (index * 2654435761 + 1) & 0xFFFFFFFF or 1
        for _ in range(4):
            self.next()

    def next(self):
        x = self.state
        x ^= x << 13 & 0xFFFFFFFF
        x ^= x >> 17
        x ^= x << 5 & 0xFFFFFFFF
        self.state = x
        return x

    def below(self, n):
        return (self.next() >> 8) % n


def size(kind, r):
    if kind == 10:
        return 1 + r.below(300), 1
    if kind == 11:
        return 1, 1 + r.below(300)
    if kind == 15:
        return 60 + r.below(600), 1 + r.below(5)
    return 1 + r.below(70), 1 + r.below(40)


def noise(r, pixels, hot, cold):
    draws = (r.below(100) for _ in range(pixels))
    return [1 if t < hot else 2 if t < hot + cold else 0 for t in draws]


def classes(kind, w, h, r):
    """0 ordinary, 1 hot, 2 cold, in raster order."""
    image = [0] * (w * h)
    grid = [(x, y) for y in range(h) for x in range(w)]

    def edge(x, y):
        return min(x, y, w - 1 - x, h - 1 - y)

    if kind == 0:  # blobs that overlap
        for _ in range(1 + r.below(12)):
            cx, cy, radius, c = r.below(w), r.below(h), r.below(8), 1 + r.below(2)
            for i, (x, y) in enumerate(grid):
                if (x - cx) ** 2 + (y - cy) ** 2 <= radius * radius:
                    image[i] = c
    elif kind == 1:  # noise, one sign
        image = noise(r, w * h, 1 + r.below(99), 0)
    elif kind in (2, 10, 11):  # noise, both signs
        hot = 1 + r.below(60)
        image = noise(r, w * h, hot, 1 + r.below(39))
    elif kind == 3:  # blocks of noise
        g, hot = 2 + r.below(7), 1 + r.below(60)
        columns, rows = -(-w // g), -(-h // g)
        blocks = noise(r, columns * rows, hot, 1 + r.below(39))
        image = [blocks[y // g * columns + x // g] for x, y in grid]
    elif kind == 4:  # comb, open or closed
        period = 2 + r.below(3)
        phase, ends, c = r.below(period), r.below(4), 1 + r.below(2)
        on = [x % period == phase or (ends & 1 and y == 0) or (ends & 2 and y == h - 1) for x, y in grid]
        image = [c if o else 0 for o in on]
    elif kind == 5:  # winding from left to right and back
        c, other = 1 + r.below(2), r.below(2)
        on = [y % 2 == 0 or x == (w - 1 if y // 2 % 2 == 0 else 0) for x, y in grid]
        image = [c if o else (3 - c) * other for o in on]
    elif kind == 6:  # spiral
        c, other = 1 + r.below(2), r.below(2)
        on = [(edge(x, y) % 2 == 0) != (x == edge(x, y) and y == x + 1) for x, y in grid]
        image = [c if o else (3 - c) * other for o in on]
    elif kind == 7:  # checkerboard
        s, other = 1 + r.below(3), 2 * r.below(2)
        image = [1 if (x // s + y // s) % 2 == 0 else other for x, y in grid]
    elif kind == 8:  # thin walks
        for _ in range(1 + r.below(10)):
            x, y, c, steps, way = r.below(w), r.below(h), 1 + r.below(2), 5 + r.below(60), r.below(8)
            for _ in range(steps):
                if not (0 <= x < w and 0 <= y < h):
                    break
                image[y * w + x] = c
                if r.below(4) == 0:
                    way = (way + r.below(3) + 7) % 8
                x, y = x + DIRECTIONS[way][0], y + DIRECTIONS[way][1]
    elif kind == 9:  # single pixels, corners among them
        for _ in range(1 + r.below(20)):
            x, y, c = r.below(w), r.below(h), 1 + r.below(2)
            image[y * w + x] = c
        if r.below(2) == 1:
            for i in (0, w - 1, (h - 1) * w, h * w - 1):
                image[i] = 1 + r.below(2)
    elif kind == 12:  # nested vees, which make chains of equal regions
        period, over, c = 2 + r.below(3), r.below(2), 1 + r.below(2)
        at = [(abs(x - w // 2) + (h - 1 - y if over else y)) % period for x, y in grid]
        image = [c if a == 0 else 0 for a in at]
    elif kind == 14:  # solid
        variant, c = r.below(4), 1 + r.below(2)
        image = [
            1 if variant == 0 else 2 if variant == 1 else c * (edge(x, y) % 2 == 0) if variant == 2 else 1 + (x >= w // 2)
            for x, y in grid
        ]
    elif kind == 15:  # runs of all lengths in wide rows
        for y in range(h):
            x = r.below(40)
            while x < w:
                c, end = 1 + r.below(2), x + 1 + r.below(70)
                for i in range(x, min(end, w)):
                    image[y * w + i] = c
                x = end + r.below(40)
    return image


def generate(index):
    """Frame, hot and cold threshold."""
    kind, r = index % KINDS, Random(index)
    w, h = size(kind, r)
    if kind == 13:  # all counts there are
        if r.below(4) == 0:
            hot, cold = 65534, 1
            counts = [(0, 1, 65534, 65535)[r.below(4)] for _ in range(w * h)]
        else:
            cold = r.below(65536)
            hot = cold + r.below(65536 - cold)
            counts = [r.next() >> 16 for _ in range(w * h)]
        return np.array(counts, "<u2").reshape(h, w), hot, cold
    image = classes(kind, w, h, r)
    levels = LEVELS[r.below(6)]
    counts = [
        ORDINARY[r.below(4)] if c == 0 else HOT + 1 + r.below(levels) if c == 1 else COLD - 1 - r.below(levels)
        for c in image
    ]
    return np.array(counts, "<u2").reshape(h, w), HOT, COLD


def fnv(data):
    value = 0xCBF29CE484222325
    for byte in data:
        value = (value ^ byte) * 0x100000001B3 & 0xFFFFFFFFFFFFFFFF
    return value


def same_partition(a, b):
    pairs = len(np.unique(np.stack([a.ravel(), b.ravel()]), axis=1).T)
    return pairs == len(np.unique(a)) == len(np.unique(b))


def regions(frame, hot, cold, neighbors, what):
    """Sorted rows of twelve numbers."""
    h, w = frame.shape
    found = []
    for sign, mask in ((1, frame > hot), (2, frame < cold)):
        labels, n = ndimage.label(mask, STRUCTURES[neighbors])
        count, other = cv2.connectedComponents(mask.astype(np.uint8), connectivity=neighbors)
        if count - 1 != n or not same_partition(labels, other):
            sys.exit(f"{what}: OpenCV finds {count - 1} regions, scipy {n}, and not the same")
        if n == 0:
            continue
        at = np.flatnonzero(labels)
        label, value = labels.ravel()[at], frame.ravel()[at].astype(np.int64)
        area = np.bincount(label)[1:]
        # Sums of whole numbers below 2^53 are exact as floats.
        total = lambda weights: np.bincount(label, weights)[1:].astype(np.int64)
        order = np.lexsort((at, -value if sign == 1 else value, label))
        first = order[np.searchsorted(label[order], np.arange(1, n + 1))]
        boxes = ndimage.find_objects(labels)
        for i in range(n):
            rows, columns = boxes[i]
            found.append([sign, int(area[i]), columns.start, rows.start, columns.stop - 1, rows.stop - 1, 0,
                          int(value[first[i]]), int(at[first[i]] % w), int(at[first[i]] // w), 0, 0])
        for column, weights, scale in ((6, value, 256), (10, at % w, 65536), (11, at // w, 65536)):
            for row, quotient in zip(found[-n:], total(weights) * scale // area):
                row[column] = int(quotient)
    return sorted(found)


def real_images():
    """Name, frame and thresholds: files of the data folder, with their place in the file if it holds several."""
    folder = REGIONS / "ccl_binary"
    for png in sorted(folder.glob("*_bin.png")):
        mask = cv2.imread(str(png), cv2.IMREAD_UNCHANGED) > 0
        yield str(png.relative_to(DATA)), np.where(mask, 1001, 700).astype("<u2"), HOT, COLD
    inputs = np.loadtxt(folder / "label_inputs.txt", int).reshape(-1, 7, 7)
    for i, mask in enumerate(inputs):
        yield f"regions/ccl_binary/label_inputs.txt {i}", np.where(mask, 1001, 700).astype("<u2"), HOT, COLD
    frames = sorted((DATA / "building_night").glob("*.tif")) + sorted((REGIONS / "building_night").glob("*.tif"))
    for tif in frames:
        frame = cv2.imread(str(tif), cv2.IMREAD_UNCHANGED).astype("<u2")
        median = int(np.median(frame))
        # In the noise, in the gradients, and the 3 K of the set's own reference.
        for step in (10, 40, 120):
            yield str(tif.relative_to(DATA)), frame, median + step, median - step


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--check", action="store_true")
    check = parser.parse_args().check
    lines, lists = ["name,width,height,hot,cold,pixels,n8,regions8,n4,regions4"], ["name,neighbors," + ",".join(
        "sign area x0 y0 x1 y1 mean_q8 extreme extreme_x extreme_y cx_q16 cy_q16".split())]
    images = [(f"generated/{i}", *generate(i)) for i in range(IMAGES)]
    for number, (name, frame, hot, cold) in enumerate(images + list(real_images())):
        h, w = frame.shape
        line = [name, w, h, hot, cold, f"{fnv(frame.tobytes()):016x}"]
        for neighbors in (8, 4):
            found = regions(frame, hot, cold, neighbors, f"{name}, {neighbors} neighbors")
            line += [len(found), f"{fnv(np.array(found, '<u4').tobytes()):016x}"]
            if number < LISTED:
                lists += [f"{name},{neighbors}," + ",".join(map(str, row)) for row in found]
        lines.append(",".join(map(str, line)))
    bad = False
    for name, new in (("golden.csv", lines), ("lists.csv", lists)):
        path, text = REGIONS / name, "\n".join(new) + "\n"
        if not check:
            path.write_text(text)
        elif path.read_text() != text:
            bad = True
            print(f"{path} differs")
    sys.exit(bad)


if __name__ == "__main__":
    main()
