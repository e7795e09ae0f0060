/// Two numbers with as many decimals as tell them apart: (33.2, 33.0) -> "33.2", "33.0".
pub fn told_apart(one: f64, other: f64) -> [String; 2] {
    let told = |digits: usize| [one, other].map(|number| format!("{number:.digits$}"));
    (0..3).map(told).find(|[one, other]| one != other).unwrap_or_else(|| told(3))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 33.2 minutes do not fit into 33, and both are not told as 33.
    #[test]
    fn numbers_that_differ_are_told_as_such() {
        assert_eq!(told_apart(33.2, 33.0), ["33.2", "33.0"]);
        assert_eq!(told_apart(35.1, 33.0), ["35", "33"]);
        assert_eq!(told_apart(5.0, 5.0), ["5.000", "5.000"]);
    }
}
