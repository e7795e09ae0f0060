use super::sentences::Said;

/// The sentences that there is room for, in their order, after some words that stand first: those that matter more are
/// taken first, one that has no room is left out, and later ones may still find theirs. Never more than so many
/// characters.
pub fn fit(said: &[Said], first: &str, most: usize, may: impl Fn(&Said) -> bool) -> String {
    // The line ends with a line feed.
    let most = most - 1;
    let mut by_rank: Vec<usize> = (0..said.len()).filter(|&index| may(&said[index])).collect();
    by_rank.sort_by_key(|&index| said[index].rank);
    let mut taken = Vec::new();
    let mut length = first.chars().count();
    for index in by_rank {
        let gap = usize::from(length > 0);
        let own = said[index].text.chars().count() + gap;
        if length + own <= most {
            length += own;
            taken.push(index);
        }
    }
    taken.sort_unstable();
    let all = [first].into_iter().filter(|first| !first.is_empty());
    all.chain(taken.iter().map(|&index| said[index].text.as_str())).collect::<Vec<_>>().join(" ")
}
