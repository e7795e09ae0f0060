use super::axes::Panel;
use super::canvas::{Canvas, Point, SMALL, Stroke, Text};
use super::colours::{LineStyle, for_text};
use crate::report::fonts;

/// The name of a line, to stand at its end.
pub struct EndLabel {
    /// Where the line ends.
    pub end: Point,
    pub text: String,
    pub style: LineStyle,
}

const APART: f64 = 14.0;
pub const GAP: f64 = 14.0;

/// Writes the names in a column right of the panel, each as near to the end of its line as the others allow, with a
/// thin leader from the end to the name.
pub fn draw_end_labels(canvas: &mut Canvas, panel: &Panel, labels: &[EndLabel], room: f64) {
    let mut order: Vec<&EndLabel> =
        labels.iter().filter(|label| label.end.0.is_finite() && label.end.1.is_finite()).collect();
    order.sort_by(|one, other| one.end.1.total_cmp(&other.end.1));
    let wanted: Vec<f64> = order.iter().map(|label| label.end.1).collect();
    let heights = spread(&wanted, APART, (panel.top + 4.0, panel.bottom() - 4.0));
    for (label, y) in order.iter().zip(heights) {
        let x = panel.right() + GAP;
        let colour = for_text(label.style.colour());
        let bend = (x - 8.0).max(label.end.0);
        canvas.path(&[label.end, (bend, y), (x - 3.0, y)], Stroke::solid(label.style.colour(), 0.6));
        let text = fonts::fit(&label.text, SMALL, false, room - GAP);
        canvas.text((x, y), &text, Text::new(SMALL).colour(colour));
    }
}

/// Moves rising heights apart until neighbours are `apart` from each other, as little as possible, and keeps them within
/// the limits where there is room. Groups that touch are centred on the mean of where they wanted to be.
pub fn spread(wanted: &[f64], apart: f64, (low, high): (f64, f64)) -> Vec<f64> {
    // Each group: (number of members, sum of their wanted tops), members packed `apart` from each other.
    let mut groups: Vec<(usize, f64)> = Vec::new();
    let start = |group: &(usize, f64)| {
        let length = (group.0 as f64 - 1.0) * apart;
        (group.1 / group.0 as f64).min(high - length).max(low)
    };
    for &height in wanted {
        groups.push((1, height));
        while let [.., before, last] = groups.as_slice() {
            if start(before) + before.0 as f64 * apart <= start(last) {
                break;
            }
            let members = before.0 as f64;
            let merged = (before.0 + last.0, before.1 + last.1 - members * apart * last.0 as f64);
            groups.truncate(groups.len() - 2);
            groups.push(merged);
        }
    }
    groups
        .iter()
        .flat_map(|group| (0..group.0).map(|member| start(group) + member as f64 * apart).collect::<Vec<_>>())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_have_room_stay() {
        assert_eq!(spread(&[10.0, 40.0], 12.0, (0.0, 100.0)), vec![10.0, 40.0]);
    }

    #[test]
    fn names_that_collide_part_evenly_and_stay_inside() {
        assert_eq!(spread(&[50.0, 50.0], 12.0, (0.0, 100.0)), vec![44.0, 56.0]);
        assert_eq!(spread(&[98.0, 99.0, 100.0], 12.0, (0.0, 100.0)), vec![76.0, 88.0, 100.0]);
        for heights in [vec![1.0, 2.0, 3.0, 60.0, 61.0, 99.0], vec![0.0; 8], vec![100.0; 8]] {
            let parted = spread(&heights, 12.0, (0.0, 100.0));
            assert!(parted.windows(2).all(|pair| pair[1] - pair[0] > 12.0 - 1e-9), "{parted:?}");
            assert!(parted[0] >= -1e-9 && parted[parted.len() - 1] <= 100.0 + 1e-9, "{parted:?}");
        }
    }
}
