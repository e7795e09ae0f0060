"""Belts of discs by a careful vectorised script: how many colonies lie in a belt, and how large are they?

Discs with lognormal diameters (cut at both ends) and Poisson centres. `discs` counts and averages those with their centre
in the belt, on an even bottom. `visible` first drops those whose centre lies under a disc of higher rank, for which discs
are laid in a guard about the belt too, as wide as the largest of their class. `patches` does the same where the density is lognormal: a lattice field of four
octaves of spline-weighted normals, constant in cells. All belts of a batch go through every step at once; a disc finds
the centres under it by bisection in the sorted centres. Prints seconds of work a belt and the results as JSON.
"""

import argparse
import json
import time

import numpy as np
from statistics import NormalDist

SMALLEST_M = 0.005
OCTAVES = ((1.95, 0.3408), (1.0, 0.5442), (0.4, 0.1150))
# Radii are drawn from a table of equally likely levels, in two classes so that small discs need a narrow guard only.
LEVELS = 4096
CUT_SHARE = 0.25


class Sizes:
    """Radii of one class of sizes, and its share of all discs."""

    def __init__(self, law, low, high, total):
        normal = NormalDist()
        levels = low + (high - low) * (np.arange(LEVELS) + 0.5) / LEVELS
        z = np.array([normal.inv_cdf(level) for level in levels])
        self.radius = (0.5 * law["median"] * np.exp(law["ln_sd"] * z)).astype(np.float32)
        self.share = (high - low) / total
        self.reach = float(self.radius[-1])


def classes(law):
    level = lambda d: NormalDist().cdf(np.log(d / law["median"]) / law["ln_sd"])
    edges = [level(SMALLEST_M), level(CUT_SHARE * law["max"]), level(law["max"])]
    total = edges[2] - edges[0]
    return [Sizes(law, low, high, total) for low, high in zip(edges, edges[1:])]


def even_discs(rng, batch, belt, density, sizes, guard):
    """Belt, place and radius of every disc in a belt and the guard about it, on an even bottom."""
    length, width = belt[0] + 2 * guard, belt[1] + 2 * guard
    counts = rng.poisson(density * sizes.share * length * width, batch)
    number = int(counts.sum())
    of = np.repeat(np.arange(batch, dtype=np.int32), counts)
    along = rng.random(number, dtype=np.float32) * np.float32(length) - np.float32(guard)
    across = rng.random(number, dtype=np.float32) * np.float32(width) - np.float32(0.5 * width)
    return of, along, across, sizes.radius[rng.integers(0, LEVELS, number, dtype=np.int32)]


def weights(first, count, cell, spacing, shift):
    """Which nodes the centres of cells read, as a matrix (cells, nodes) of spline weights of variance 1."""
    place = (first + np.arange(count) + 0.5) * cell / spacing + shift
    node = np.rint(place).astype(int)
    t = place - node
    three = np.stack([0.5 * (0.5 - t) ** 2, 0.75 - t * t, 0.5 * (0.5 + t) ** 2])
    three /= np.sqrt((three * three).sum(axis=0))
    lowest = node.min() - 1
    matrix = np.zeros((count, node.max() + 1 - lowest + 1), dtype=np.float32)
    for offset in range(3):
        matrix[np.arange(count), node - 1 + offset - lowest] = three[offset]
    return matrix


def field(rng, batch, cells, cell, scale):
    """A standard normal field at the centres of the cells of every belt: all rows and columns by matrix products."""
    total = sum(weight for _, weight in OCTAVES)
    value = np.zeros((batch, *cells), dtype=np.float32)
    for spacing, weight in OCTAVES:
        x = weights(0, cells[0], cell, spacing * scale, rng.random())
        y = weights(0, cells[1], cell, spacing * scale, rng.random())
        nodes = rng.standard_normal((batch, x.shape[1], y.shape[1]), dtype=np.float32)
        value += np.float32(np.sqrt(weight / total)) * (x @ (nodes @ y.T))
    return value


