use super::asked::{Question, Scope, TestSpec};
use super::deaths::ColonyDeaths;
use super::visits::{Observers, Visits};
use super::zone::Zone;
use crate::survey::{Dimensions, Ground, MethodSpec, Placement, method_name};
use serde::Serialize;

/// A change of one indicator: from this to that, in the zone's own terms.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// `hard_coral`, a category of the bottom, or the indicator of a by-components method.
    pub indicator: String,
    /// Cover (a share) or value before and after, as stated. In each zone the zone's own cover moves by the same ratio.
    pub from: f64,
    pub to: f64,
    /// SD between sites of the true change of whole sites, in the unit of the indicator; `None`: as the reef's law has
    /// it, the same ratio on every colony bed.
    pub differs_between_sites_sd: Option<f64>,
    /// How a fall of hard coral strikes, where colonies do not all have the same chance.
    pub deaths: Option<ColonyDeaths>,
}

impl Change {
    pub fn ratio(&self) -> f64 {
        self.to / self.from
    }
}

/// Everything that is surveyed and asked: what a scenario file says, checked and in SI units and shares.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Study {
    pub title: String,
    pub scope: Scope,
    pub question: Question,
    pub test: TestSpec,
    pub visits: Visits,
    pub observers: Observers,
    pub zones: Vec<Zone>,
    /// Changes to see (for `between_groups`: from = first group, to = second). Empty for `status`.
    pub changes: Vec<Change>,
    pub methods: Vec<MethodSpec>,
    /// How the lines and belts of a site are placed.
    pub placement: Placement,
    /// Categories whose cover is reported besides hard coral and besides those with a change.
    pub also_report: Vec<String>,
}

impl Study {
    /// The name of a method in tables and in JSON: that of its kind and, where others have units of its size, how it is done.
    pub fn method_name(&self, method: usize) -> String {
        method_name(&self.methods, method)
    }

    /// The most units of one length and width (0: tapes) that any method lays at a site.
    pub fn most_units_of(&self, length_m: f64, width_m: f64) -> usize {
        let is_such =
            |dimensions: &Dimensions| dimensions.length_m() == Some(length_m) && dimensions.width_m() == width_m;
        let methods = self.methods.iter().filter(|method| method.kind.dimensions().iter().any(is_such));
        methods.flat_map(|method| method.units.iter().copied()).max().unwrap_or(0)
    }

    /// A zone's site with the rule by which units are placed on it.
    pub fn ground(&self, zone: &Zone) -> Ground {
        Ground { site: (zone.length_m, zone.width_m), placement: self.placement }
    }
}

/// The name of the indicator that every virtual reef has.
pub const HARD_CORAL: &str = "hard_coral";
/// The name of the bottom that no category takes.
pub const REST: &str = "other";
