use super::site::AnimalSite;
use super::spec::BEYOND_REACH;
use crate::random::{KEY_X, KEY_Y, lattice_key, mix, uniform};
use crate::reef::fast;
use crate::reef::strip::{FrameLine, Strip};
use crate::reef::{MOST_STATES, Visit};
use std::f64::consts::TAU;

/// A strip of bottom: the rectangle about a tape, metres on the site.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripPlace {
    /// Start of the tape, in the middle of the strip's first short side.
    pub start: (f64, f64),
    /// Direction, a unit vector.
    pub direction: (f64, f64),
    pub length_m: f64,
    pub width_m: f64,
}

/// An animal in a strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Animal {
    /// Place along the tape from its start, in [0, length), and across it, in [-width / 2, width / 2), m.
    pub along: f64,
    pub across: f64,
    /// Rank of its size among all, in (0, 1): see [`crate::reef::Sizes`]. The same at both visits.
    pub size: f64,
    /// Whether a diver sees it at this visit.
    pub seen: bool,
    /// Bit s: there in state s. At the first visit only bit 0 can be set, at the second only the others.
    pub alive: u16,
    /// Names the animal: the same at both visits where it stays.
    pub id: u64,
}

/// Result of a reading; one per thread, reused.
#[derive(Default)]
pub struct AnimalWalk {
    pub animals: Vec<Animal>,
}

/// A group (or a lone animal): what its cell's hash gives.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group {
    pub id: u64,
    /// It is there in every state whose mean number of groups in the cell is above this.
    pub rank: f64,
    /// Place of the centre within the cell, as a share of its side.
    pub x: f64,
    pub y: f64,
}

/// Tags of the words hashed from a name, so that no two of them share bits.
const NEW: u64 = 0x9B05_688C_2B3E_6C1F;
const PLACE: u64 = 0x1F83_D9AB_FB41_BD6B;
pub(super) const NUMBER: u64 = 0x5BE0_CD19_137E_2179;
pub(super) const MARKS: u64 = 0xCBBB_9D5D_C105_9ED8;
const STAYS: u64 = 0x629A_292A_367C_D507;
const SEEN: [u64; 2] = [0x9159_015A_3070_DD17, 0x152F_ECD8_F70E_5939];

/// The strip in the turned frame.
struct Target {
    x: f64,
    y: f64,
    ux: f64,
    uy: f64,
    length: f64,
    half_width: f64,
}

impl Target {
    fn along_across(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let (dx, dy) = (x - self.x, y - self.y);
        (dx * self.ux + dy * self.uy, dy * self.ux - dx * self.uy)
    }

    fn holds(&self, (along, across): (f64, f64)) -> bool {
        0.0 <= along && along < self.length && -self.half_width <= across && across < self.half_width
    }

    /// How far a place lies from the strip, 0 in it.
    fn gap(&self, (along, across): (f64, f64)) -> f64 {
        let beyond = (-along).max(along - self.length).max(0.0);
        let beside = (across.abs() - self.half_width).max(0.0);
        libm::sqrt(beyond * beyond + beside * beside)
    }

    fn within(&self, (along, across): (f64, f64), reach: f64) -> bool {
        -reach <= along && along <= self.length + reach && across.abs() <= self.half_width + reach
    }
}

impl AnimalWalk {
    /// Fills `animals` with all that lie in the strip and are there in at least one state of the visit, hidden ones
    /// included. The cost goes with the strip and the reach of a group, not with the site.
    pub fn read(&mut self, site: &mut AnimalSite, strip: &StripPlace, visit: Visit) {
        self.animals.clear();
        let target = target(site, strip);
        let reach = site.reef.law.spec.reach_m();
        let line = FrameLine {
            x: target.x as f32,
            y: target.y as f32,
            ux: target.ux as f32,
            uy: target.uy as f32,
            length: target.length as f32,
        };
        let cells = Strip::new(&line);
        // A millimetre for the single precision of the cells' bounds.
        let columns = cells.columns(site.reef.cell as f32, (target.half_width + reach) as f32 + 1e-3);
        for column in columns.first..=columns.last {
            let first_row = cells.first_row(&columns, column);
            for row in first_row..first_row + columns.rows as i32 {
                let (i, j) = if cells.swapped { (row, column) } else { (column, row) };
                self.cell(site, &target, (i, j), visit);
            }
        }
    }

    fn cell(&mut self, site: &mut AnimalSite, target: &Target, (i, j): (i32, i32), visit: Visit) {
        let patch = site.patch_densities(i, j)[usize::from(visit == Visit::Second)];
        let reef = site.reef;
        let seen = states_of(visit, reef.law.states.len());
        let mut means = [0.0; MOST_STATES];
        for s in seen.clone() {
            means[s] = patch * site.groups_per_cell(s);
        }
        let most = means[seen.clone()].iter().fold(0.0, |most: f64, &mean| most.max(mean));
        let hash = mix(lattice_key(site.key, i, j));
        let reach = reef.law.spec.reach_m();
        for_each_group(hash, most, reef.law.spec.stays, visit, |group| {
            let centre = ((f64::from(i) + group.x) * reef.cell, (f64::from(j) + group.y) * reef.cell);
            if target.within(target.along_across(centre), reach) {
                let there = seen.clone().filter(|&s| group.rank < means[s]).fold(0, |bits, s| bits | 1 << s);
                self.group(site, target, group.id, centre, (there, visit));
            }
        });
    }

