use super::sentences::Said;

/// The sentences that there is room for, in their order, after some words that stand first. Never more than so many characters.
pub fn fit(said: &[Said], first: &str, most: usize, may: impl Fn(&Said) -> bool) -> String {
    // The line ends with a line feed.
    let taken = that_fit(said, first.chars().count(), most - 1, may);
    let all = [first].into_iter().filter(|first| !first.is_empty());
    all.chain(taken.iter().map(|&index| said[index].text.as_str())).collect::<Vec<_>>().join(" ")
}

/// Places of the sentences that there is room for after so many characters: those that matter more are taken first, one that has
/// no room is left out, and later ones may still find theirs.
pub fn that_fit(said: &[Said], mut length: usize, most: usize, may: impl Fn(&Said) -> bool) -> Vec<usize> {
    let mut by_rank: Vec<usize> = (0..said.len()).filter(|&index| may(&said[index])).collect();
    by_rank.sort_by_key(|&index| said[index].rank);
    let mut taken = Vec::new();
    for index in by_rank {
        let gap = usize::from(length > 0);
        let own = said[index].text.chars().count() + gap;
        if length + own <= most {
            length += own;
            taken.push(index);
        }
    }
    taken.sort_unstable();
    taken
}
