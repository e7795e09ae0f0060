use crate::design::{Study, Zone};
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;
use crate::survey::{Dimensions, Ground, Heading, LineLayout, MethodSpec, Placement};

/// Placement: lines that fit the site the way they point, and a layout that has room for the largest number of them.
pub fn check(study: &Study, problems: &mut Problems) {
    let Placement { layout, heading } = study.placement;
    if layout == LineLayout::Systematic && heading == Heading::Any {
        let message = "lines at equal distances lie side by side, so they cannot point in any direction";
        let remedy = "Write heading = \"along\" or \"across\", or another layout.";
        return problems.add("placement.heading", message, "along or across", remedy);
    }
    let laid = || {
        let methods = study.methods.iter();
        let units = methods.flat_map(|method| method.kind.dimensions().into_iter().map(move |each| (method, each)));
        units.flat_map(|(method, each)| study.zones.iter().map(move |zone| Laid { method, dimensions: each, zone }))
    };
    if heading != Heading::Along
        && let Some(laid) = laid().find(|laid| !laid.has_room(study))
    {
        return laid.refuse_heading(heading, problems);
    }
    if let Some(laid) = laid().find(|laid| laid.most_units(study).is_some_and(|most| most < laid.asked(study))) {
        laid.refuse_number(study, problems);
    }
}

/// Units of one method on a site of a zone.
struct Laid<'a> {
    method: &'a MethodSpec,
    dimensions: Dimensions,
    zone: &'a Zone,
}

impl Laid<'_> {
    /// Length and width; `None` where nothing is laid.
    fn size(&self) -> Option<(f64, f64)> {
        self.dimensions.length_m().map(|length| (length, self.dimensions.width_m()))
    }

    fn has_room(&self, study: &Study) -> bool {
        self.size().is_none_or(|(length, width)| study.ground(self.zone).has_room(length, width))
    }

    fn most_units(&self, study: &Study) -> Option<usize> {
        self.size().and_then(|(length, width)| study.ground(self.zone).most_units(length, width))
    }

    fn asked(&self, study: &Study) -> usize {
        self.size().map_or(0, |(length, width)| study.most_units_of(length, width))
    }

    /// "12 lines of 10 m", "belts of 10 x 2 m".
    fn name(&self) -> String {
        let word = self.method.kind.units();
        match self.size() {
            Some((length, 0.0)) => format!("{word} of {} m", number(length)),
            Some((length, width)) => format!("{word} of {} x {} m", number(length), number(width)),
            None => word,
        }
    }

    fn site(&self) -> String {
        format!("{}, {} x {} m", self.zone.name, number(self.zone.length_m), number(self.zone.width_m))
    }

    fn refuse_heading(&self, heading: Heading, problems: &mut Problems) {
        let way = if heading == Heading::Across { "laid across" } else { "that point in any direction" };
        let message = format!("{} {way} do not fit a site of {}", self.name(), self.site());
        let room = self.zone.width_m.min(self.zone.length_m);
        let allowed = match heading {
            Heading::Across => format!("at most {} m long", number(self.zone.width_m)),
            _ => format!("at most {} m from corner to corner", number(room)),
        };
        let remedy = "Shorten them, correct the size of the zone, or write heading = \"along\".";
        problems.add("placement.heading", message, allowed, remedy);
    }

    fn refuse_number(&self, study: &Study, problems: &mut Problems) {
        let most = self.most_units(study).unwrap_or(0);
        let (asked, name, site) = (self.asked(study), self.name(), self.site());
        let LineLayout::LeastGap { gap_m } = study.placement.layout else {
            let message = format!("{asked} {name} at equal distances overlap on a site of {site}");
            let remedy = format!("Write units up to {most}, narrow them, or take another layout.");
            return problems.add("placement.layout", message, format!("at most {most}"), remedy);
        };
        let message = format!("{asked} {name} cannot keep a gap of {} m on a site of {site}", number(gap_m));
        let remedy = match self.widest_gap(study, asked) {
            Some(gap) => format!("Lower gap_m to {} or less, or write units up to {most}.", number(gap)),
            None => format!("Write units up to {most}, or random starts."),
        };
        problems.add("placement.gap_m", message, format!("room for {most}"), remedy);
    }

    /// The widest gap, to a tenth of a metre, that so many can keep.
    fn widest_gap(&self, study: &Study, asked: usize) -> Option<f64> {
        let (length, width) = self.size()?;
        let fits = |tenths: &u32| {
            let layout = LineLayout::LeastGap { gap_m: f64::from(*tenths) / 10.0 };
            let ground = study.ground(self.zone);
            let other = Ground { placement: Placement { layout, ..ground.placement }, ..ground };
            other.most_units(length, width).is_some_and(|most| most >= asked)
        };
        (1..=1000).rev().find(fits).map(|tenths| f64::from(tenths) / 10.0)
    }
}