    fn group(&mut self, site: &AnimalSite, target: &Target, id: u64, centre: (f64, f64), (there, visit): (u16, Visit)) {
        let Some(groups) = site.reef.law.spec.groups else {
            let place = target.along_across(centre);
            if target.holds(place) {
                self.animal(site, id, place, (there, visit));
            }
            return;
        };
        let number = site.reef.group_size(uniform(mix(id ^ NUMBER)));
        let most = share_beyond_at(target.gap(target.along_across(centre)), groups.spread_m);
        for n in 1..=number as u64 {
            let name = mix(id.wrapping_add(n.wrapping_mul(KEY_X)));
            // Who stays nearer to the centre than the strip lies needs no place: most of them, where it passes by.
            if share_beyond(name) > most {
                continue;
            }
            let (dx, dy) = scattered(name, groups.spread_m);
            let place = target.along_across((centre.0 + dx, centre.1 + dy));
            if target.holds(place) {
                self.animal(site, name, place, (there, visit));
            }
        }
    }

    fn animal(&mut self, site: &AnimalSite, id: u64, place: (f64, f64), (there, visit): (u16, Visit)) {
        let law = &site.reef.law;
        let marks = mix(id ^ MARKS);
        let survives = |s: usize| fast::third(marks, 0) < law.states[s].survival() as f32;
        let alive =
            (0..law.states.len()).filter(|&s| there >> s & 1 == 1 && survives(s)).fold(0, |bits, s| bits | 1 << s);
        if alive != 0 {
            let out = mix(id ^ SEEN[usize::from(visit == Visit::Second)]);
            self.animals.push(Animal {
                along: place.0,
                across: place.1,
                size: f64::from(fast::third(marks, 1)),
                seen: uniform(out) >= law.spec.hidden,
                alive,
                id,
            });
        }
    }
}

fn target(site: &AnimalSite, strip: &StripPlace) -> Target {
    let (x, y) = site.frame.from_site(strip.start.0, strip.start.1);
    let (ux, uy) = site.frame.step(strip.direction.0, strip.direction.1);
    Target { x, y, ux, uy, length: strip.length_m, half_width: 0.5 * strip.width_m }
}

pub(super) fn states_of(visit: Visit, states: usize) -> std::ops::Range<usize> {
    if visit == Visit::First { 0..1 } else { 1..states }
}

/// The groups of a cell that are there in a state with a mean number of `most`, by rising rank. At the second visit those
/// of the first that stayed, then new ones.
pub(super) fn for_each_group(hash: u64, most: f64, stays: f64, visit: Visit, mut with: impl FnMut(Group)) {
    if visit == Visit::First {
        arrivals(hash, most, with);
        return;
    }
    if stays > 0.0 {
        arrivals(hash, most, |group| {
            if uniform(mix(group.id ^ STAYS)) < stays {
                with(group);
            }
        });
    }
    let renewed = 1.0 - stays;
    if renewed > 0.0 {
        arrivals(hash ^ NEW, renewed * most, |group| with(Group { rank: group.rank / renewed, ..group }));
    }
}

/// The arrivals of a Poisson process before `most`: with U1, U2 ... the cell's uniforms, the n-th comes at
/// `-ln(U1 U2 ... Un)`. A state with a smaller mean keeps the first of them, and what a larger one has more is independent
/// of those.
fn arrivals(hash: u64, most: f64, mut with: impl FnMut(Group)) {
    let mut rank = 0.0;
    for n in 1u64.. {
        let word = mix(hash.wrapping_add(n.wrapping_mul(KEY_Y)));
        let uniform = uniform(word);
        // -ln(u) is at least 1 - u: most empty cells need no logarithm.
        if !(rank + (1.0 - uniform) < most) {
            return;
        }
        rank -= libm::log(uniform);
        if !(rank < most) {
            return;
        }
        let id = mix(word ^ PLACE);
        let (x, y) = halves(id);
        with(Group { id, rank, x, y });
    }
}

/// Two uniforms in (0, 1), of 32 bits each, of a hash.
fn halves(hash: u64) -> (f64, f64) {
    let unit = |bits: u32| (f64::from(bits) + 0.5) * (1.0 / 4_294_967_296.0);
    (unit((hash >> 32) as u32), unit(hash as u32))
}

/// The share of all animals that lie further from the centre of their group than this one.
fn share_beyond(name: u64) -> f64 {
    let (radius, _) = halves(mix(name ^ PLACE));
    1.0 - radius * (1.0 - BEYOND_REACH)
}

/// What `share_beyond` is at most for an animal at this distance (m) from the centre or further, a hair more for rounding.
fn share_beyond_at(distance: f64, spread: f64) -> f64 {
    let ratio = distance / spread;
    libm::exp(-0.5 * ratio * ratio) * (1.0 + 1e-9)
}

/// Where an animal lies about the centre of its group, in the frame, metres.
pub(super) fn scattered(name: u64, spread: f64) -> (f64, f64) {
    let (_, turn) = halves(mix(name ^ PLACE));
    let distance = spread * libm::sqrt(-2.0 * libm::log(share_beyond(name)));
    let (sin, cos) = libm::sincos(TAU * turn);
    (distance * cos, distance * sin)
}
