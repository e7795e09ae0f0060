//! From which day for diving on the sites of a design can be reached. The search knows no windows, but days that are left free for
//! sites that open late are paid for, and that it counts.

use super::draw::Draw;
use crate::design::Expedition;

/// By zone and number of sites: the first days on which the first so many sites of the draw can be reached.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Opens {
    first_days: Vec<Vec<usize>>,
    /// The same, the latest of them up to each number of sites.
    latest: Vec<Vec<usize>>,
}

impl Opens {
    /// Of the sites that are drawn with a seed; without a list every site can be reached on any day.
    pub fn new(expedition: &Expedition, seed: u64) -> Self {
        let Some(list) = &expedition.sites else { return Self::default() };
        let zones = expedition.zones.len();
        let draw = Draw::new(list, zones, seed);
        let of_zone = |zone: usize| {
            let usable = draw.sites(zone).filter(|site| site.can_be_used());
            usable.map(|site| site.window().0).collect()
        };
        Self::of_sites((0..zones).map(of_zone).collect(), expedition.days.for_diving())
    }

    /// By zone: the first days of sites in the order in which they are visited, of so many days for diving.
    pub fn of_sites(first_days: Vec<Vec<usize>>, last_day: usize) -> Self {
        Self { first_days, latest: Vec::new() }.until(last_day)
    }

    /// The same where no day is later than this one: for sites that open after it nobody is said to wait.
    pub fn until(self, last_day: usize) -> Self {
        let of_zone = |days: &Vec<usize>| {
            let waited_for = days.iter().map(|&day| if day <= last_day { day } else { 0 });
            let latest = waited_for.scan(0, |latest: &mut usize, day| {
                *latest = day.max(*latest);
                Some(*latest)
            });
            std::iter::once(0).chain(latest).collect()
        };
        Self { latest: self.first_days.iter().map(of_zone).collect(), ..self }
    }

    /// The day for diving before which not all of so many sites of each zone can be reached; 0: there is none.
    pub fn day(&self, sites: &[u16]) -> usize {
        let of_zone = |(latest, &number): (&Vec<usize>, &u16)| {
            latest.get(usize::from(number)).or(latest.last()).copied().unwrap_or(0)
        };
        self.latest.iter().zip(sites).map(of_zone).max().unwrap_or(0)
    }
}
