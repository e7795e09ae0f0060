#!/usr/bin/env python3
"""Regenerates distributions.csv: columns name,a,b,c,d,value.

Arguments are read from the present file and values computed anew, so that the rows stay the same:

    python3 make_distributions.py distributions.csv > new.csv

Made with Python 3.11, scipy 1.17.1, numpy 2.4.6. Arguments by name:
norm x; t x, df; chi2 x, df; f x, dfn, dfd; beta x, a, b; bin k, n, p; pois k, mu; nb k, n, p;
ncx2 x, df, nc; ncf x, dfn, dfd, nc; nct x, df, nc; for ..._ppf the first argument is the lower tail.
Rows of nct whose value is NaN are arguments at which scipy has no answer.
"""
import csv
import sys

from scipy import stats

FUNCTIONS = {
    "norm_cdf": (stats.norm.cdf, 1),
    "norm_ppf": (stats.norm.ppf, 1),
    "t_cdf": (stats.t.cdf, 2),
    "t_ppf": (stats.t.ppf, 2),
    "chi2_cdf": (stats.chi2.cdf, 2),
    "chi2_sf": (stats.chi2.sf, 2),
    "f_cdf": (stats.f.cdf, 3),
    "beta_cdf": (stats.beta.cdf, 3),
    "beta_ppf": (stats.beta.ppf, 3),
    "bin_cdf": (stats.binom.cdf, 3),
    "pois_cdf": (stats.poisson.cdf, 2),
    "nb_cdf": (stats.nbinom.cdf, 3),
    "ncx2_cdf": (stats.ncx2.cdf, 3),
    "ncf_cdf": (stats.ncf.cdf, 4),
    "nct_cdf": (stats.nct.cdf, 3),
}


def main() -> None:
    with open(sys.argv[1], newline="") as file:
        rows = list(csv.reader(file))
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(rows[0])
    for name, *cells in rows[1:]:
        function, count = FUNCTIONS[name]
        arguments = [float(cell) for cell in cells[:4]]
        writer.writerow([name, *arguments, repr(float(function(*arguments[:count])))])


main()
