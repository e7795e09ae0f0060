use super::{ColonyMap, MapItems, Mosaic, ReefMap};
use crate::random::{KEY_X, Key, Purpose, mix, uniform};
use crate::reef::strip::FrameLine;
use crate::reef::{Animal, Colonies, Colony, MOST_STATES, StripPlace, Visit};
use std::sync::Arc;

/// What a change takes from a map.
#[derive(Clone, Debug, PartialEq)]
pub enum Loss {
    /// Nothing that is mapped.
    None,
    /// Colonies, until this share of the cover is left.
    Coral { left: f64 },
    /// Colonies under a diameter, until this share of them is left.
    Small { below_m: f64, left: f64 },
    /// Animals of a name, until this share of them is left.
    Animals { name: String, left: f64 },
}

/// A mapped reef in every state of a study: the first visit, the second without a change, the second under each change.
///
/// The mapped things die one after the other, in an order that is drawn once from their places in the list: a larger loss
/// takes those that a smaller one takes, and the cover (or number) that is left is that of the change as nearly as whole
/// colonies allow. What is true of each state is therefore known exactly.
#[derive(Clone, Debug, PartialEq)]
pub struct MappedReef {
    /// Of the first visit; a list holds the later map's colonies and animals too, which are not alive then.
    pub map: Arc<ReefMap>,
    /// The mosaic of the second visit under a change, where there is one.
    later: Option<Arc<ReefMap>>,
    states: usize,
    /// For each colony, bit s: alive in state s.
    alive: Vec<u16>,
    /// The same for each kind of animals.
    animals: Vec<Vec<u16>>,
    /// True cover of hard coral in each state.
    covers: Vec<f64>,
}

/// A mapped reef in one trial: its colonies have names of the trial, so that what a diver misses is drawn anew.
pub struct MappedSite<'a> {
    pub reef: &'a MappedReef,
    key: Key,
}

const COLONIES: u64 = 0x6D61_7070_6564_0001;
const ANIMALS: u64 = 0x6D61_7070_6564_0002;

/// The fixed name of the how-manieth thing of a list.
fn name(list: u64, index: usize) -> u64 {
    mix(list.wrapping_add((index as u64).wrapping_mul(KEY_X)))
}

impl MappedReef {
    /// `losses`: one for each change; `None` where only one visit is made.
    pub fn new(map: Arc<ReefMap>, losses: Option<&[Loss]>) -> Self {
        let losses: Vec<Loss> = match losses {
            None => vec![Loss::None],
            Some(losses) => [Loss::None, Loss::None].into_iter().chain(losses.iter().cloned()).collect(),
        };
        let states = losses.len();
        assert!(states <= MOST_STATES);
        let whole = map.coral_cover();
        let ReefMap::Colonies(colonies) = &*map else {
            return Self {
                later: None,
                map,
                states,
                alive: Vec::new(),
                animals: Vec::new(),
                covers: vec![whole; states],
            };
        };
        let mut alive = vec![0u16; colonies.discs.len()];
        let mut animals: Vec<Vec<u16>> = colonies.animals.iter().map(|kind| vec![0; kind.places.len()]).collect();
        let mut covers = Vec::with_capacity(states);
        let order = order_of_death(COLONIES, alive.len());
        for (s, loss) in losses.iter().enumerate() {
            order.iter().for_each(|&index| alive[index] |= 1 << s);
            let cover = match loss {
                Loss::Coral { left } => {
                    let (dead, cover) = deaths_to(colonies, &order, left * whole);
                    order[..dead].iter().for_each(|&index| alive[index] &= !(1 << s));
                    cover
                }
                Loss::Small { below_m, left } => {
                    let is_small = |index: &usize| 2.0 * colonies.discs[*index].radius < *below_m;
                    let small: Vec<usize> = order.iter().copied().filter(is_small).collect();
                    let dead = dead_of(small.len(), *left);
                    small[..dead].iter().for_each(|&index| alive[index] &= !(1 << s));
                    colonies.cover(|index| alive[index] >> s & 1 == 1)
                }
                Loss::None | Loss::Animals { .. } => whole,
            };
            covers.push(cover);
            for (list, (kind, bits)) in colonies.animals.iter().zip(&mut animals).enumerate() {
                let order = order_of_death(ANIMALS.wrapping_add(list as u64), bits.len());
                let dead = match loss {
                    Loss::Animals { name, left } if *name == kind.name => dead_of(bits.len(), *left),
                    _ => 0,
                };
                order[dead..].iter().for_each(|&index| bits[index] |= 1 << s);
            }
        }
        Self { states, alive, animals, covers, map, later: None }
    }