def patchy_discs(rng, batch, belt, density, all_sizes, patch):
    """The same with a lognormal density that is constant in the cells of a lattice; a list for each class of sizes."""
    cell, top = patch["cell"], all_sizes[-1].reach
    cells = tuple(int(np.ceil((side + 2 * top) / cell)) for side in belt)
    lower = tuple(0.5 * (side - number * cell) for side, number in zip(belt, cells))
    ln_density = patch["sd"] * field(rng, batch, cells, cell, patch["scale"]) - 0.5 * patch["sd"] ** 2
    mean = np.exp(ln_density) * np.float32(density * cell * cell)
    out = []
    for sizes in all_sizes:
        skip = [max(0, int((-sizes.reach - low) / cell)) for low in lower]
        near = mean[:, skip[0]:cells[0] - skip[0], skip[1]:cells[1] - skip[1]]
        counts = rng.poisson(near * np.float32(sizes.share)).ravel()
        number = int(counts.sum())
        at = np.repeat(np.arange(counts.size, dtype=np.int32), counts)
        rows, columns = near.shape[2], near.shape[1]
        of = at // (rows * columns)
        rest = at - of * (rows * columns)
        column = rest // rows
        along = (column + rng.random(number, dtype=np.float32)) * np.float32(cell) + np.float32(lower[0] + skip[0] * cell)
        across = (rest - column * rows + rng.random(number, dtype=np.float32)) * np.float32(cell) + np.float32(
            lower[1] + skip[1] * cell - 0.5 * belt[1])
        out.append((of, along.astype(np.float32), across.astype(np.float32),
                    sizes.radius[rng.integers(0, LEVELS, number, dtype=np.int32)]))
    return out


def near_belt(discs, belt):
    of, along, across, radius = discs
    keep = (along + radius > 0) & (along - radius < belt[0]) & (np.abs(across) - radius < 0.5 * belt[1])
    return of[keep], along[keep], across[keep], radius[keep]


def in_belt(along, across, belt):
    return (along >= 0) & (along < belt[0]) & (np.abs(across) <= 0.5 * belt[1])


def visible_centres(rng, discs, belt):
    """Of the discs with their centre in the belt those under no disc of higher rank, as (belt, radius)."""
    of, along, across, radius = discs
    rank = rng.random(of.size, dtype=np.float32)
    inside = np.flatnonzero(in_belt(along, across, belt))
    # One axis for all belts, each far from the next; double precision keeps tenths of millimetres on it.
    place = along + of * np.float64(belt[0] + 4.0)
    order = inside[np.argsort(place[inside])]
    below = place[order]
    first = np.searchsorted(below, place - radius)
    number = np.searchsorted(below, place + radius) - first
    above = np.repeat(np.arange(of.size), number)
    start = np.cumsum(number) - number
    candidate = order[np.arange(above.size) - np.repeat(start - first, number)]
    dx, dy = along[candidate] - along[above], across[candidate] - across[above]
    covers = (dx * dx + dy * dy < radius[above] ** 2) & (rank[above] > rank[candidate])
    hidden = np.zeros(of.size, dtype=bool)
    hidden[candidate[covers]] = True
    seen = inside[~hidden[inside]]
    return of[seen], radius[seen]


def read(rng, what, batch, belt, density, all_sizes, patch):
    """Number and mean diameter of the colonies of each belt."""
    if what == "patches":
        parts = patchy_discs(rng, batch, belt, density, all_sizes, patch)
    else:
        guards = [0.0 if what == "discs" else sizes.reach for sizes in all_sizes]
        parts = [even_discs(rng, batch, belt, density, *of_class) for of_class in zip(all_sizes, guards)]
    if what == "discs":
        of, radius = np.concatenate([part[0] for part in parts]), np.concatenate([part[3] for part in parts])
    else:
        parts = [near_belt(part, belt) for part in parts]
        of, radius = visible_centres(rng, [np.concatenate(columns) for columns in zip(*parts)], belt)
    count = np.bincount(of, minlength=batch)
    total = np.bincount(of, weights=2 * radius, minlength=batch)
    return count, total / np.maximum(count, 1)


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("what", choices=["discs", "visible", "patches"])
    arguments.add_argument("--belts", type=int, default=20_000)
    arguments.add_argument("--batch", type=int, default=1_000)
    for name in ("length", "width", "density", "median", "ln-sd", "max", "patch-sd", "patch-scale", "patch-cell"):
        arguments.add_argument(f"--{name}", type=float, required=True)
    asked = arguments.parse_args()
    rng = np.random.default_rng(1)
    all_sizes = classes({"median": asked.median, "ln_sd": asked.ln_sd, "max": asked.max})
    patch = {"sd": asked.patch_sd, "scale": asked.patch_scale, "cell": asked.patch_cell}
    belt = (asked.length, asked.width)
    start, work = time.perf_counter(), time.process_time()
    counts, means = [], []
    for _ in range(max(1, asked.belts // asked.batch)):
        count, mean = read(rng, asked.what, asked.batch, belt, asked.density, all_sizes, patch)
        counts.append(count)
        means.append(mean[count > 0])
    belts = asked.batch * len(counts)
    seconds, work = time.perf_counter() - start, time.process_time() - work
    counts, means = np.concatenate(counts) / (belt[0] * belt[1]), np.concatenate(means)
    print(json.dumps({
        "seconds": seconds / belts, "processor_seconds": work / belts, "belts": belts,
        "density": float(counts.mean()), "density_sd": float(counts.std()), "mean_diameter": float(means.mean()),
    }))


if __name__ == "__main__":
    main()
