use super::edge::BeltFrame;
use super::written::Written;
use crate::reef::Colonies;

/// How many of the colonies written in `state` of the second visit were there at the first, with their centre in the
/// belt of that visit, and were not written then because another colony lay above them (or, where the diver may miss
/// colonies, because it was missed): the death of one uncovers another. A diver who knows every colony of a marked belt
/// meets them as new.
///
/// An oracle of tests of the closed form (`theory::colonies::ColonyTheory::uncovered`): no study asks for it.
///
/// `listed` is the walk of the first visit in the coordinates of `frame`, `first` what was written of it. Sorts nothing;
/// cost is the product of the numbers of colonies of second visit and first.
pub fn unseen_before(
    (frame, listed): (&BeltFrame, &Colonies),
    first: &Written,
    second: &Written,
    state: usize,
) -> usize {
    let was_there = |id: u64| listed.iter().any(|colony| colony.id == id && frame.holds(colony.along, colony.across));
    let ids = second.in_state(state).map(|at| second.ids[at]);
    ids.filter(|id| !first.ids.contains(id) && was_there(*id)).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reef::colonies::{Mark, mark};
    use crate::reef::{Colony, Visit};
    use crate::survey::coral_belt::{BeltReader, CoralBelt};

    #[test]
    fn a_death_uncovers_a_colony_and_a_settler_is_no_such_thing() {
        let (low, high) = if mark(1, Mark::Rank) < mark(2, Mark::Rank) { (1, 2) } else { (2, 1) };
        let colony = |id, along, alive| Colony { along, across: 0.0, radius: 0.1, id, alive };
        let frame = BeltFrame { from_m: 0.0, length_m: 10.0, width_m: 1.0 };
        let before = Colonies::from_iter([colony(low, 5.0, 1), colony(high, 5.05, 1), colony(7, 8.0, 1)]);
        // In state 1 nothing died; in state 2 the one above did. Colony 9 settled.
        let after = [colony(low, 5.0, 0b110), colony(high, 5.05, 0b010), colony(7, 8.0, 0b110), colony(9, 2.0, 0b110)];
        let after = Colonies::from_iter(after);
        let (mut first, mut second) = (BeltReader::default(), BeltReader::default());
        first.read(&CoralBelt::default(), &frame, &before, Visit::First);
        second.read(&CoralBelt::default(), &frame, &after, Visit::Second);
        assert_eq!(first.written.len(), 2);
        let unseen = |state| unseen_before((&frame, &before), &first.written, &second.written, state);
        assert_eq!((unseen(1), unseen(2)), (0, 1));
    }
}