    /// A reef that was mapped twice: the later map is what the second visit finds under each of so many changes; without a
    /// change it finds the first map again.
    ///
    /// # Panics
    /// Where one is a mosaic and the other a list.
    pub fn mapped_twice(map: Arc<ReefMap>, later: Arc<ReefMap>, changes: usize) -> Self {
        let states = 2 + changes;
        assert!(states <= MOST_STATES);
        let covers = (0..states).map(|s| if s < 2 { map.coral_cover() } else { later.coral_cover() }).collect();
        let (first, second) = match (&*map, &*later) {
            (ReefMap::Colonies(first), ReefMap::Colonies(second)) => (first, second),
            (ReefMap::Mosaic(_), ReefMap::Mosaic(_)) => {
                return Self { map, later: Some(later), states, alive: Vec::new(), animals: Vec::new(), covers };
            }
            _ => panic!("a mosaic is followed by a mosaic, a list by a list"),
        };
        let after = (!0u16 >> (MOST_STATES - states)) & !0b11;
        let bits = |known: usize, all: usize| (0..all).map(|i| if i < known { 0b11 } else { after }).collect();
        let both = first.followed_by(second);
        let known = |kind: &MapItems| {
            first.animals.iter().find(|other| other.name == kind.name).map_or(0, |other| other.places.len())
        };
        Self {
            alive: bits(first.discs.len(), both.discs.len()),
            animals: both.animals.iter().map(|kind| bits(known(kind), kind.places.len())).collect(),
            map: Arc::new(ReefMap::Colonies(both)),
            later: None,
            states,
            covers,
        }
    }

    pub fn states(&self) -> usize {
        self.states
    }

    pub fn colonies(&self) -> Option<&ColonyMap> {
        self.map.colonies()
    }

    /// The pixels of a state.
    pub fn mosaic(&self, state: usize) -> Option<&Mosaic> {
        let map = if state < 2 { &self.map } else { self.later.as_ref().unwrap_or(&self.map) };
        match &**map {
            ReefMap::Mosaic(mosaic) => Some(mosaic),
            ReefMap::Colonies(_) => None,
        }
    }

    /// Whether a colony lives in a state.
    pub fn is_alive(&self, colony: usize, state: usize) -> bool {
        self.alive[colony] >> state & 1 == 1
    }

    /// True cover of hard coral.
    pub fn cover(&self, state: usize) -> f64 {
        self.covers[state]
    }

    /// Animals of a name that are there; 0 of a name that is not on the map.
    pub fn number_of(&self, name: &str, state: usize) -> usize {
        let kinds = self.colonies().map_or(&[][..], |map| &map.animals).iter().zip(&self.animals);
        kinds
            .filter(|(kind, _)| kind.name == name)
            .map(|(_, bits)| bits.iter().filter(|bits| **bits >> state & 1 == 1).count())
            .sum()
    }

    /// In which states a place lies under a colony: bit s for state s.
    #[inline]
    pub fn covered(&self, x: f64, y: f64) -> u16 {
        let Some(map) = self.colonies() else { return 0 };
        let all = !0u16 >> (MOST_STATES - self.states);
        let mut covered = 0;
        map.grid.around((x, y), map.largest_radius_m(), |index| {
            let disc = &map.discs[index];
            let (dx, dy) = (disc.x - x, disc.y - y);
            if dx * dx + dy * dy < disc.radius * disc.radius {
                covered |= self.alive[index];
            }
            covered == all
        });
        covered
    }

