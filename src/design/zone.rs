use super::colony_variation::ColonyVariation;
use super::fish::FishGroup;
use super::map::ZoneMap;
use super::recruits::Recruits;
use super::same_places::SamePlaces;
use super::study::HARD_CORAL;
use crate::reef::colonies::{ConditionShares, PartialMortality};
use crate::reef::{AnimalSpec, Category, ReefSpec};
use serde::Serialize;

/// A class of sites with its own cover, spread, weight and number of sites.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Zone {
    pub name: String,
    /// Sites surveyed at each visit: the numbers to compare, rising.
    pub sites: Vec<usize>,
    /// Sites that exist (the list of `these_reefs`).
    pub existing: Option<usize>,
    /// Share of the zone in the mean over zones; the weights of all zones sum to 1.
    pub weight: f64,
    /// Size of a site along the reef and across, metres.
    pub length_m: f64,
    pub width_m: f64,
    /// Name of the reef it was taken from, and whether it is a guess among all named reefs (`reef = "unknown"`).
    pub reef_name: String,
    pub reef_is_a_range: bool,
    pub reef: ReefSpec,
    /// Mean cover of hard coral over all sites of the zone at the first visit.
    pub cover: f64,
    /// SD of the true mean cover of whole sites in one visit, along-reef field and site-by-year included.
    pub between_sites_sd: f64,
    /// SD of the deviation of a site in a year, at the zone's cover (a share: 2.2 points = 0.022).
    pub site_year_sd: f64,
    /// SD of the deviation that all sites of a year share; enters `beyond_usual_years` only.
    pub year_sd: f64,
    /// How its colonies are partly dead.
    pub partial_mortality: PartialMortality,
    /// How many of its colonies are pale, bleached, diseased at a visit.
    pub condition: ConditionShares,
    /// How its sites differ in what colonies are like.
    pub colony_variation: ColonyVariation,
    /// The rest of the bottom, in the order of the tree: each takes its share of what is left by those before it.
    pub categories: Vec<Category>,
    /// Large invertebrates that are counted in belts.
    pub animals: Vec<Animal>,
    /// Recruits of corals, where they are counted.
    pub recruits: Option<Recruits>,
    /// Groups or species of fish.
    pub fish: Vec<FishGroup>,
    /// The zone at whose places its sites lie, at another depth.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub same_places: Option<SamePlaces>,
    /// The map that is the zone's only reef, where there is one: size, covers and animals of the zone are then its own,
    /// exactly, and nothing spreads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub map: Option<ZoneMap>,
}

/// One kind of animal of a zone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Animal {
    pub name: String,
    pub spec: AnimalSpec,
}

impl Animal {
    /// Share of the animals that are of commercial size, where it is told.
    pub fn commercial_share(&self) -> Option<f64> {
        let shares = self.spec.sizes.shares();
        if shares.len() > 1 { shares.last().copied() } else { None }
    }
}

impl Zone {
    /// One site of hard coral and nothing else, at a mean cover, whose sites and years do not differ: what others are written
    /// from.
    pub fn bare(reef: ReefSpec, (length_m, width_m): (f64, f64), cover: f64) -> Self {
        Self {
            name: String::new(),
            sites: vec![1],
            existing: None,
            weight: 1.0,
            length_m,
            width_m,
            reef_name: String::new(),
            reef_is_a_range: false,
            reef,
            cover,
            between_sites_sd: 0.0,
            site_year_sd: 0.0,
            year_sd: 0.0,
            partial_mortality: PartialMortality::USUAL,
            condition: ConditionShares::USUAL,
            colony_variation: ColonyVariation::default(),
            categories: Vec::new(),
            animals: Vec::new(),
            recruits: None,
            fish: Vec::new(),
            same_places: None,
            map: None,
        }
    }

    /// The kinds of bottom in the order of the tree, hard coral first: rows and columns of a misidentification matrix.
    pub fn bottom_names(&self) -> Vec<String> {
        let categories = self.categories.iter().map(|category| category.name.clone());
        std::iter::once(HARD_CORAL.to_owned()).chain(categories).collect()
    }

    /// Share of the bottom on which recruits can live, in the mean at the first visit: neither under hard coral nor a kind of
    /// bottom they cannot live on.
    pub fn free_share(&self) -> f64 {
        let cannot = self.recruits.iter().flat_map(|recruits| &recruits.cannot_live_on);
        let covers = cannot.filter_map(|name| self.categories.iter().find(|category| &category.name == name));
        (1.0 - self.cover - covers.map(|category| category.cover).sum::<f64>()).max(0.0)
    }

    /// Whether hard coral and the categories leave any of the bottom.
    pub fn leaves_rest(&self) -> bool {
        self.cover + self.categories.iter().map(|category| category.cover).sum::<f64>() < 1.0 - 1e-9
    }
}
