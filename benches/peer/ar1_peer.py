"""One question by a careful vectorised script: how often does a paired t test see a change of cover on lines of points?

Cover along a line is a threshold of a latent Gaussian process: a site effect, a change of the site, and two first-order
autoregressions of short and long reach, run over all lines of all trials at once. Every number of lines and of sites is
read from the same lines. Prints seconds of work and the powers as JSON.
"""

import argparse
import json
import time

import numpy as np
from statistics import NormalDist

# Two-sided 5 % critical values of t for 1 .. 30 degrees of freedom.
CRITICAL = [12.7062, 4.3027, 3.1824, 2.7764, 2.5706, 2.4469, 2.3646, 2.3060, 2.2622, 2.2281,
            2.2010, 2.1788, 2.1604, 2.1448, 2.1314, 2.1199, 2.1098, 2.1009, 2.0930, 2.0860,
            2.0796, 2.0739, 2.0687, 2.0639, 2.0595, 2.0555, 2.0518, 2.0484, 2.0452, 2.0423]

SHORT_M, LONG_M = 0.15, 1.5
SHARES = {"short": 0.70, "long": 0.20, "site": 0.08, "year": 0.02}


def lines(rng, shape, points, spacing, thresholds):
    """Share of points covered on each line; shape is (trials, visits, sites, lines)."""
    trials, visits, sites, number = shape
    site = np.sqrt(SHARES["site"]) * rng.standard_normal((trials, 1, sites, 1), dtype=np.float32)
    year = np.sqrt(SHARES["year"]) * rng.standard_normal((trials, visits, sites, 1), dtype=np.float32)
    limit = np.asarray(thresholds, dtype=np.float32).reshape(1, visits, 1, 1) - site - year
    limit = np.ascontiguousarray(np.broadcast_to(limit, shape))
    covered = np.zeros(shape, dtype=np.int32)
    states, steps = [], []
    for share, reach in ((SHARES["short"], SHORT_M), (SHARES["long"], LONG_M)):
        memory = np.exp(-spacing / reach)
        sd = np.float32(np.sqrt(share))
        states.append(sd * rng.standard_normal(shape, dtype=np.float32))
        steps.append((np.float32(memory), np.float32(sd * np.sqrt(1 - memory * memory))))
    noise = np.empty(shape, dtype=np.float32)
    for _ in range(points):
        for state, (memory, renewal) in zip(states, steps):
            rng.standard_normal(out=noise, dtype=np.float32)
            state *= memory
            noise *= renewal
            state += noise
        covered += states[0] + states[1] > limit
    return covered / np.float32(points)


def powers(cover, least_lines, site_numbers):
    """Rejections of the paired t test for every number of lines and of sites."""
    number = cover.shape[3]
    running = np.cumsum(cover[:, 1] - cover[:, 0], axis=2, dtype=np.float64)
    out = []
    for n in range(least_lines, number + 1):
        difference = running[:, :, n - 1] / n
        total, square = np.cumsum(difference, axis=1), np.cumsum(difference * difference, axis=1)
        for sites in site_numbers:
            mean = total[:, sites - 1] / sites
            variance = (square[:, sites - 1] - sites * mean * mean) / (sites - 1)
            t = mean / np.sqrt(np.maximum(variance, 1e-12) / sites)
            out.append(int(np.count_nonzero(np.abs(t) > CRITICAL[sites - 2])))
    return np.array(out)


def run(rng, trials, batch, sites, number, points, spacing, covers, least_lines, site_numbers):
    thresholds = [NormalDist().inv_cdf(1 - cover) for cover in covers]
    hits, done = 0, 0
    while done < trials:
        now = min(batch, trials - done)
        cover = lines(rng, (now, 2, sites, number), points, spacing, thresholds)
        hits = hits + powers(cover, least_lines, site_numbers)
        done += now
    return hits / trials


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("what", choices=["question", "table"])
    arguments.add_argument("--trials", type=int, default=500)
    arguments = arguments.parse_args()
    rng = np.random.default_rng(1)
    covers = (0.20, 0.16)
    start, work = time.perf_counter(), time.process_time()
    if arguments.what == "question":
        result = run(rng, arguments.trials, 100, 8, 12, 100, 0.1, covers, 2, [8])
    else:
        result = []
        for length in (5, 10, 15, 20, 30):
            for spacing in (0.1, 0.2, 0.5, 1.0):
                points = int(length / spacing + 1e-6)
                result.extend(run(rng, arguments.trials, 40, 20, 12, points, spacing, covers, 1, range(3, 21)))
    seconds, work = time.perf_counter() - start, time.process_time() - work
    print(json.dumps({"seconds": seconds, "processor_seconds": work, "designs": len(result), "mean_power": float(np.mean(result))}))


if __name__ == "__main__":
    main()