    /// Keeps the first visit, the second without change, and one of the states with a change.
    pub fn keep_state(&mut self, state: usize) {
        if self.states <= state {
            return;
        }
        let kept = |bits: u16| bits & 0b11 | (bits >> state & 1) << 2;
        self.alive.iter_mut().chain(self.animals.iter_mut().flatten()).for_each(|bits| *bits = kept(*bits));
        self.covers = vec![self.covers[0], self.covers[1], self.covers[state]];
        self.states = 3;
    }

    /// The reef in a trial.
    pub fn site(&self, key: Key) -> MappedSite<'_> {
        MappedSite { reef: self, key: key.child(Purpose::Mark, 0) }
    }
}

/// The things of a list in the order in which they die.
fn order_of_death(list: u64, number: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..number).collect();
    order.sort_by_key(|&index| mix(name(list, index)));
    order
}

/// How many of a number die where a share of them is left.
fn dead_of(number: usize, left: f64) -> usize {
    (((1.0 - left) * number as f64).round() as usize).min(number)
}

/// How many colonies die, in their order, for the cover to be as near as it can be to one wanted; and the cover that is left.
fn deaths_to(map: &ColonyMap, order: &[usize], wanted: f64) -> (usize, f64) {
    let mut rank = vec![0; order.len()];
    order.iter().enumerate().for_each(|(place, &index)| rank[index] = place);
    let left = |dead: usize| map.cover(|index| rank[index] >= dead);
    // The cover falls with every death: the last number that leaves at least what is wanted, and the next.
    let (mut low, mut high) = (0, order.len());
    while low < high {
        let middle = (low + high).div_ceil(2);
        if left(middle) >= wanted { low = middle } else { high = middle - 1 }
    }
    let candidates = [low, (low + 1).min(order.len())].map(|dead| (dead, left(dead)));
    let [one, next] = candidates;
    if (one.1 - wanted).abs() <= (next.1 - wanted).abs() { one } else { next }
}

/// Bits of the states that a visit sees.
fn seen_at(visit: Visit) -> u16 {
    match visit {
        Visit::First => 1,
        Visit::Second => !1,
    }
}

impl MappedSite<'_> {
    /// Lists the colonies whose disc comes within `side` metres of a line (m, unit vector) and that live in a state of the
    /// visit.
    pub fn list(
        &self,
        (start, direction): ((f64, f64), (f64, f64)),
        length: f64,
        side: f32,
        visit: Visit,
        colonies: &mut Colonies,
    ) {
        colonies.clear();
        let Some(map) = self.reef.colonies() else { return };
        let line = frame_line(start, direction, length);
        let seen = seen_at(visit);
        map.grid.near(&line, side + map.largest_radius_m() as f32, |index| {
            let disc = &map.discs[index];
            let (dx, dy) = (disc.x - start.0, disc.y - start.1);
            let along = (dx * direction.0 + dy * direction.1) as f32;
            let across = (dy * direction.0 - dx * direction.1) as f32;
            let (radius, alive) = (disc.radius as f32, self.reef.alive[index] & seen);
            let reach = radius + side;
            if alive != 0 && across.abs() < reach && -reach < along && along < length as f32 + reach {
                let id = mix(name(COLONIES, index) ^ self.key.0);
                colonies.push(Colony { along, across, radius, id, alive });
            }
        });
    }

    /// Lists the animals of a name in a strip that are there in a state of the visit.
    pub fn animals(&self, wanted: &str, strip: &StripPlace, visit: Visit, found: &mut Vec<Animal>) {
        found.clear();
        let Some(map) = self.reef.colonies() else { return };
        let Some(list) = map.animals.iter().position(|kind| kind.name == wanted) else { return };
        let (kind, bits) = (&map.animals[list], &self.reef.animals[list]);
        let line = frame_line(strip.start, strip.direction, strip.length_m);
        let (half, seen) = (0.5 * strip.width_m, seen_at(visit));
        kind.grid.near(&line, half as f32, |index| {
            let (dx, dy) = (kind.places[index].0 - strip.start.0, kind.places[index].1 - strip.start.1);
            let along = dx * strip.direction.0 + dy * strip.direction.1;
            let across = dy * strip.direction.0 - dx * strip.direction.1;
            let alive = bits[index] & seen;
            if alive != 0 && (0.0..strip.length_m).contains(&along) && (-half..half).contains(&across) {
                let id = name(ANIMALS.wrapping_add(list as u64), index);
                found.push(Animal { along, across, size: uniform(mix(id)), seen: true, alive, id });
            }
        });
    }
}

