//! The field behind patches under a strip: read once for all kinds that lie in the same patches.

use super::patches::{PatchDensity, lognormal};
use super::site::AnimalSite;
use super::target::Target;
use super::walk::StripPlace;
use crate::reef::Visit;
use crate::reef::listed::room;
use crate::reef::machine::for_this_processor;
use crate::reef::strip_field::StripField;
use crate::reef::strip_shares::shares_within;

/// Values of the field at a visit in the cells under a strip, and how much of each cell lies under it. Scratch memory; one per
/// thread, reused.
#[derive(Default)]
pub struct FieldOver {
    field: StripField,
    shares: Vec<f32>,
    under: Under,
}

/// The cells of which something lies under the strip.
#[derive(Default)]
struct Under {
    number: usize,
    values: Vec<f32>,
    shares: Vec<f32>,
}

impl AnimalSite<'_> {
    /// Reads the field of the patches under a strip at a visit, for all kinds of this site whose patches are the same.
    pub fn read_field(&self, strip: &StripPlace, visit: Visit, over: &mut FieldOver) {
        let Some(patches) = &self.patches else { return };
        let target = Target::new(&self.frame, strip);
        let tape = target.tape();
        patches.read(&mut over.field, &self.reef.normals, &tape, target.side(0.0), visit);
        let cells = over.field.cells();
        over.shares.clear();
        over.shares.resize(over.field.values.len(), 0.0);
        shares_within(&mut over.shares, &tape, &cells, patches.cell as f32, target.half_width as f32);
        keep(&mut over.under, &over.field.values, &over.shares);
    }

    /// Density of the patches over its mean, averaged over the strip whose field was read.
    pub fn patches_in(&self, over: &FieldOver) -> f64 {
        let Some(patches) = &self.patches else { return 1.0 };
        let Under { number, values, shares } = &over.under;
        let (values, shares) = (&values[..*number], &shares[..*number]);
        match patches.density {
            PatchDensity::LogNormal { ln_sd } => {
                let mut mean = 0.0;
                mean_of_lognormal(values, shares, *ln_sd, &mut mean);
                mean
            }
            PatchDensity::Gamma { .. } => {
                let all: f64 = shares.iter().map(|&share| f64::from(share)).sum();
                let of = |(&z, &share): (&f32, &f32)| f64::from(share) * patches.density.at(f64::from(z));
                values.iter().zip(shares).map(of).sum::<f64>() / all
            }
        }
    }
}

for_this_processor! {
    /// Keeps the cells of which something lies under the strip. Nothing is written under a condition: an entry is kept by moving
    /// the end.
    fn keep(under: &mut Under, values: &[f32], shares: &[f32]) {
        room(&mut under.values, values.len());
        room(&mut under.shares, values.len());
        let mut end = 0;
        for (value, &share) in values.iter().zip(shares) {
            under.values[end] = *value;
            under.shares[end] = share;
            end += usize::from(share > 0.0);
        }
        under.number = end;
    }
}

/// Sums that run beside each other.
const LANES: usize = 8;

for_this_processor! {
    /// The mean of lognormal densities over cells with these shares.
    fn mean_of_lognormal(values: &[f32], shares: &[f32], ln_sd: f64, mean: &mut f64) {
        let density = lognormal(ln_sd);
        let (mut sums, mut all) = ([0.0f32; LANES], [0.0f32; LANES]);
        let (values, more_values) = values.as_chunks::<LANES>();
        let (shares, more_shares) = shares.as_chunks::<LANES>();
        for (values, shares) in values.iter().zip(shares) {
            for lane in 0..LANES {
                sums[lane] += shares[lane] * density(values[lane]);
                all[lane] += shares[lane];
            }
        }
        for (lane, (value, share)) in more_values.iter().zip(more_shares).enumerate() {
            sums[lane] += share * density(*value);
            all[lane] += share;
        }
        let sum = |lanes: [f32; LANES]| lanes.iter().map(|&lane| f64::from(lane)).sum::<f64>();
        *mean = sum(sums) / sum(all);
    }
}
