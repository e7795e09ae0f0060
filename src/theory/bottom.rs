//! From the covers and spreads that a user states to the tree of thresholded fields.

use super::threshold::{covariance, latent_share_of};
use crate::design::{Change, HARD_CORAL};
use crate::reef::{Bottom, Category, Stage};
use thiserror::Error;

/// Why a bottom cannot be built.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum BottomError {
    #[error("hard coral and the categories cover {sum} of the bottom together, not 1")]
    NotWhole { sum: f64 },
    #[error("the sites cannot differ by {sd} in {category}: less than {largest} is possible")]
    TooWide { category: String, sd: f64, largest: f64 },
    #[error("after the change {indicator} would cover {to}; there is room for {room}")]
    NoRoom { indicator: String, to: f64, room: f64 },
}

/// Covers, as shares of the whole bottom: hard coral, then the categories.
pub type Covers = Vec<f64>;

/// The covers at the second visit in every world: nothing imposed, then each change by itself. The indicator of a change
/// moves by the ratio of the change; the other categories share the freed or taken space in proportion to what they
/// cover, so that among themselves nothing changes. Hard coral moves only by a change of its own. A change of something
/// that is not on the bottom leaves it alone.
pub fn covers_by_world(coral: f64, categories: &[Category], changes: &[Change]) -> Result<Vec<Covers>, BottomError> {
    let now: Covers = std::iter::once(coral).chain(categories.iter().map(|category| category.cover)).collect();
    let sum: f64 = now.iter().sum();
    if !((sum - 1.0).abs() < 1e-9 && now.iter().all(|&cover| cover >= 0.0)) {
        return Err(BottomError::NotWhole { sum });
    }
    let mut worlds = vec![now.clone()];
    for change in changes {
        let is_named = |category: &Category| category.name == change.indicator;
        let place =
            if change.indicator == HARD_CORAL { Some(0) } else { categories.iter().position(is_named).map(|k| k + 1) };
        worlds.push(match place {
            Some(place) => moved(&now, place, change)?,
            None => now.clone(),
        });
    }
    Ok(worlds)
}

fn moved(now: &[f64], place: usize, change: &Change) -> Result<Covers, BottomError> {
    let to = now[place] * change.ratio();
    let is_other = |k: usize| k != place && k != 0;
    let others: f64 = now.iter().enumerate().filter(|&(k, _)| is_other(k)).map(|(_, cover)| cover).sum();
    // The changing one and those that give way to it; where there is nothing else, nothing can take or give.
    let room = now[place] + others;
    if !(0.0 <= to && to <= room && (others > 0.0 || to == now[place])) {
        return Err(BottomError::NoRoom { indicator: change.indicator.clone(), to, room });
    }
    let factor = if others > 0.0 { (room - to) / others } else { 1.0 };
    let after = now.iter().enumerate().map(|(k, &cover)| match k {
        k if k == place => to,
        k if is_other(k) => cover * factor,
        _ => cover,
    });
    Ok(after.collect())
}

/// What each category takes of the bottom left free by those before it (`pi_k = p_k / (1 - sum of those before)`, coral
/// included); the last takes all of it.
pub fn conditional_shares(covers: &[f64]) -> Vec<f64> {
    let mut free = 1.0 - covers[0];
    let last = covers.len() - 1;
    (1..covers.len())
        .map(|k| {
            let share = if k == last { 1.0 } else { (covers[k] / free).clamp(0.0, 1.0) };
            free -= covers[k];
            if share.is_nan() { 0.0 } else { share }
        })
        .collect()
}

