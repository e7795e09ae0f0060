/// The candidate most like `word`, if any is like it at all: at most one letter in three differs.
pub fn nearest<'a>(word: &str, candidates: &[&'a str]) -> Option<&'a str> {
    let allowed = word.chars().count().div_ceil(3);
    let distances = candidates.iter().map(|candidate| (distance(word, candidate), *candidate));
    distances.filter(|(distance, _)| *distance <= allowed).min_by_key(|(distance, _)| *distance).map(|(_, near)| near)
}

/// Letters to insert, take out, replace or swap with their neighbour to make one word of the other (the restricted
/// Damerau-Levenshtein distance, by the usual table).
fn distance(one: &str, other: &str) -> usize {
    let one: Vec<char> = one.chars().collect();
    let other: Vec<char> = other.chars().collect();
    let mut table = vec![vec![0; other.len() + 1]; one.len() + 1];
    table[0] = (0..=other.len()).collect();
    for i in 1..=one.len() {
        table[i][0] = i;
        for j in 1..=other.len() {
            let replaced = table[i - 1][j - 1] + usize::from(one[i - 1] != other[j - 1]);
            let moved = (table[i - 1][j] + 1).min(table[i][j - 1] + 1);
            table[i][j] = replaced.min(moved);
            if i > 1 && j > 1 && one[i - 1] == other[j - 2] && one[i - 2] == other[j - 1] {
                table[i][j] = table[i][j].min(table[i - 2][j - 2] + 1);
            }
        }
    }
    table[one.len()][other.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_count_single_slips() {
        assert_eq!(distance("spacing", "spacing"), 0);
        assert_eq!(distance("spacing", "spacnig"), 1);
        assert_eq!(distance("spacing", "spaceing"), 1);
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
    }

    #[test]
    fn only_a_like_word_is_near() {
        assert_eq!(nearest("lenght_m", &["width_m", "length_m"]), Some("length_m"));
        assert_eq!(nearest("colour", &["width_m", "length_m"]), None);
    }
}
