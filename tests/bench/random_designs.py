# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Random designs judged twice: clash volumes by manifold3d, least distances by python-fcl.

Run by hand from the repository's root: ``python -m tests.bench.random_designs [COUNT] [SEED]``
(500 if not said). The designs come from `tests/chance.py`: groups, strips and plates at random,
with joints and without, made to clash or not. Of every design the scene of the core's own build is
taken; all its pairs that could meet are judged. Volumes must agree to 1 mm3 or 1 %, distances to
0.01 mm; fcl measures between triangles alone, so plates that share volume (one wholly inside the
other, too) have the distance 0 here by manifold3d's word.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from tests.chance import chance_design, judge_design

__all__ = ["main"]


def main() -> None:
    """Judge and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    started = time.process_time()
    verdicts, refused, number = [], 0, 0
    while len(verdicts) < count:
        design = chance_design(np.random.default_rng((seed, number)))
        number += 1
        verdict = judge_design(design)
        if verdict is None:
            refused += 1
            continue
        verdicts.append((number - 1, verdict))
        if len(verdicts) % 50 == 0:
            print(f"  {len(verdicts)} designs, {time.process_time() - started:.0f} s", flush=True)
    wrong = [(k, v) for k, v in verdicts if not v.agrees]
    pairs = sum(v.pairs for _, v in verdicts)
    hits = sum(v.clashes for _, v in verdicts)
    apart = sum(v.apart for _, v in verdicts)
    print(f"{count} designs judged ({refused} more were refused by the core as not buildable)")
    print(f"  {sum(v.clashes > 0 for _, v in verdicts)} with clashes, "
          f"{sum(v.joints > 0 for _, v in verdicts)} with joints, "
          f"{sum(v.group > 1 for _, v in verdicts)} with symmetry, "
          f"{sum(v.pins > 0 for _, v in verdicts)} with pins or other locks")  # fmt: skip
    print(f"  {pairs} pairs of solids: {hits} share volume, of {apart} the distance was measured")
    worst = max(verdicts, key=lambda one: one[1].volume_error)
    print(f"  worst volume: {worst[1].volume_error:.3g} mm3 ({worst[1].volume_share:.2g} of it), "
          f"design {worst[0]}")  # fmt: skip
    far = max(verdicts, key=lambda one: one[1].distance_error)
    print(f"  worst distance: {far[1].distance_error:.3g} mm, design {far[0]}")
    print(f"  verdicts (clash or not) that differ: {sum(v.verdicts_wrong for _, v in verdicts)}")
    for k, verdict in wrong:
        print(f"  NOT AS IT SHOULD BE: design {k}: {verdict}")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
