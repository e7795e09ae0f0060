/// What has the same key stands together, in the order in which the keys first come.
pub fn gathered<K: PartialEq, V>(all: impl IntoIterator<Item = (K, V)>) -> Vec<(K, Vec<V>)> {
    let mut groups: Vec<(K, Vec<V>)> = Vec::new();
    for (key, value) in all {
        match groups.iter_mut().find(|(known, _)| *known == key) {
            Some((_, values)) => values.push(value),
            None => groups.push((key, vec![value])),
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_stay_in_their_order() {
        let groups = gathered([("b", 1), ("a", 2), ("b", 3)]);
        assert_eq!(groups, [("b", vec![1, 3]), ("a", vec![2])]);
        assert_eq!(gathered::<&str, usize>([]), []);
    }
}
