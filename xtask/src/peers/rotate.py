#!/usr/bin/env python3
"""More rotating frames, as gen_rot.py of the peers folder makes them: comb and spiral mirrored and noisy anew in every
frame, granular noise of blocks. Writes frames/rot_more.tsv beside rot.tsv, in the same form. usage: rotate.py FOLDER"""
import os
import sys

import numpy as np

D = os.path.join(os.path.abspath(sys.argv[1]), "frames")
source = open(os.path.join(sys.argv[1], "gen.py")).read().split("rows=[]")[0]
exec(source.replace("__file__", repr(os.path.join(os.path.abspath(sys.argv[1]), "gen.py"))))
GRANULAR = [(g, d) for g in (1, 4, 16) for d in (30, 50, 70)]
with open(os.path.join(D, "rot_more.tsv"), "w") as out:
    for i, (w, h) in enumerate(SZ):
        contents = ["comb", "spiral"]
        contents += [f"gran{g}d{d}" for g, d in GRANULAR] if (w, h) in ((160, 120), (640, 512)) else []
        for c, content in enumerate(contents):
            frames = []
            for j in range(16):
                rng = np.random.default_rng(90_000 + 10_000 * c + 1_000 * i + j)
                if content.startswith("gran"):
                    g, d = map(int, content[4:].split("d"))
                    mask = gran(w, h, g, d, rng)
                else:
                    mask = {"comb": comb, "spiral": spiral}[content](w, h)
                    mask = mask[:: 1 - 2 * (j & 1), :: 1 - 2 * (j >> 1 & 1)]
                frames.append(np.rint(np.where(mask, 11000.0, 9000.0) + rng.normal(0, 60, mask.shape)))
            name = f"rot_{content}_{w}x{h}"
            np.stack(frames).astype("<u2").tofile(os.path.join(D, name + ".u16"))
            out.write("\t".join(map(str, [name, w, h, 16] + [10_000, 0] * 16)) + "\n")
