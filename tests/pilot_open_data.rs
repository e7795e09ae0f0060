//! Pilot fits of open survey data, where they are present: the folder named by `REEFWRIGHT_DATA`, else `../shared/data`.
//!
//! Virgin Islands: Ennis et al. 2020, The United States Virgin Islands Territorial Coral Reef Monitoring Program, annual
//! report. Atlantic: NOAA National Centers for Coastal Ocean Science, National Coral Reef Monitoring Program. "Computed"
//! values were worked out from the same programmes' tables by other code before this was written.

use reefwright::analysis::{mean, variance};
use reefwright::pilot::colonies::{ColoniesTaken, ColonyColumns, fit_colonies, read_colonies};
use reefwright::pilot::{Columns, CoverColumn, Named, PilotFit, fit_pilot, read_pilot};
use reefwright::survey::coral_belt::EdgeRule;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// The text of a data file; `None`, with a word on the terminal, where it is not there.
fn open_data(name: &str) -> Option<String> {
    let folder = std::env::var_os("REEFWRIGHT_DATA")
        .map_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/data"), PathBuf::from);
    let path = folder.join(name);
    let text = std::fs::read_to_string(&path).ok();
    if text.is_none() {
        eprintln!("skipped: {} is not there (set REEFWRIGHT_DATA)", path.display());
    }
    text
}

/// The rows for which `keep` holds; `added` makes one more column.
fn table(
    text: &str,
    keep: impl Fn(&dyn Fn(&str) -> String) -> bool,
    added: impl Fn(&dyn Fn(&str) -> String) -> String,
) -> String {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let headers = reader.headers().unwrap().clone();
    let mut out = headers.iter().collect::<Vec<_>>().join(",") + ",added\n";
    for record in reader.records() {
        let record = record.unwrap();
        let cell = |name: &str| record[headers.iter().position(|header| header == name).unwrap()].to_owned();
        if keep(&cell) {
            out += &(record.iter().collect::<Vec<_>>().join(",") + "," + &added(&cell) + "\n");
        }
    }
    out
}

fn fits(text: &str, columns: &Columns) -> Vec<PilotFit> {
    fit_pilot(&read_pilot(text.as_bytes(), "open data", columns).unwrap()).unwrap().zones
}

fn virgin_islands() -> Columns {
    Columns {
        zone: None,
        site: vec!["site".into()],
        line: "transect".into(),
        visit: Some("year".into()),
        cover: CoverColumn::Percent("CoralCov".into()),
        same_marks: true,
    }
}

fn atlantic() -> Columns {
    Columns {
        zone: Some("region".into()),
        site: vec!["region".into(), "year".into(), "primary_sample_unit".into()],
        line: "station_nr".into(),
        visit: None,
        cover: CoverColumn::Counts { hits: "hard_coral".into(), points: "points_total".into() },
        same_marks: false,
    }
}

/// Correlation of permanent transects 2001-2011 by years apart, computed before: .35 .25 .22 .17 at 1, 2, 3, 5 years
/// (deviations taken and pooled a little differently there).
#[test]
fn permanent_transects_of_the_virgin_islands_remember() {
    let Some(text) = open_data("virgin-islands-permanent-transects/benthic_cover.csv") else { return };
    let decade = table(&text, |cell| cell("year").parse::<u32>().unwrap() <= 2011, |_| String::new());
    let fit = fits(&decade, &virgin_islands()).remove(0);
    for (lag, expected) in [(1, 0.35), (2, 0.25), (3, 0.22), (5, 0.17)] {
        let found = fit.correlation_by_lag.iter().find(|found| found.visits_apart == lag).unwrap();
        assert_eq!(found.years_apart, Some(lag as f64));
        assert!((found.correlation - expected).abs() < 0.03, "{lag}: {found:?}");
        assert!(found.interval_95.holds(expected));
    }
    // The well-marked years: .68 and .74 for 2010-11 and 2011-12, computed before.
    let late = table(&text, |cell| cell("year").parse::<u32>().unwrap() >= 2010, |_| String::new());
    let found = fits(&late, &virgin_islands()).remove(0).same_mark_correlation.unwrap();
    assert!((found.correlation - 0.71).abs() < 0.03, "{found:?}");
}

