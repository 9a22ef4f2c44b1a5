"""Yarn as numbers: counts, setts, the length of a warp and the yarn it takes. Values in and out."""
