//! The drawn sites for the boat: CSV, and waypoints for receivers of positions.

use super::report::BudgetReport;
use crate::planner::expedition::{SiteRole, SiteRow};

impl BudgetReport {
    /// All sites of the list in the order of the draw, as CSV; `None` without a list.
    pub fn sites_csv(&self) -> Option<String> {
        (!self.answer.sites.is_empty()).then(|| self.csv(self.answer.sites.iter()))
    }

    /// The sites that may be visited as waypoints (GPX 1.1); `None` without a list. The caution stands in the head.
    pub fn sites_gpx(&self) -> Option<String> {
        if self.answer.sites.is_empty() {
            return None;
        }
        let mut text = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"reefwright {}\" \
             xmlns=\"http://www.topografix.com/GPX/1/1\">\n  <metadata>\n    <name>{}</name>\n    <desc>{} Positions are \
             those of the list of candidate sites; seed {}.</desc>\n  </metadata>\n",
            escaped(&self.version),
            escaped(&self.title),
            escaped(self.caution),
            self.seed
        );
        for row in self.answer.sites.iter().filter(|row| row.role != SiteRole::CannotBeUsed) {
            text += &format!(
                "  <wpt lat=\"{}\" lon=\"{}\">\n    <name>{}</name>\n    <desc>{}</desc>\n    <type>{}</type>\n  </wpt>\n",
                row.latitude,
                row.longitude,
                escaped(&row.name),
                escaped(&described(row)),
                role_words(row.role)
            );
        }
        Some(text + "</gpx>\n")
    }
}

pub fn role_words(role: SiteRole) -> &'static str {
    match role {
        SiteRole::MustVisit => "must visit",
        SiteRole::Drawn => "drawn",
        SiteRole::Spare => "spare",
        SiteRole::CannotBeUsed => "cannot be used",
    }
}

fn described(row: &SiteRow) -> String {
    let mut parts = vec![
        format!("{} {}", row.zone, row.site),
        role_words(row.role).to_owned(),
        match row.day {
            Some(day) => format!("day {day}"),
            None if row.done => "done".into(),
            None => String::new(),
        },
        format!("to {} m", row.depth_m),
        if row.sheltered { "sheltered".into() } else { String::new() },
        if row.old_marks { "old marks".into() } else { String::new() },
        row.access.clone(),
    ];
    parts.retain(|part| !part.is_empty());
    parts.join("; ")
}

/// Text as it may stand in XML.
fn escaped(text: &str) -> String {
    let mut all = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => all += "&amp;",
            '<' => all += "&lt;",
            '>' => all += "&gt;",
            '"' => all += "&quot;",
            '\'' => all += "&apos;",
            // What XML 1.0 cannot hold, escaped or not.
            '\u{0}'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => all.push(' '),
            _ => all.push(letter),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_xml_cannot_hold_is_escaped() {
        assert_eq!(escaped("A & B <\"Ö'>\u{1}"), "A &amp; B &lt;&quot;Ö&apos;&gt; ");
    }
}
