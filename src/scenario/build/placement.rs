use crate::scenario::file::{LayoutWord, PlacementTable, ScenarioFile};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;
use crate::survey::{Heading, LineLayout, Placement};

/// How lines and belts are placed; listed among the assumptions where any lie on a reef.
pub fn build(file: &ScenarioFile, problems: &mut Problems, ledger: &mut Ledger) -> Placement {
    let absent = PlacementTable::default();
    let table = file.placement.as_ref().unwrap_or(&absent);
    let placement =
        Placement { layout: layout(table, problems), heading: table.heading.map_or(Heading::Along, |word| word.0) };
    let methods = &file.method;
    if methods.point_intercept.is_empty() && methods.line_intercept.is_empty() && methods.photo_belt.is_empty() {
        return placement;
    }
    let mut note = |key: &str, about: &str, written: bool, value: String| {
        ledger.note("placement", key, about.to_owned(), Noted::when(written, value), &table.source);
    };
    note("layout", "how lines are placed", table.layout.is_some(), placement.layout_label());
    if let LineLayout::LeastGap { gap_m } = placement.layout {
        note("gap_m", "least gap between lines", table.gap_m.is_some(), format!("{} m", number(gap_m)));
    }
    note("heading", "which way lines point", table.heading.is_some(), placement.heading_label().to_owned());
    placement
}

fn layout(table: &PlacementTable, problems: &mut Problems) -> LineLayout {
    let word = table.layout.map_or(LayoutWord::RandomStarts, |word| word.0);
    match (word, table.gap_m) {
        (LayoutWord::LeastGap, Some(gap)) => return LineLayout::LeastGap { gap_m: gap.get() },
        (LayoutWord::LeastGap, None) => {
            let remedy = "Write gap_m beside it, for example gap_m = 5.";
            problems.add("placement.layout", "lines are to keep a gap, but not which", "needs gap_m", remedy);
        }
        (_, Some(_)) => {
            let remedy = "Write layout = \"least_gap\", or take gap_m out.";
            problems.add("placement.gap_m", "no gap is kept by this layout", "goes with \"least_gap\"", remedy);
        }
        _ => {}
    }
    if word == LayoutWord::Systematic { LineLayout::Systematic } else { LineLayout::RandomStarts }
}
