//! Which candidate sites are visited: the draw by the seed.

use crate::design::{ListedSite, SiteList};
use crate::random::{Key, Purpose};

/// The sites of each zone in one order: those that must be visited, then the others, both at random. The first of them that
/// can be used are visited, the rest are spares in this order.
pub struct Draw<'a> {
    list: &'a SiteList,
    /// Places in the list, zone by zone.
    order: Vec<Vec<usize>>,
}

impl<'a> Draw<'a> {
    /// A pure function of the seed and the names: each site has a random number of its own, so that a site more on the list,
    /// or another zone, leaves the order of the others as it is.
    pub fn new(list: &'a SiteList, zones: usize, seed: u64) -> Self {
        let key = |place: &usize| {
            let site = &list.sites[*place];
            // Two depths of a place are one candidate: they have the same place in the orders of their zones.
            let name = if site.place.is_empty() { &site.name } else { &site.place };
            (!site.must_visit, Key::seed(seed).child_of_name(Purpose::SiteDraw, name).0)
        };
        let of_zone = |zone: usize| {
            let mut places: Vec<usize> =
                (0..list.sites.len()).filter(|place| list.sites[*place].zone == zone).collect();
            places.sort_by_key(key);
            places
        };
        Self { list, order: (0..zones).map(of_zone).collect() }
    }

    /// Sites of a zone in their order, usable or not.
    pub fn sites(&self, zone: usize) -> impl Iterator<Item = &'a ListedSite> + '_ {
        self.order[zone].iter().map(|&place| &self.list.sites[place])
    }

    pub fn site(&self, zone: usize, number: usize) -> &'a ListedSite {
        &self.list.sites[self.order[zone][number]]
    }

    /// Places in the order of a zone, from 0, of its first so many sites that can be used.
    pub fn planned(&self, zone: usize, sites: usize) -> Vec<usize> {
        let usable = self.sites(zone).enumerate().filter(|(_, site)| site.can_be_used());
        usable.map(|(number, _)| number).take(sites).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(zones: &[&str], must: &str) -> SiteList {
        let of_zone = |(zone, names): (usize, &&str)| {
            let site = move |name: char| ListedSite {
                name: format!("{name}{zone}"),
                zone,
                must_visit: zone == 0 && must.contains(name),
                ..ListedSite::default()
            };
            names.chars().map(site).collect::<Vec<_>>()
        };
        SiteList { file: String::new(), sites: zones.iter().enumerate().flat_map(of_zone).collect() }
    }

    fn names(draw: &Draw, zone: usize) -> String {
        draw.sites(zone).map(|site| site.name.chars().next().unwrap()).collect()
    }

    /// Every order of four sites is as likely as every other, and so is every site at every place.
    #[test]
    fn all_orders_are_equally_likely() {
        let list = list(&["abcd", "abcd"], "");
        let seeds = 24_000;
        let mut counts: std::collections::BTreeMap<String, f64> = Default::default();
        let mut alike = 0.0;
        for seed in 0..seeds {
            let draw = Draw::new(&list, 2, seed);
            *counts.entry(names(&draw, 0)).or_default() += 1.0;
            alike += f64::from(u8::from(names(&draw, 0) == names(&draw, 1)));
        }
        assert_eq!(counts.len(), 24);
        let expected = seeds as f64 / 24.0;
        let chi2: f64 = counts.values().map(|count| (count - expected).powi(2) / expected).sum();
        // 23 degrees of freedom: four standard deviations above the mean.
        assert!(chi2 < 23.0 + 4.0 * (2.0f64 * 23.0).sqrt(), "{chi2}");
        // Two zones know nothing of each other: one in 24 agrees.
        assert!((alike - expected).abs() < 4.0 * expected.sqrt(), "{alike}");
    }

    #[test]
    fn another_site_or_zone_leaves_the_order_of_the_others() {
        for seed in 0..200 {
            let before = list(&["abcdefg"], "");
            let after = list(&["gfexdcba", "pqr"], "");
            let (one, other) = (Draw::new(&before, 1, seed), Draw::new(&after, 2, seed));
            assert_eq!(names(&one, 0), names(&other, 0).replace('x', ""));
            // More sites are visited: those before stay, spares follow in their order.
            let order = one.planned(0, 7);
            assert!((1..7).all(|sites| one.planned(0, sites) == order[..sites]));
        }
    }

    #[test]
    fn what_must_be_visited_comes_first_and_what_cannot_be_used_is_passed_over() {
        let mut list = list(&["abcdefg"], "fc");
        let first = |list: &SiteList, seed: u64| names(&Draw::new(list, 1, seed), 0)[..2].to_owned();
        assert!((0..50).all(|seed| ["fc", "cf"].contains(&first(&list, seed).as_str())));
        let before = names(&Draw::new(&list, 1, 7), 0);
        let third = before.chars().nth(2).unwrap();
        let place = list.sites.iter().position(|site| site.name.starts_with(third)).unwrap();
        list.sites[place].cannot_be_used = "nets".into();
        let draw = Draw::new(&list, 1, 7);
        assert_eq!(names(&draw, 0), before);
        assert_eq!(draw.planned(0, 4), [0, 1, 3, 4]);
    }
}
