use serde::Serialize;

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Visit {
    pub label: String,
    /// In years, where the label is a year or a date that begins with one.
    pub year: Option<f64>,
}

/// Visits by number or date where all labels are one, else as they appear in the file.
pub(super) fn in_order_of_time(labels: Vec<String>) -> Vec<Visit> {
    let years: Vec<Option<f64>> = labels.iter().map(|label| year_of(label)).collect();
    let numbers: Vec<Option<f64>> = labels.iter().map(|label| label.parse().ok()).collect();
    let keys = if years.iter().all(Option::is_some) { &years } else { &numbers };
    let mut order: Vec<usize> = (0..labels.len()).collect();
    if keys.iter().all(Option::is_some) {
        order.sort_by(|&a, &b| keys[a].unwrap_or(0.0).total_cmp(&keys[b].unwrap_or(0.0)));
    }
    order.into_iter().map(|i| Visit { label: labels[i].clone(), year: years[i] }).collect()
}

/// Mean years between consecutive visits, where their names tell years.
pub(super) fn years_apart(visits: &[Visit]) -> Option<f64> {
    let [first, .., last] = visits else { return None };
    let years = last.year? - first.year?;
    Some(years / (visits.len() as f64 - 1.0))
}

/// The year of `2027`, `2027-05` or `2027-05-19`, with the fraction that month and day add.
pub(super) fn year_of(label: &str) -> Option<f64> {
    let mut parts = label.splitn(3, '-');
    let year: f64 = parts.next().filter(|year| year.len() == 4)?.parse().ok()?;
    let mut part = |least: f64, most: f64| match parts.next() {
        None => Some(least),
        Some(text) => text.parse::<f64>().ok().filter(|&value| (least..=most).contains(&value)),
    };
    let (month, day) = (part(1.0, 12.0)?, part(1.0, 31.0)?);
    (1800.0..=2200.0).contains(&year).then_some(year + (month - 1.0) / 12.0 + (day - 1.0) / 365.25)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_have_years_and_other_labels_have_none() {
        assert_eq!(year_of("2027"), Some(2027.0));
        assert!((year_of("2027-07").unwrap() - 2027.5).abs() < 1e-12);
        assert_eq!(year_of("before"), None);
        assert_eq!(year_of("2027-13"), None);
        assert_eq!(year_of("12"), None);
        let order = |labels: &[&str]| -> Vec<String> {
            in_order_of_time(labels.iter().map(|label| label.to_string()).collect())
                .into_iter()
                .map(|v| v.label)
                .collect()
        };
        assert_eq!(order(&["10", "9", "2"]), ["2", "9", "10"]);
        assert_eq!(order(&["before", "after"]), ["before", "after"]);
    }
}