/// The tree of a zone. `coral` is the mean cover of hard coral and the SD of its true cover between sites; `memory` the
/// correlation of the patches between the visits.
///
/// The SD stated for a category is what its own site effect alone adds. On a site whose free share is f the category
/// covers `f Pi` with `Pi` of mean pi and variance `c_pi(w)`, independent of f; given f its variance is `f^2 c_pi(w)`, on
/// average over the sites `E f^2 c_pi(w)`. So w solves `E f^2 c_pi(w) = SD^2`, where
/// `E f^2 = [(1 - p)^2 + SD_coral^2] prod_{j before} [(1 - pi_j)^2 + c_pi_j(w_j)]` exactly. What coral and the categories
/// before add to the spread comes on top ([`crate::theory::tree::Tree::site_covariance`]); the last category has no
/// effect of its own, its spread is what the others leave.
pub fn calibrated(
    coral: (f64, f64),
    categories: &[Category],
    changes: &[Change],
    memory: f64,
) -> Result<Bottom, BottomError> {
    let worlds = covers_by_world(coral.0, categories, changes)?;
    if categories.is_empty() {
        return Ok(Bottom { stages: Vec::new(), memory });
    }
    let shares_by_world: Vec<Vec<f64>> = worlds.iter().map(|covers| conditional_shares(covers)).collect();
    let mut free_square = (1.0 - coral.0).powi(2) + coral.1 * coral.1;
    let mut stages = Vec::with_capacity(categories.len());
    for (k, category) in categories.iter().enumerate() {
        let share = shares_by_world[0][k];
        let has_effect = k + 1 < categories.len() && share > 0.0;
        let wanted = if has_effect { category.between_sites_sd } else { 0.0 };
        let relative = if wanted == 0.0 { 0.0 } else { wanted / free_square.sqrt() };
        let latent_share = latent_share_of(share, relative).ok_or_else(|| BottomError::TooWide {
            category: category.name.clone(),
            sd: wanted,
            largest: (free_square * share * (1.0 - share)).sqrt(),
        })?;
        free_square *= (1.0 - share).powi(2) + covariance(share, latent_share);
        stages.push(Stage {
            share,
            later_shares: shares_by_world.iter().map(|shares| shares[k]).collect(),
            latent_share,
            scale_m: category.scale_m,
        });
    }
    Ok(Bottom { stages, memory })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::threshold::share_on_site;
    use crate::theory::{Rule, tree::Tree, tree::Written};

    fn category(name: &str, cover: f64, between_sites_sd: f64) -> Category {
        Category { name: name.to_string(), cover, between_sites_sd, scale_m: 0.3 }
    }

    fn change(indicator: &str, from: f64, to: f64) -> Change {
        Change { indicator: indicator.to_string(), from, to, differs_between_sites_sd: None, deaths: None }
    }

    fn four() -> Vec<Category> {
        vec![
            category("algae", 0.3, 0.06),
            category("sponge", 0.1, 0.03),
            category("sand", 0.2, 0.05),
            category("other", 0.15, 0.0),
        ]
    }

    fn close(a: &[f64], b: &[f64]) -> bool {
        a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-12)
    }

    #[test]
    fn space_left_by_coral_is_shared_in_proportion() {
        let worlds = covers_by_world(0.25, &four(), &[change(HARD_CORAL, 0.20, 0.16)]).unwrap();
        assert!(close(&worlds[0], &[0.25, 0.3, 0.1, 0.2, 0.15]));
        let factor = 0.80 / 0.75;
        assert!(close(&worlds[1], &[0.20, 0.3 * factor, 0.1 * factor, 0.2 * factor, 0.15 * factor]));
        assert!(close(&conditional_shares(&worlds[0]), &conditional_shares(&worlds[1])));
        assert!(close(&conditional_shares(&worlds[0]), &[0.4, 0.1 / 0.45, 0.2 / 0.35, 1.0]));
    }

    #[test]
    fn a_category_takes_its_space_from_the_others_and_never_from_coral() {
        let changes = [change("sponge", 0.1, 0.2), change("urchins", 1.0, 2.0)];
        let worlds = covers_by_world(0.25, &four(), &changes).unwrap();
        let factor = 0.55 / 0.65;
        assert!(close(&worlds[1], &[0.25, 0.3 * factor, 0.2, 0.2 * factor, 0.15 * factor]));
        assert_eq!(worlds[2], worlds[0]);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(matches!(covers_by_world(0.3, &four(), &[]), Err(BottomError::NotWhole { .. })));
        let too_much = covers_by_world(0.25, &four(), &[change("algae", 0.3, 0.8)]);
        assert!(matches!(too_much, Err(BottomError::NoRoom { .. })));
        let alone = covers_by_world(1.0, &[], &[change(HARD_CORAL, 1.0, 0.5)]);
        assert!(matches!(alone, Err(BottomError::NoRoom { .. })));
        let mut wide = four();
        wide[1].between_sites_sd = 0.2;
        let refused = calibrated((0.25, 0.05), &wide, &[], 1.0);
        assert!(matches!(refused, Err(BottomError::TooWide { category, .. }) if category == "sponge"));
    }

    #[test]
    fn the_own_effect_of_each_category_has_the_stated_spread() {
        let (coral, coral_sd): (f64, f64) = (0.25, 0.08);
        let bottom = calibrated((coral, coral_sd), &four(), &[], 0.9).unwrap();
        let tree = Tree::new([coral, coral], &bottom, 0);
        let far = (1.0 - coral).powi(2) + coral_sd * coral_sd;
        for (k, category) in four().iter().enumerate().take(3) {
            // The spread of the tree less the spread of the same tree with this one effect taken away.
            let mut without = tree.clone();
            without.stages[k].latent_share = 0.0;
            let written = Written::truly(k + 1, 5);
            let own = tree.site_covariance(&written, far, (0, 0)) - without.site_covariance(&written, far, (0, 0));
            let wanted = category.between_sites_sd.powi(2);
            assert!((own / wanted - 1.0).abs() < 1e-9, "{}: {own} {wanted}", category.name);
        }
    }

    #[test]
    fn the_spread_is_that_of_the_product_over_sites() {
        // The second category by quadrature over its own effect, that of the first, and a two-point law of coral.
        let (coral, coral_sd): (f64, f64) = (0.25, 0.08);
        let bottom = calibrated((coral, coral_sd), &four(), &[], 1.0).unwrap();
        let rule = Rule::normal(48);
        let moment = |power: i32| {
            let of_stage = |k: usize, effect: f64| {
                let stage = &bottom.stages[k];
                share_on_site(stage.share, stage.latent_share, effect)
            };
            let free: f64 = [coral - coral_sd, coral + coral_sd].iter().map(|c| 0.5 * (1.0 - c).powi(power)).sum();
            let first = rule.expect(|effect| (1.0 - of_stage(0, effect)).powi(power));
            free * first * rule.expect(|effect| of_stage(1, effect).powi(power))
        };
        let variance = moment(2) - moment(1).powi(2);
        let tree = Tree::new([coral, coral], &bottom, 0);
        let far = (1.0 - coral).powi(2) + coral_sd * coral_sd;
        let exact = tree.site_covariance(&Written::truly(2, 5), far, (0, 0));
        assert!((moment(1) - 0.1).abs() < 1e-9 && (variance / exact - 1.0).abs() < 1e-7, "{variance} {exact}");
    }
}