fn frame_line(start: (f64, f64), direction: (f64, f64), length: f64) -> FrameLine {
    FrameLine {
        x: start.0 as f32,
        y: start.1 as f32,
        ux: direction.0 as f32,
        uy: direction.1 as f32,
        length: length as f32,
    }
}

#[cfg(test)]
mod tests {
    use super::super::MappedDisc;
    use super::*;

    fn scattered(number: usize) -> Arc<ReefMap> {
        let key = Key::seed(9);
        let u = |i: usize, k: u64| key.uniform(Purpose::Test, 4 * i as u64 + k);
        let disc = |i| MappedDisc { x: 40.0 * u(i, 0), y: 15.0 * u(i, 1), radius: 0.02 + 0.4 * u(i, 2) * u(i, 3) };
        let animals = (0..300).map(|i| (40.0 * u(i, 3), 15.0 * u(i, 2))).collect();
        let discs = (0..number).map(disc).collect();
        Arc::new(ReefMap::Colonies(ColonyMap::new((40.0, 15.0), discs, vec![("urchin".into(), animals)])))
    }

    /// Against a look at every colony, lines in every direction.
    #[test]
    fn a_line_lists_every_colony_near_it() {
        let map = scattered(2000);
        let reef = MappedReef::new(map.clone(), None);
        let ReefMap::Colonies(colonies) = &*map else { unreachable!() };
        let site = reef.site(Key::seed(1));
        let (mut listed, mut animals) = (Colonies::default(), Vec::new());
        for trial in 0..60 {
            let u = |k| Key::seed(2).child(Purpose::Trial, trial).uniform(Purpose::Test, k);
            let turn = [0.0, 0.25, u(0), u(0)][trial as usize % 4] * std::f64::consts::TAU;
            let (direction, start) = ((turn.cos(), turn.sin()), (5.0 + 30.0 * u(1), 3.0 + 9.0 * u(2)));
            for side in [0.0, 0.5] {
                site.list((start, direction), 8.0, side, Visit::First, &mut listed);
                let near = colonies.discs.iter().filter(|disc| {
                    let (dx, dy) = (disc.x - start.0, disc.y - start.1);
                    let (along, across) = (dx * direction.0 + dy * direction.1, dy * direction.0 - dx * direction.1);
                    let reach = disc.radius + f64::from(side);
                    across.abs() < reach && -reach < along && along < 8.0 + reach
                });
                assert_eq!(listed.len(), near.count(), "{trial}");
                assert!(listed.len() > 2 || side == 0.0);
            }
            let strip = StripPlace { start, direction, length_m: 8.0, width_m: 2.0 };
            site.animals("urchin", &strip, Visit::First, &mut animals);
            let inside = colonies.animals[0].places.iter().filter(|(x, y)| {
                let (dx, dy) = (x - start.0, y - start.1);
                let (along, across) = (dx * direction.0 + dy * direction.1, dy * direction.0 - dx * direction.1);
                (0.0..8.0).contains(&along) && (-1.0..1.0).contains(&across)
            });
            assert_eq!(animals.len(), inside.count());
            let (x, y) = (start.0, start.1);
            let slow = colonies.discs.iter().any(|d| (d.x - x).powi(2) + (d.y - y).powi(2) < d.radius * d.radius);
            assert_eq!(reef.covered(x, y) == 1, slow);
        }
    }

