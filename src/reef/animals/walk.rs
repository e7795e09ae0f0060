use super::groups::{Group, GroupList, states_of};
use super::members::{Members, most_beyond};
use super::site::AnimalSite;
use super::target::Target;
use crate::random::{mix, uniform};
use crate::reef::{Visit, fast};

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

/// Scratch memory of a reading and its result; one per thread, reused.
#[derive(Default)]
pub struct AnimalWalk {
    groups: GroupList,
    members: Members,
    pub animals: Vec<Animal>,
}

/// Tags of the words hashed from a name, so that no two of them share bits.
pub(super) const MARKS: u64 = 0xCBBB_9D5D_C105_9ED8;
const SEEN: [u64; 2] = [0x9159_015A_3070_DD17, 0x152F_ECD8_F70E_5939];

impl AnimalWalk {
    /// Fills `animals` with all that lie in the strip and are there in at least one state of the visit, hidden ones
    /// included. The cost goes with the strip and the reach of a group, not with the site.
    pub fn read(&mut self, site: &AnimalSite, strip: &StripPlace, visit: Visit) {
        self.animals.clear();
        let target = Target::new(&site.frame, strip);
        let (mut list, mut members) = (std::mem::take(&mut self.groups), std::mem::take(&mut self.members));
        list.read(site, &target, visit);
        let there = |group: &Group| list.there(group, states_of(visit, site.reef.law.states.len()));
        if let Some(groups) = &site.reef.law.spec.groups {
            members.clear();
            for (number, group) in list.near.iter().enumerate() {
                // Who stays nearer to the centre than the strip lies is not looked at.
                let most = most_beyond(target.squared_gap(group.centre), groups.spread_m);
                members.add((number, group.id), group.centre, groups, most);
            }
            members.place(groups, &target);
            for (at, (along, across)) in members.along.iter().zip(&members.across).enumerate() {
                let place = (f64::from(*along), f64::from(*across));
                if target.holds(place) {
                    let group = &list.near[members.groups[at] as usize];
                    self.animal(site, members.names[at], place, (there(group), visit));
                }
            }
        } else {
            for group in list.near.iter().filter(|group| target.holds(group.centre)) {
                self.animal(site, group.id, group.centre, (there(group), visit));
            }
        }
        (self.groups, self.members) = (list, members);
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