/// Shares of variance of site / transect in site / year / site x year / transect x year, 2012-2019 of the same programme,
/// computed before: 70.6, 21.5, 2.0, 4.8, 8.3 points squared. These are the years 2010-2012, so only the sites are much
/// the same: the spreads of sites and of transects must lie near, the rest be small beside them.
#[test]
fn variance_shares_of_the_virgin_islands() {
    let Some(text) = open_data("virgin-islands-permanent-transects/benthic_cover.csv") else { return };
    let late = table(&text, |cell| cell("year").parse::<u32>().unwrap() >= 2010, |_| String::new());
    let fit = fits(&late, &virgin_islands()).remove(0);
    assert!((30..=34).contains(&fit.sites) && fit.visits == 3);
    assert!(fit.between_sites.interval_95.holds(0.084), "{:?}", fit.between_sites);
    assert!(fit.line_in_site.unwrap().interval_95.holds(0.046), "{:?}", fit.line_in_site);
    let total = fit.between_sites.sd.powi(2) + fit.between_lines.sd.powi(2) + fit.site_year.unwrap().sd.powi(2);
    assert!(fit.site_year.unwrap().sd.powi(2) < 0.1 * total, "{:?}", fit.site_year);
    assert!(fit.year.unwrap().sd.powi(2) < 0.1 * total, "{:?}", fit.year);
}

/// Spread of 10 m transects of one site and year by mean cover, 2001-2021, computed before: 3.3, 5.4, 6.0, 7.8, 8.3 points
/// at 7.3, 12.4, 17.5, 25.2, 34.0 %, on about twice the site-years; the difference of the two is at most about the error of
/// ours, so 95 % intervals are widened by half.
#[test]
fn lines_of_the_virgin_islands_spread_with_cover() {
    let Some(text) = open_data("virgin-islands-permanent-transects/benthic_cover.csv") else { return };
    // Site-years are sites here, in classes of their mean cover.
    let mut means = std::collections::BTreeMap::<String, Vec<f64>>::new();
    let key = |cell: &dyn Fn(&str) -> String| cell("site") + " " + &cell("year");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let headers = reader.headers().unwrap().clone();
    for record in reader.records() {
        let record = record.unwrap();
        let cell = |name: &str| record[headers.iter().position(|header| header == name).unwrap()].to_owned();
        means.entry(key(&cell)).or_default().push(cell("CoralCov").parse().unwrap());
    }
    let class = |cell: &dyn Fn(&str) -> String| {
        let values = &means[&key(cell)];
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        [5.0, 10.0, 15.0, 20.0, 30.0, 40.0].iter().filter(|&&edge| mean >= edge).count().to_string()
    };
    let columns = Columns {
        zone: Some("added".into()),
        site: vec!["site".into(), "year".into()],
        visit: None,
        same_marks: false,
        ..virgin_islands()
    };
    let fits = fits(&table(&text, |_| true, class), &columns);
    for (class, spread) in [("1", 0.033), ("2", 0.054), ("3", 0.060), ("4", 0.078), ("5", 0.083)] {
        let fit = fits.iter().find(|fit| fit.zone.as_deref() == Some(class)).unwrap();
        let interval = fit.between_lines.interval_95;
        let reach = 0.25 * (interval.high - interval.low);
        assert!(interval.low - reach < spread && spread < interval.high + reach, "{class}: {:?}", fit.between_lines);
        let effective = fit.effective_points_per_line;
        assert!((14.0..120.0).contains(&effective), "{class}: {effective}");
    }
}

/// Sites with two lines of 100 points, Florida Keys 2014: within-site variance 2.42 times the binomial over all covers,
/// computed before; SD 3.90 points within and 8.73 between sites (computed, numpy).
#[test]
fn two_line_sites_of_the_florida_keys() {
    let Some(text) = open_data("atlantic-random-sites/point_intercept_counts.csv") else { return };
    let data = read_pilot(text.as_bytes(), "open data", &atlantic()).unwrap();
    let fits = fit_pilot(&data).unwrap();
    // Only this region has sites with two lines; the others are left out and said.
    assert_eq!(fits.zones.len(), 1);
    assert!(fits.left_out.iter().any(|message| message.contains("zone `STX`")));
    let fit = &fits.zones[0];
    assert_eq!((fit.zone.as_deref(), fit.sites, fit.lines), (Some("FLK"), 247, 494));
    assert!((fit.between_lines.sd - 0.0390235).abs() < 1e-6);
    assert!((fit.between_sites.sd - 0.00762143f64.sqrt()).abs() < 1e-6);
    assert!((fit.mean - 0.0729767).abs() < 1e-6);
    let over_binomial = fit.points_per_line.unwrap() / fit.effective_points_per_line;
    assert!((over_binomial - 2.42).abs() < 0.15, "{over_binomial}");
    // Patchy and even sites side by side: 247 degrees of freedom are worth far fewer.
    assert!(fit.between_lines.interval_95.holds(0.039) && fit.between_lines.interval_95.low < 0.036);
}

