//! Sums over the sites of an arrangement, read from tables.

/// For every four sites the sums of their rows over all sixteen choices among them: an arrangement's sum is then one row a
/// four, instead of one a site.
pub(super) struct MaskedSums {
    width: usize,
    /// Per four sites, per choice, one row.
    rows: Vec<f64>,
}

const SITES: usize = 4;
const CHOICES: usize = 1 << SITES;

impl MaskedSums {
    /// `rows` holds one row of `width` numbers a site.
    pub fn new(width: usize, rows: &[f64]) -> Self {
        let mut sums = Vec::with_capacity(rows.len() / SITES * CHOICES + CHOICES * width);
        for four in rows.chunks(SITES * width) {
            for choice in 0..CHOICES {
                let start = sums.len();
                sums.resize(start + width, 0.0);
                for (site, row) in four.chunks(width).enumerate() {
                    if choice >> site & 1 == 1 {
                        sums[start..].iter_mut().zip(row).for_each(|(sum, value)| *sum += value);
                    }
                }
            }
        }
        Self { width, rows: sums }
    }

    /// Adds the rows of the sites whose bit is set.
    #[inline]
    pub fn add(&self, mask: u128, to: &mut [f64]) {
        let mut rest = mask;
        for rows in self.rows.chunks_exact(CHOICES * self.width) {
            let choice = rest as usize & (CHOICES - 1);
            rest >>= SITES;
            let row = &rows[choice * self.width..(choice + 1) * self.width];
            to.iter_mut().zip(row).for_each(|(sum, value)| *sum += value);
        }
    }

    /// The sum of rows of one number.
    #[inline]
    pub fn single(&self, mask: u128) -> f64 {
        debug_assert_eq!(self.width, 1);
        let (mut rest, mut sum) = (mask, 0.0);
        for choices in self.rows.as_chunks::<CHOICES>().0 {
            sum += choices[rest as usize & (CHOICES - 1)];
            rest >>= SITES;
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_give_what_adding_gives() {
        for (sites, width) in [(1, 1), (4, 3), (7, 2), (61, 5), (128, 1)] {
            let rows: Vec<f64> = (0..sites * width).map(|i| ((i * i) % 17) as f64 - 3.0).collect();
            let sums = MaskedSums::new(width, &rows);
            for seed in 1..20u128 {
                let mask = (seed.wrapping_mul(0x9E37_79B9_7F4A_7C15_F39C_C060_5CED_C835)) >> (128 - sites);
                let mut fast = vec![0.5; width];
                sums.add(mask, &mut fast);
                let mut slow = vec![0.5; width];
                for site in (0..sites).filter(|site| mask >> site & 1 == 1) {
                    (0..width).for_each(|k| slow[k] += rows[site * width + k]);
                }
                assert_eq!(fast, slow, "{sites} sites");
                if width == 1 {
                    assert_eq!(sums.single(mask) + 0.5, slow[0]);
                }
            }
        }
    }
}
