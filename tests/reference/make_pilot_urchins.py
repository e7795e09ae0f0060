"""Makes examples/pilot_urchins.csv: an invented pilot of urchins and cucumbers in belts of 10 x 2 m on twelve reefs.

Urchins: 12 per 100 m2; sites differ by an SD of 70 % of the mean in one visit, 30 % of it in their years; k .8 within a site.
Cucumbers: 4 per 100 m2, sites differ by 50 %, years by 20 %, Poisson within a site. Standard library only.
"""
import math
import random

random.seed(20270)


def poisson(mean):
    limit, count, product = math.exp(-mean), 0, random.random()
    while product > limit:
        count += 1
        product *= random.random()
    return count


def effect(square):
    """A lognormal factor of mean 1 and this variance."""
    sd = math.sqrt(math.log1p(square))
    return math.exp(random.gauss(0, sd) - sd * sd / 2)


rows = ["site,year,belt,urchins,cucumbers"]
for site in "Anvil Bight Crescent Dorado Ember Fathom Gannet Harrow Islet Juniper Kestrel Lantern".split():
    years = {2027: [], 2029: []}
    # In one visit 1 + .7^2 = (1 + lasting)(1 + year), of which .3^2 is the year's.
    lasting_urchins, lasting_cucumbers = effect(0.49 - 0.09), effect(0.25 - 0.04)
    for year in years:
        urchins = 2.4 * lasting_urchins * effect(1.49 / 1.40 - 1)
        cucumbers = 0.8 * lasting_cucumbers * effect(1.25 / 1.21 - 1)
        for belt in range(1, 7):
            patch = random.gammavariate(0.8, 1 / 0.8)
            rows.append(f"{site},{year},{belt},{poisson(urchins * patch)},{poisson(cucumbers)}")
# One belt whose sheet was lost.
rows[40] = ",".join(rows[40].split(",")[:3]) + ",,"
print("\n".join(rows))
