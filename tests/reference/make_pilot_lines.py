#!/usr/bin/env python3
"""Makes examples/pilot_lines.csv: an invented pilot of the invented Sorrel Atolls.

    python3 make_pilot_lines.py > ../../examples/pilot_lines.csv

Ten sites, six marked lines each, 100 points a line, surveyed in 2027 and 2029 on the same marks. Cover of a line (shares):
0.28 in 2027 and 0.25 in 2029, + site (SD 0.08) + site x year (SD 0.022) + line in site (SD 0.045) + rest (SD 0.03), kept
within 0.01 and 0.9; points fall on coral with that probability. One line of 2029 was not read. Python 3.11, the generator
of `random.Random` (Mersenne Twister), seed 2027.
"""
import random

SITES = [
    "Anvil Rock", "Broken Sound", "Cinder Bank", "Dory Ledge", "Ember Pass",
    "Fathom Wall", "Gannet Spur", "Hollow Horn", "Inkwell", "Jetsam Bar",
]
LINES, POINTS = 6, 100
MEAN = {2027: 0.28, 2029: 0.25}
NOT_READ = (2029, "Gannet Spur", 4)


def main() -> None:
    draw = random.Random(2027)
    print("site,year,line,coral_points,points")
    for site in SITES:
        own = draw.gauss(0, 0.08)
        marks = [draw.gauss(0, 0.045) for _ in range(LINES)]
        for year, mean in MEAN.items():
            at_visit = mean + own + draw.gauss(0, 0.022)
            for line in range(1, LINES + 1):
                cover = min(max(at_visit + marks[line - 1] + draw.gauss(0, 0.03), 0.01), 0.9)
                hits = sum(draw.random() < cover for _ in range(POINTS))
                entry = "" if (year, site, line) == NOT_READ else hits
                print(f"{site},{year},{line},{entry},{POINTS}")


main()
