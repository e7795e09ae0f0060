//! What a table is allowed to say and hardly means: it is used as it stands, and the doubt is told with its lines.

use super::visits::year_of;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt;

/// So many doubts about names are told; a table with more of them has one cause.
const MOST_ALIKE: usize = 5;

/// A doubt about a pilot table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "doubt", rename_all = "snake_case")]
pub enum TableDoubt {
    /// Two names that differ by capitals and blanks alone, with the lines in which they first stand.
    AlikeNames { what: &'static str, name: String, line: u64, other: String, other_line: u64 },
    /// More such pairs.
    MoreAlikeNames { pairs: usize },
    /// Lines or sites that are named like years.
    NamedLikeYears { what: &'static str, first: String, has_visits: bool },
    /// Colonies that are wider than long.
    WiderThanLong { colonies: usize, of: usize, line: u64 },
}

impl fmt::Display for TableDoubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AlikeNames { what, name, line, other, other_line } => write!(
                f,
                "the {what} `{name}` (first in line {line}) and the {what} `{other}` (first in line {other_line}) differ by \
                 capitals or blanks alone; here they are two. If they are one, write one name for both"
            ),
            Self::MoreAlikeNames { pairs: 1 } => write!(f, "one more pair of names is alike so"),
            Self::MoreAlikeNames { pairs } => write!(f, "{pairs} more pairs of names are alike so"),
            Self::NamedLikeYears { what, first, has_visits } => write!(
                f,
                "every {what} is named like a year (`{first}`); is that column the visit? {}",
                if *has_visits {
                    "Look whether the columns after --visit, --line and --site are swapped"
                } else {
                    "Name it after --visit"
                }
            ),
            Self::WiderThanLong { colonies, of, line } => write!(
                f,
                "{colonies} of {of} colonies are wider across than their largest diameter (the first in line {line}); are the \
                 columns after --diameter and --across swapped?"
            ),
        }
    }
}

/// Names of one kind, each with the line in which it first stands.
#[derive(Debug, Default)]
pub(super) struct FirstLines(BTreeMap<String, u64>);

impl FirstLines {
    pub fn add(&mut self, name: &str, line: u64) {
        if !self.0.contains_key(name) {
            self.0.insert(name.to_owned(), line);
        }
    }

    /// Pairs that differ by capitals, blanks and underscores alone. Numbers are never alike: 1 1 is not 11.
    pub fn alike(&self, what: &'static str) -> Vec<TableDoubt> {
        let mut by_letters: BTreeMap<String, (&str, u64)> = BTreeMap::new();
        let mut found = Vec::new();
        let mut in_order: Vec<(&String, &u64)> = self.0.iter().collect();
        in_order.sort_by_key(|(_, line)| **line);
        for (name, &line) in in_order {
            let letters: String = name.to_lowercase().chars().filter(|c| !c.is_whitespace() && *c != '_').collect();
            if letters.chars().all(|c| !c.is_alphabetic()) {
                continue;
            }
            match by_letters.get(&letters) {
                Some(&(first, first_line)) => found.push(TableDoubt::AlikeNames {
                    what,
                    name: first.to_owned(),
                    line: first_line,
                    other: name.clone(),
                    other_line: line,
                }),
                None => {
                    by_letters.insert(letters, (name, line));
                }
            }
        }
        found
    }

    /// The first name, where all are like years.
    pub fn first_of_years(&self) -> Option<&str> {
        let all_years = self.0.keys().all(|name| year_of(name).is_some());
        self.0.keys().next().filter(|_| all_years).map(String::as_str)
    }
}

/// All doubts about alike names: the first few, and how many more there are.
pub(super) fn few(mut alike: Vec<TableDoubt>) -> Vec<TableDoubt> {
    let more = alike.len().saturating_sub(MOST_ALIKE);
    alike.truncate(MOST_ALIKE);
    alike.extend((more > 0).then_some(TableDoubt::MoreAlikeNames { pairs: more }));
    alike
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(all: &[(&str, u64)]) -> FirstLines {
        let mut lines = FirstLines::default();
        all.iter().for_each(|&(name, line)| lines.add(name, line));
        lines
    }

    #[test]
    fn names_that_differ_by_capitals_or_blanks_are_told_with_their_lines() {
        let found = names(&[("Anvil Rock", 2), ("Basalt Arch", 3), ("anvil rock", 9), ("AnvilRock", 12)]).alike("site");
        let lines: Vec<(u64, u64)> = found
            .iter()
            .filter_map(|doubt| match doubt {
                TableDoubt::AlikeNames { line, other_line, .. } => Some((*line, *other_line)),
                _ => None,
            })
            .collect();
        assert_eq!(lines, [(2, 9), (2, 12)]);
        assert!(found[0].to_string().contains("`Anvil Rock` (first in line 2) and the site `anvil rock`"));
        assert!(names(&[("1 1", 2), ("11", 3), ("A", 4), ("B", 5)]).alike("line").is_empty());
        let many: Vec<(String, u64)> =
            (0..8).flat_map(|i| [(format!("reef {i}"), i), (format!("Reef {i}"), i + 50)]).collect();
        let many: Vec<(&str, u64)> = many.iter().map(|(name, line)| (name.as_str(), *line)).collect();
        let told = few(names(&many).alike("site"));
        assert_eq!((told.len(), told.last()), (6, Some(&TableDoubt::MoreAlikeNames { pairs: 3 })));
    }

    #[test]
    fn lines_named_like_years_are_visits() {
        assert_eq!(names(&[("2029", 2), ("2027", 3)]).first_of_years(), Some("2027"));
        assert_eq!(names(&[("2029", 2), ("1", 3)]).first_of_years(), None);
        assert_eq!(names(&[]).first_of_years(), None);
    }
}
