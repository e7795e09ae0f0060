//! The search where crews follow one another, against every design one by one.

use super::*;
use crate::budget::Stretches;

/// Two days of one crew, then the other, whichever comes first: two pairs, or one of them alone.
fn stretches(instance: &Instance, number: u64, boats: usize) -> Arc<Stretches> {
    let of = |tables: &[Table]| tables.iter().cloned().map(Arc::new).collect::<Vec<_>>();
    let mut crews = vec![of(&instance.tables), of(&instance.one_pair)];
    if number % 3 == 2 {
        crews.reverse();
    }
    let days = [2 + number as usize % 2, 1].into_iter();
    Arc::new(Stretches::new(instance.day(), boats, days.zip(crews).collect()))
}

/// The least effort and the best use of 1, 2 ... days are those of all designs, each with its best split; never more days than with
/// one pair throughout, and fewer somewhere; what pair-dives cost goes by who does them.
#[test]
fn the_search_in_stretches_is_every_design_looked_at() {
    let (mut fewer, mut found_any) = (0, 0);
    for number in 0..16 {
        let instance = Instance::new(number);
        let mut zones = instance.zones();
        zones.iter_mut().zip(&instance.one_pair).for_each(|(zone, table)| zone.table = table);
        let boats = 1 + (number as usize / 4) % 2;
        let stretches = stretches(&instance, number, boats);
        let new = || Search::new(&zones, &instance.indicators, instance.day(), boats);
        let search = new().in_stretches(Some(stretches.clone()));
        let mut packing = DayPacking::new(&instance.day());
        let mut least: Option<Effort> = None;
        let mut best: Vec<Option<Merit>> = vec![None; 13];
        instance.every(|units, sites, _, _, margins| {
            let Some(dives) = stretches.dives(units) else { return };
            let split = stretches.split(&mut packing, sites, &dives);
            let takes = (split.days, split.team_dives, sites.iter().sum());
            if margins.iter().all(|&m| m >= MET) && least.is_none_or(|least| takes < least) {
                least = Some(takes);
            }
            let merit = Merit::of(&instance.indicators, margins);
            best.iter_mut().skip(split.days).for_each(|best| *best = (*best).max(Some(merit)));
        });
        let takes = |found: &Option<Found>| found.as_ref().map(|of| (of.days, of.team_dives, of.sites.iter().sum()));
        let all = search.least(Hold::All);
        assert_eq!(takes(&all), least, "{number}");
        let ours: Vec<Option<Merit>> =
            search.frontier(12).iter().map(|found| found.as_ref().map(|found| found.merit)).collect();
        assert_eq!(ours, best[1..], "{number}");
        let throughout = new().least(Hold::All);
        if let (Some(all), Some(throughout)) = (&all, &throughout) {
            found_any += 1;
            // What takes more than a day is not planned by stretches.
            let is_short = stretches.dives(&throughout.units).is_some();
            assert!(!is_short || all.days <= throughout.days, "{number}");
            fewer += usize::from(all.days < throughout.days);
            for tie in search.near_ties((all, Beside::Least), 20, true) {
                assert!(tie.days <= all.days && tie.team_dives <= all.team_dives + all.team_dives / 20);
            }
            let prices = Prices {
                of_days: Arc::new(|_| 0.0),
                opens: Arc::new(|_| 0),
                a_pair_dive: 1.0,
                a_unit: vec![0.0; all.units.len()],
                pair_dives: Arc::new(|stretch, zone, _| 10 + 100 * stretch + zone),
                come_first: false,
            };
            let dives = stretches.dives(&all.units).unwrap();
            let split = stretches.split(&mut packing, &all.sites, &dives);
            let of =
                |stretch: usize, zone: usize| usize::from(split.sites[stretch][zone]) * (10 + 100 * stretch + zone);
            let by_hand: usize =
                (0..2).map(|stretch| (0..zones.len()).map(|zone| of(stretch, zone)).sum::<usize>()).sum();
            assert_eq!(search.priced(Some(prices)).money(all), Some(by_hand as f64));
        }
    }
    assert!(fewer > 2 && found_any > 8, "{fewer} {found_any}");
}
