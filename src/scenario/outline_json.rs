use super::outline::{Entry, child};
use std::ops::Range;

/// Places of all keys and items of a JSON text; of what can be read, where the text is no JSON (its reader reports that).
pub fn entries(text: &str) -> Vec<Entry> {
    let mut scanner = Scanner { bytes: text.as_bytes(), at: 0, entries: Vec::new(), depth: 0 };
    scanner.value("");
    scanner.entries
}

/// Deeper nesting than any scenario has is not followed.
const DEEPEST: usize = 32;

struct Scanner<'a> {
    bytes: &'a [u8],
    at: usize,
    entries: Vec<Entry>,
    depth: usize,
}

impl Scanner<'_> {
    fn peek(&mut self) -> Option<u8> {
        while self.bytes.get(self.at).is_some_and(u8::is_ascii_whitespace) {
            self.at += 1;
        }
        self.bytes.get(self.at).copied()
    }

    /// Reads one value and returns its bytes; `None` where there is none.
    fn value(&mut self, path: &str) -> Option<Range<usize>> {
        let first = self.peek()?;
        let start = self.at;
        self.depth += 1;
        if self.depth > DEEPEST {
            return None;
        }
        match first {
            b'{' => self.object(path)?,
            b'[' => self.array(path)?,
            b'"' => {
                self.string()?;
            }
            _ => self.scalar(),
        }
        self.depth -= 1;
        (self.at > start).then_some(start..self.at)
    }

    fn object(&mut self, path: &str) -> Option<()> {
        self.at += 1;
        loop {
            match self.peek()? {
                b'"' => {
                    let key = self.string()?;
                    let name = String::from_utf8_lossy(&self.bytes[key.start + 1..key.end - 1]).into_owned();
                    let path = child(path, &name);
                    if self.peek()? != b':' {
                        return None;
                    }
                    self.at += 1;
                    let place = self.entries.len();
                    self.entries.push(Entry { path: path.clone(), key: key.clone(), value: key });
                    let value = self.value(&path)?;
                    self.entries[place].value = value;
                }
                b',' => self.at += 1,
                b'}' => {
                    self.at += 1;
                    return Some(());
                }
                _ => return None,
            }
        }
    }

    fn array(&mut self, path: &str) -> Option<()> {
        self.at += 1;
        let mut index = 0;
        loop {
            match self.peek()? {
                b',' => self.at += 1,
                b']' => {
                    self.at += 1;
                    return Some(());
                }
                _ => {
                    let path = format!("{path}[{index}]");
                    let place = self.entries.len();
                    let start = self.at..self.at;
                    self.entries.push(Entry { path: path.clone(), key: start.clone(), value: start });
                    let value = self.value(&path)?;
                    let first = value.start..value.start + 1;
                    self.entries[place].key = first;
                    self.entries[place].value = value;
                    index += 1;
                }
            }
        }
    }

    /// Bytes of a string with its quotes.
    fn string(&mut self) -> Option<Range<usize>> {
        let start = self.at;
        self.at += 1;
        loop {
            match self.bytes.get(self.at)? {
                b'\\' => self.at += 2,
                b'"' => {
                    self.at += 1;
                    return Some(start..self.at);
                }
                _ => self.at += 1,
            }
        }
    }

    /// A number, `true`, `false` or `null`.
    fn scalar(&mut self) {
        let ends = |byte: &u8| byte.is_ascii_whitespace() || b",]}:\"{[".contains(byte);
        while self.bytes.get(self.at).is_some_and(|byte| !ends(byte)) {
            self.at += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_and_items_have_their_bytes() {
        let text = r#"{ "a": [1, {"b\"": "x}"}], "c": null }"#;
        let found: Vec<_> = entries(text).into_iter().map(|e| (e.path, text[e.value].to_owned())).collect();
        let expected = [
            ("a", r#"[1, {"b\"": "x}"}]"#),
            ("a[0]", "1"),
            ("a[1]", r#"{"b\"": "x}"}"#),
            (r#"a[1].b\""#, r#""x}""#),
            ("c", "null"),
        ];
        assert_eq!(found, expected.map(|(path, value)| (path.to_owned(), value.to_owned())));
    }

    #[test]
    fn broken_texts_end_without_a_fault() {
        for text in ["", "{", "{\"a", "{\"a\"", "{\"a\":", "[1,", "[}", "{]", "\"\\", "{\"a\":}", &"[".repeat(100_000)]
        {
            entries(text);
        }
    }
}