/// Sites whose colonies differ, in what is told where a scenario leaves it out: mean ln diameters of sites and years with at
/// least 15 colonies, by moments (computed with the same data by other code: variance of site means .172, of the years of a
/// site .113, of sampling .0075; how colonies were chosen is not in the data).
#[test]
fn colonies_of_the_virgin_islands_differ_between_sites_and_years() {
    let Some(text) = open_data("virgin-islands-permanent-transects/coral_colonies.csv") else { return };
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let mut years: BTreeMap<(String, String), Vec<f64>> = BTreeMap::new();
    for record in reader.records().map(Result::unwrap) {
        if let Some(length) = record[4].parse().ok().filter(|length: &f64| *length > 0.0) {
            years.entry((record[0].into(), record[1].into())).or_default().push(length.ln());
        }
    }
    let mut sites: BTreeMap<String, Vec<(f64, f64)>> = BTreeMap::new();
    for ((site, _), of_colonies) in years.into_iter().filter(|(_, of_colonies)| of_colonies.len() >= 15) {
        let sampling = variance(&of_colonies) / of_colonies.len() as f64;
        sites.entry(site).or_default().push((mean(&of_colonies), sampling));
    }
    assert_eq!((sites.len(), sites.values().map(Vec::len).sum::<usize>()), (32, 247));
    let means = |site: &[(f64, f64)]| site.iter().map(|year| year.0).collect::<Vec<_>>();
    let several = || sites.values().filter(|site| site.len() > 1);
    let freedom: usize = several().map(|site| site.len() - 1).sum();
    let within = several().map(|site| (site.len() - 1) as f64 * variance(&means(site))).sum::<f64>() / freedom as f64;
    let sampling =
        mean(&several().map(|site| mean(&site.iter().map(|year| year.1).collect::<Vec<_>>())).collect::<Vec<_>>());
    let of_sites = variance(&sites.values().map(|site| mean(&means(site))).collect::<Vec<_>>());
    assert!((of_sites - 0.1723).abs() < 1e-4 && (within - 0.1133).abs() < 1e-4 && (sampling - 0.0075).abs() < 1e-4);
    let each = mean(&sites.values().map(|site| 1.0 / site.len() as f64).collect::<Vec<_>>());
    let (year, lasting) = (within - sampling, of_sites - within * each);
    let (in_one_visit, year) = ((lasting + year).sqrt(), year.sqrt());
    assert!((in_one_visit - 0.5).abs() < 0.02 && (year - 0.33).abs() < 0.01, "{in_one_visit} {year}");
    // The pilot says so itself (of sites and years with five colonies or more).
    let named = Named { zone: None, site: vec!["site".into()], unit: None, visit: Some("year".into()) };
    let columns = ColonyColumns { named, longest: "length_cm".into(), across: None, dead: Vec::new() };
    let data = read_colonies(text.as_bytes(), "open data", &columns).unwrap();
    let taken = ColoniesTaken {
        belt_m: None,
        edge: EdgeRule::CentreIn,
        ruler_m: 0.01,
        least_m: 0.01,
        belts: None,
        site_m: (100.0, 20.0),
    };
    let found = fit_colonies(&data, &taken).unwrap().zones[0].colony_variation;
    let near = |found: f64, exact: f64| assert!((found / exact - 1.0).abs() < 0.15, "{found} {exact}");
    near(found.ln_diameter.between_sites, in_one_visit);
    near(found.ln_diameter.site_year, year);
    assert_eq!(found.dead_parts.between_sites, 0.0);
}
