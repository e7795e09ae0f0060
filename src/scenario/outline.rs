use super::outline_json;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Where a key or an item of a list stands in the text of a scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// `zone[0].cover_percent`.
    pub path: String,
    /// Bytes of the key (for an item of a list: of the item or of its `[[header]]`).
    pub key: Range<usize>,
    /// Bytes of the value.
    pub value: Range<usize>,
}

/// Every key of a scenario with its place, so that a message about a value can point at it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outline {
    entries: Vec<Entry>,
}

impl Outline {
    /// Of a TOML text; empty where the text is no TOML.
    pub fn of_toml(text: &str) -> Outline {
        let mut entries = Vec::new();
        if let Ok(table) = DeTable::parse(text) {
            add_table(&mut entries, "", table.get_ref());
        }
        Outline { entries }
    }

    /// Of a JSON text; empty where the text is no JSON.
    pub fn of_json(text: &str) -> Outline {
        Outline { entries: outline_json::entries(text) }
    }

    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The entry of a path, or of the nearest table or list around it that is written.
    pub fn find(&self, path: &str) -> Option<&Entry> {
        let exact = self.entries.iter().find(|entry| entry.path == path);
        exact.or_else(|| self.find(parent(path)?))
    }

    /// The keys that stand in a table; an empty path for those that stand in none.
    pub fn keys_of<'a>(&'a self, table: &'a str) -> impl Iterator<Item = (&'a str, &'a Entry)> {
        self.entries.iter().filter_map(move |entry| {
            let key = if table.is_empty() {
                entry.path.as_str()
            } else {
                entry.path.strip_prefix(table)?.strip_prefix('.')?
            };
            (!key.contains(['.', '['])).then_some((key, entry))
        })
    }

    /// The innermost entry whose key or value covers a byte.
    pub fn at(&self, byte: usize) -> Option<&Entry> {
        let covering = self.entries.iter().filter(|entry| covers(&entry.key, byte) || covers(&entry.value, byte));
        covering.max_by_key(|entry| entry.path.len())
    }
}

fn covers(span: &Range<usize>, byte: usize) -> bool {
    span.start <= byte && byte < span.end
}

/// `zone[0].reef` -> `zone[0]` -> `zone`.
fn parent(path: &str) -> Option<&str> {
    path.rfind(['.', '[']).map(|end| &path[..end])
}

/// The path of a key in a table.
pub fn child(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

fn add_table(entries: &mut Vec<Entry>, path: &str, table: &DeTable<'_>) {
    for (key, value) in table.iter() {
        let path = child(path, key.get_ref());
        entries.push(Entry { path: path.clone(), key: key.span(), value: value.span() });
        add_value(entries, &path, value.get_ref());
    }
}

fn add_value(entries: &mut Vec<Entry>, path: &str, value: &DeValue<'_>) {
    match value {
        DeValue::Table(table) => add_table(entries, path, table),
        DeValue::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                let path = format!("{path}[{index}]");
                entries.push(Entry { path: path.clone(), key: item.span(), value: item.span() });
                add_value(entries, &path, item.get_ref());
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "title = 'x'\n[[zone]]\nname = 'a'\n[[zone]]\nname = 'b'\nsites = [3, 6]\n";

    #[test]
    fn a_key_is_found_by_its_path() {
        let outline = Outline::of_toml(TEXT);
        let entry = outline.find("zone[1].sites[1]").unwrap();
        assert_eq!(&TEXT[entry.value.clone()], "6");
        assert_eq!(&TEXT[outline.find("zone[1].name").unwrap().value.clone()], "'b'");
    }

    #[test]
    fn an_absent_key_points_at_its_table() {
        let outline = Outline::of_toml(TEXT);
        let entry = outline.find("zone[1].cover_percent").unwrap();
        assert_eq!(entry.path, "zone[1]");
        assert_eq!(entry.key.start, TEXT.rfind("[[zone]]").unwrap());
        assert_eq!(outline.find("method.point_intercept"), None);
    }

    #[test]
    fn a_byte_is_found_in_its_innermost_key() {
        let outline = Outline::of_toml(TEXT);
        assert_eq!(outline.at(TEXT.find('6').unwrap()).unwrap().path, "zone[1].sites[1]");
        assert_eq!(outline.at(TEXT.find("sites").unwrap()).unwrap().path, "zone[1].sites");
    }

    #[test]
    fn the_same_scenario_in_json_has_the_same_paths() {
        let json = r#"{"title": "x", "zone": [{"name": "a"}, {"name": "b", "sites": [3, 6]}]}"#;
        let mut toml_paths: Vec<_> = Outline::of_toml(TEXT).entries.into_iter().map(|entry| entry.path).collect();
        let mut json_paths: Vec<_> = Outline::of_json(json).entries.into_iter().map(|entry| entry.path).collect();
        toml_paths.sort();
        json_paths.sort();
        assert_eq!(toml_paths, json_paths);
    }
}
