/// A path of a contour in cell indices: (column, row).
pub type Path = Vec<(f64, f64)>;

/// The lines along which a grid of values passes a level, by marching squares with linear crossings; cells with a corner
/// that is not a number are left out. Saddles are joined by the mean of their corners.
pub fn contour(values: &[Vec<f64>], level: f64) -> Vec<Path> {
    let mut segments = Vec::new();
    for row in 1..values.len() {
        for column in 1..values[row].len().min(values[row - 1].len()) {
            let corners = [(column - 1, row - 1), (column, row - 1), (column, row), (column - 1, row)];
            segments.extend(cell_segments(corners, corners.map(|(c, r)| values[r][c]), level));
        }
    }
    join(segments)
}

fn cell_segments(corners: [(usize, usize); 4], values: [f64; 4], level: f64) -> Vec<[(f64, f64); 2]> {
    if values.iter().any(|value| !value.is_finite()) {
        return Vec::new();
    }
    let mut crossings = Vec::new();
    for side in 0..4 {
        let (one, other) = (side, (side + 1) % 4);
        if (values[one] >= level) != (values[other] >= level) {
            let share = (level - values[one]) / (values[other] - values[one]);
            let between = |from: usize, to: usize| from as f64 + share * (to as f64 - from as f64);
            crossings.push((between(corners[one].0, corners[other].0), between(corners[one].1, corners[other].1)));
        }
    }
    match crossings[..] {
        [from, to] => vec![[from, to]],
        [a, b, c, d] => {
            let high_in_the_middle = values.iter().sum::<f64>() / 4.0 >= level;
            if high_in_the_middle == (values[0] >= level) { vec![[a, b], [c, d]] } else { vec![[d, a], [b, c]] }
        }
        _ => Vec::new(),
    }
}

/// Joins segments that meet into paths.
fn join(mut segments: Vec<[(f64, f64); 2]>) -> Vec<Path> {
    let meet = |one: (f64, f64), other: (f64, f64)| (one.0 - other.0).abs() < 1e-9 && (one.1 - other.1).abs() < 1e-9;
    let mut paths = Vec::new();
    while let Some([from, to]) = segments.pop() {
        let mut path = vec![from, to];
        while let Some(next) =
            segments.iter().position(|s| meet(s[0], path[path.len() - 1]) || meet(s[1], path[path.len() - 1]))
        {
            let [one, other] = segments.swap_remove(next);
            path.push(if meet(one, path[path.len() - 1]) { other } else { one });
        }
        while let Some(next) = segments.iter().position(|s| meet(s[0], path[0]) || meet(s[1], path[0])) {
            let [one, other] = segments.swap_remove(next);
            path.insert(0, if meet(one, path[0]) { other } else { one });
        }
        paths.push(path);
    }
    paths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plane_gives_one_straight_line() {
        let plane: Vec<Vec<f64>> = (0..6).map(|row| (0..9).map(|column| (column + row) as f64).collect()).collect();
        let paths = contour(&plane, 5.5);
        assert_eq!(paths.len(), 1);
        assert!(paths[0].iter().all(|(column, row)| (column + row - 5.5).abs() < 1e-12));
        assert_eq!(paths[0].len(), 11);
    }

    #[test]
    fn a_hill_gives_a_closed_ring() {
        let height = |column: i32, row: i32| 10.0 - f64::from((column - 5).pow(2) + (row - 5).pow(2));
        let hill: Vec<Vec<f64>> = (0..11).map(|row| (0..11).map(|column| height(column, row)).collect()).collect();
        let paths = contour(&hill, 1.5);
        assert_eq!(paths.len(), 1);
        let (first, last) = (paths[0][0], paths[0][paths[0].len() - 1]);
        assert!((first.0 - last.0).abs() < 1e-9 && (first.1 - last.1).abs() < 1e-9);
    }

    #[test]
    fn holes_and_thin_grids_give_no_line() {
        assert!(contour(&[vec![0.0, 1.0]], 0.5).is_empty());
        assert!(contour(&[vec![f64::NAN, 1.0], vec![0.0, 0.0]], 0.5).is_empty());
        assert!(contour(&[], 0.5).is_empty());
    }
}
