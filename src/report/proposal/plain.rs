/// Markdown of ours as plain text: no marks, headings and caution as lines of their own.
pub fn text(markdown: &str) -> String {
    let line = |line: &str| {
        let line = line.trim_start_matches(['#', '>']);
        let line = if line.len() < 2 { line } else { line.strip_prefix(' ').unwrap_or(line) };
        line.replace("**", "")
    };
    markdown.lines().map(line).collect::<Vec<_>>().join("\n") + "\n"
}