    #[test]
    fn a_reef_that_was_mapped_twice_is_the_later_map_under_a_change() {
        let disc = |x, radius| MappedDisc { x, y: 2.0, radius };
        let list = |discs: Vec<MappedDisc>, urchins: usize| {
            let animals = vec![("urchin".to_owned(), vec![(1.0, 1.0); urchins])];
            Arc::new(ReefMap::Colonies(ColonyMap::new((10.0, 4.0), discs, animals)))
        };
        let reef =
            MappedReef::mapped_twice(list(vec![disc(2.0, 0.5), disc(5.0, 0.5)], 3), list(vec![disc(2.0, 0.8)], 5), 2);
        assert_eq!([0, 1, 2, 3].map(|state| reef.number_of("urchin", state)), [3, 3, 5, 5]);
        let states = [(2.6, 0b1100), (2.0, 0b1111), (5.0, 0b0011), (8.0, 0)];
        assert!(states.iter().all(|&(x, states)| reef.covered(x, 2.0) == states));
        assert!((reef.cover(2) / reef.cover(0) - 0.64 / 0.5).abs() < 1e-3);
        let (mut first, mut second) = (Colonies::default(), Colonies::default());
        let site = reef.site(Key::seed(1));
        site.list(((0.0, 2.0), (1.0, 0.0)), 10.0, 0.1, Visit::First, &mut first);
        site.list(((0.0, 2.0), (1.0, 0.0)), 10.0, 0.1, Visit::Second, &mut second);
        assert_eq!((first.alive, second.len()), (vec![1, 1], 3));
        let sand = || vec!["sand".to_owned()];
        let mosaic = |pixels: Vec<u8>| Arc::new(ReefMap::Mosaic(Mosaic::new(2, 1.0, sand(), pixels)));
        let reef = MappedReef::mapped_twice(mosaic(vec![0, 0]), mosaic(vec![1, 0]), 1);
        assert_eq!([0, 1, 2].map(|state| reef.mosaic(state).unwrap().kind_at(0.5, 0.5)), [0, 0, 1]);
        assert_eq!((reef.cover(1), reef.cover(2)), (1.0, 0.5));
    }

    #[test]
    fn a_loss_leaves_the_cover_that_was_asked_and_the_larger_takes_what_the_smaller_takes() {
        let losses = [
            Loss::Coral { left: 0.8 },
            Loss::Coral { left: 0.4 },
            Loss::Animals { name: "urchin".into(), left: 0.5 },
            Loss::Small { below_m: 0.1, left: 0.3 },
        ];
        let mut reef = MappedReef::new(scattered(2000), Some(&losses));
        assert_eq!(reef.states(), 6);
        let alive = |is_small: bool, state: usize| {
            let discs = reef.colonies().unwrap().discs.iter().enumerate();
            let of_size = discs.filter(|(_, disc)| (2.0 * disc.radius < 0.1) == is_small);
            of_size.filter(|(index, _)| reef.is_alive(*index, state)).count()
        };
        assert_eq!(alive(false, 5), alive(false, 1));
        assert_eq!(alive(true, 5), (0.3 * alive(true, 1) as f64).round() as usize);
        assert!(alive(true, 1) > 100 && reef.cover(5) < reef.cover(1));
        for (state, left) in [(1, 1.0), (2, 0.8), (3, 0.4), (4, 1.0)] {
            let share = reef.cover(state) / reef.cover(0);
            assert!((share - left).abs() < 2e-3, "{state}: {share}");
        }
        assert!(reef.alive.iter().all(|bits| bits & 0b01000 == 0 || bits & 0b00100 != 0));
        assert_eq!([0, 2, 4].map(|state| reef.number_of("urchin", state)), [300, 300, 150]);
        let (cover, alive) = (reef.cover(3), (0..2000).filter(|&i| reef.is_alive(i, 3)).count());
        reef.keep_state(3);
        assert_eq!((reef.states(), reef.cover(2)), (3, cover));
        assert_eq!((0..2000).filter(|&i| reef.is_alive(i, 2)).count(), alive);
    }
}
