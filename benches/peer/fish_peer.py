"""A vectorised numpy script of our own that counts fish in a moving window: all schools of the sea from which one may come
are drawn and swim, many belts at once. Still and straight fish are tested exactly, those that turn by steps of a tenth of
the time between turns (at most 1 s). Prints seconds and fish per belt as JSON."""

import argparse
import json
import time

import numpy as np

REACH = 4.5


def sea(rng, batch, group, half, way):
    """Schools (belt, place of the middle) and their fish (school, offset)."""
    per_belt, size, spread = group[:3]
    width, length = 2 * (half[1]), 2 * half[0] + way
    number = rng.poisson(per_belt / size / asked.length / asked.width * width * length * batch)
    x = rng.random(number) * length - half[0]
    y = (rng.random(number) * 2 - 1) * half[1]
    of = np.repeat(np.arange(number), rng.geometric(1 / size, number))
    return x, y, of, rng.normal(0, spread, of.size), rng.normal(0, spread, of.size)


def slab(place, step, half):
    """First and last part of a way between two sides."""
    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = (-half - place) / step, (half - place) / step
    return np.minimum(a, b), np.maximum(a, b)


def straight(rng, batch, group, seconds, diver, half):
    speed, spread = group[3] if asked.kind == "straight" else 0.0, group[2]
    reach = [side + REACH * spread + speed * seconds for side in half]
    x, y, of, dx, dy = sea(rng, batch, group, reach, diver * seconds)
    angle = rng.random(x.size) * 2 * np.pi
    step_x, step_y = ((speed * np.cos(angle) - diver) * seconds)[of], (speed * np.sin(angle) * seconds)[of]
    first_x, last_x = slab(x[of] + dx, step_x, half[0])
    if speed == 0:
        inside = np.abs(y[of] + dy) <= half[1]
        return int(np.count_nonzero((np.maximum(first_x, 0) <= np.minimum(last_x, 1)) & inside))
    first_y, last_y = slab(y[of] + dy, step_y, half[1])
    first, last = np.maximum(np.maximum(first_x, first_y), 0), np.minimum(np.minimum(last_x, last_y), 1)
    return int(np.count_nonzero(first <= last))


def turning(rng, batch, group, seconds, diver, half):
    spread, speed, tau = group[2], group[3], group[4]
    # Nearly all fish stay within four standard deviations of the way they swim, and within their reach.
    far = min(speed * seconds, 4 * speed * np.sqrt(tau * seconds))
    reach = [side + REACH * spread + far for side in half]
    x, y, of, dx, dy = sea(rng, batch, group, reach, diver * seconds)
    step = min(1.0, 0.1 * tau)
    angle = rng.random(x.size) * 2 * np.pi
    seen = np.zeros(of.size, dtype=bool)
    for i in range(int(seconds / step) + 1):
        seen |= (np.abs(x[of] + dx - diver * step * i) <= half[0]) & (np.abs(y[of] + dy) <= half[1])
        turned = rng.random(x.size) < step / tau
        angle[turned] = rng.random(np.count_nonzero(turned)) * 2 * np.pi
        x += speed * step * np.cos(angle)
        y += speed * step * np.sin(angle)
    return int(np.count_nonzero(seen))


def main():
    rng = np.random.default_rng(1)
    diver = asked.length / asked.seconds
    seconds = (asked.length - asked.depth) / diver
    half = (0.5 * asked.depth, 0.5 * asked.width)
    read = turning if asked.kind == "turning" else straight
    batch = min(asked.belts, 50)
    work, fish = time.process_time(), 0
    for _ in range(asked.belts // batch):
        for group in json.loads(asked.groups):
            fish += read(rng, batch, group, seconds, diver, half)
    belts = asked.belts // batch * batch
    print(json.dumps({"processor_seconds": (time.process_time() - work) / belts, "fish": fish / belts, "belts": belts}))


arguments = argparse.ArgumentParser()
arguments.add_argument("kind", choices=["still", "straight", "turning"])
arguments.add_argument("--belts", type=int, default=1_000)
arguments.add_argument("--groups", required=True)
for name in ("length", "width", "seconds", "depth"):
    arguments.add_argument(f"--{name}", type=float, required=True)
asked = arguments.parse_args()

if __name__ == "__main__":
    main()
