//! By what factor a survey of fish is off, part by part.

use super::lengths::written_fish;
use crate::reef::fish::{FishLengths, LengthWeight, Sighting};
use crate::survey::fish_sheet::{LengthReader, WidthReader};
use crate::theory::Rule;
use serde::Serialize;
use std::sync::LazyLock;

/// Over the widths of belts as they are judged.
static WIDTHS: LazyLock<Rule> = LazyLock::new(|| Rule::normal(32));

/// What a diver looks at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LookedAt {
    /// A belt of a full width, its middle line swum.
    Belt { width_m: f64 },
    /// A disc about a diver who stays.
    Disc { radius_m: f64 },
}

/// All that puts a survey of one group of fish off.
#[derive(Clone, Copy, Debug)]
pub struct BiasAsked<'a> {
    pub looked_at: LookedAt,
    /// How far is seen, m; infinite where it does not matter.
    pub clear_m: f64,
    /// Fish that come into what is watched while it is watched, over those of a snapshot.
    pub movement: f64,
    /// What is left of them where divers were on the line before; 1 where the fish are counted first.
    pub after_divers: f64,
    pub width: WidthReader,
    pub sighting: &'a Sighting,
    pub lengths: FishLengths,
    pub weight: LengthWeight,
    pub reader: &'a LengthReader,
}

/// A cause of bias.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BiasCause {
    Movement,
    AfterDivers,
    Width,
    Hidden,
    Distance,
    Reaction,
    Size,
    LengthError,
    Classes,
}

impl BiasCause {
    /// In a few words.
    pub fn words(self) -> &'static str {
        match self {
            BiasCause::Movement => "fish that swim in during the count",
            BiasCause::AfterDivers => "fish driven away by earlier divers",
            BiasCause::Width => "an edge judged nearer or farther than it is",
            BiasCause::Hidden => "hidden fish",
            BiasCause::Distance => "fish too far away to be seen",
            BiasCause::Reaction => "fish that flee from the diver or come to look",
            BiasCause::Size => "small fish that are overlooked",
            BiasCause::LengthError => "lengths that are misjudged",
            BiasCause::Classes => "lengths put into classes",
        }
    }

    /// In a word or two, for a narrow column; what it does to a number tells which way fish react.
    pub fn short(self, factor: f64) -> &'static str {
        match self {
            BiasCause::Movement => "swim in",
            BiasCause::AfterDivers => "fled before",
            BiasCause::Width => "width",
            BiasCause::Hidden => "hidden",
            BiasCause::Distance => "too far",
            BiasCause::Reaction if factor > 1.0 => "come",
            BiasCause::Reaction => "flee",
            BiasCause::Size => "too small",
            BiasCause::LengthError => "misread",
            BiasCause::Classes => "classes",
        }
    }
}

/// One factor: what is written over what is there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BiasPart {
    pub cause: BiasCause,
    pub density: f64,
    pub biomass: f64,
}

/// The parts, in the order in which they act; their product is the whole.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BiasParts {
    pub parts: Vec<BiasPart>,
}

/// A group that is told with others.
#[derive(Clone, Copy, Debug)]
pub struct BiasOf<'a> {
    /// Fish that are there, and their biomass, each in a unit that is that of all groups.
    pub density: f64,
    pub biomass: f64,
    /// `None` where the method counts none of them.
    pub parts: Option<&'a BiasParts>,
}

impl BiasParts {
    /// Of several groups together: of each cause, what is left of all groups after it over what was left of them before, so
    /// that what causes before it took or added weighs no more than it is and the product is what is written of all over what
    /// is there. A group that the method does not count is hidden from it. `None` where it counts none of them.
    pub fn together(groups: &[BiasOf]) -> Option<Self> {
        let causes = groups.iter().find_map(|group| group.parts)?.parts.iter().map(|part| part.cause);
        // What is left of each group: fish, biomass.
        let mut left: Vec<[f64; 2]> = groups.iter().map(|group| [group.density, group.biomass]).collect();
        let total = |left: &[[f64; 2]], measure: usize| left.iter().map(|of| of[measure]).sum::<f64>();
        let parts = causes
            .enumerate()
            .map(|(index, cause)| {
                let before = [0, 1].map(|measure| total(&left, measure));
                for (left, group) in left.iter_mut().zip(groups) {
                    let factors = match group.parts {
                        Some(parts) => [parts.parts[index].density, parts.parts[index].biomass],
                        None if cause == BiasCause::Hidden => [0.0; 2],
                        None => [1.0; 2],
                    };
                    (0..2).for_each(|measure| left[measure] *= factors[measure]);
                }
                // Of nothing that is left nothing is taken.
                let factor = |m: usize| if before[m] > 0.0 { total(&left, m) / before[m] } else { 1.0 };
                BiasPart { cause, density: factor(0), biomass: factor(1) }
            })
            .collect();
        Some(Self { parts })
    }

    pub fn of(asked: &BiasAsked) -> Self {
        use BiasCause::*;
        let sighting = asked.sighting;
        let calm = Sighting { shy: 0.0, seen: 1.0, ..*sighting };
        let open = Sighting { seen: 1.0, ..*sighting };
        // A fish that is seen by distance has any length: the parts of distance are the same for weight.
        let distance = asked.seen_over_area(&calm, 1.0);
        let reaction = asked.seen_over_area(&open, 1.0) / distance;
        let width = WIDTHS.expect(|normal| asked.seen_over_area(&open, asked.width.factor(normal)));
        let width = if asked.width == WidthReader::EXACT { 1.0 } else { width / (distance * reaction) };
        let written = |reader: &LengthReader| written_fish(asked.lengths, asked.weight, sighting, reader, 0.0);
        let mean_weight = |reader: &LengthReader| written(reader).weight.mean;
        let exact = written(&LengthReader::EXACT);
        let read = mean_weight(&LengthReader { classes: None, ..*asked.reader });
        let true_weight = asked.lengths.weights(asked.weight).mean;
        let both = |cause, factor| BiasPart { cause, density: factor, biomass: factor };
        let of_weight = |cause, factor| BiasPart { cause, density: 1.0, biomass: factor };
        let parts = vec![
            both(Movement, asked.movement),
            both(AfterDivers, asked.after_divers),
            both(Width, width),
            both(Hidden, sighting.seen),
            both(Distance, distance),
            both(Reaction, reaction),
            BiasPart { cause: Size, density: exact.seen, biomass: exact.seen * exact.weight.mean / true_weight },
            of_weight(LengthError, read / exact.weight.mean),
            of_weight(Classes, mean_weight(asked.reader) / read),
        ];
        Self { parts }
    }

    /// Density written over density there.
    pub fn density(&self) -> f64 {
        self.parts.iter().map(|part| part.density).product()
    }

    /// Biomass written over biomass there.
    pub fn biomass(&self) -> f64 {
        self.parts.iter().map(|part| part.biomass).product()
    }

    /// The parts that matter: those that are off by `least` (.01: one per cent) or more in either.
    pub fn that_matter(&self, least: f64) -> impl Iterator<Item = &BiasPart> {
        let matters = move |factor: f64| (factor - 1.0).abs() >= least;
        self.parts.iter().filter(move |part| matters(part.density) || matters(part.biomass))
    }
}

impl BiasAsked<'_> {
    /// Fish seen over those in the area meant, when the width is so many times what is meant.
    fn seen_over_area(&self, sighting: &Sighting, factor: f64) -> f64 {
        match self.looked_at {
            LookedAt::Belt { width_m } => factor * sighting.mean_over_width(factor * width_m, self.clear_m),
            LookedAt::Disc { radius_m } => factor * factor * sighting.mean_over_disc(factor * radius_m, self.clear_m),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Moments;
    use crate::random::{Key, normal_from_uniform, stream};
    use crate::survey::fish_sheet::{ClassValue, LengthClasses};
    use rand::RngExt;

    const LENGTHS: FishLengths = FishLengths { mean_cm: 15.0, cv: 0.35, alike_in_school: 0.4 };
    const LAW: LengthWeight = LengthWeight { a: 0.02, b: 3.05 };

    fn part(parts: &BiasParts, cause: BiasCause) -> BiasPart {
        *parts.parts.iter().find(|part| part.cause == cause).unwrap()
    }

    /// Fish thrown one by one about a diver, seen, read and weighed: what is written over what is there is the product of all
    /// parts. Movement and divers before are factors that are given: the fish are so many times as many.
    #[test]
    fn the_product_of_the_parts_is_the_whole() {
        let sighting =
            Sighting { scale_m: Some(2.5), shy: 0.6, shy_m: 1.0, half_seen_cm: Some(10.0), ln_sd: 0.4, seen: 0.85 };
        let reader =
            LengthReader { bias: 0.08, cv: 0.15, classes: Some(LengthClasses::of(5.0)), value: ClassValue::UpperLimit };
        let width = WidthReader { error: -0.117, sd: 0.214 };
        for (seed, looked_at) in
            [LookedAt::Belt { width_m: 4.0 }, LookedAt::Disc { radius_m: 3.0 }].into_iter().enumerate()
        {
            let asked = BiasAsked {
                looked_at,
                clear_m: 5.0,
                movement: 1.7,
                after_divers: 0.48,
                width,
                sighting: &sighting,
                lengths: LENGTHS,
                weight: LAW,
                reader: &reader,
            };
            let parts = BiasParts::of(&asked);
            let mut random = stream(Key::seed(90 + seed as u64));
            let (mut density, mut biomass) = (Moments::default(), Moments::default());
            let true_weight = LENGTHS.weights(LAW).mean;
            // As far as anybody looks, and how much more than what is meant that is.
            let reach = 12.0;
            for _ in 0..120_000 {
                let mut normal = || normal_from_uniform(random.random::<f64>().max(1e-16));
                let (edge, of_school, of_fish, error) = (width.factor(normal()), normal(), normal(), normal());
                let place: f64 = random.random();
                let (m, half, thrown) = match looked_at {
                    LookedAt::Belt { width_m } => (reach * place, 0.5 * width_m, reach / (0.5 * width_m)),
                    LookedAt::Disc { radius_m } => {
                        (reach * libm::sqrt(place), radius_m, reach * reach / (radius_m * radius_m))
                    }
                };
                let cm = LENGTHS.length_cm(of_school, of_fish);
                let chance = sighting.distance_chance(m) * sighting.length_chance(cm);
                let counted = m < edge * half && m < 5.0 && random.random::<f64>() < chance;
                let times = if counted { 1.7 * 0.48 * thrown } else { 0.0 };
                density.push(times);
                biomass.push(times * reader.read(cm, error).weight_g(reader.value, LAW) / true_weight);
            }
            assert!(density.mean_measured().errors_from(parts.density()) < 4.0, "{density:?} {parts:?}");
            assert!(biomass.mean_measured().errors_from(parts.biomass()) < 4.0, "{biomass:?} {parts:?}");
        }
    }

    /// Three groups, one of which is not counted: each cause has the weights that the causes before it leave.
    #[test]
    fn groups_together_are_told_by_what_is_left_of_them() {
        let of = |factors: [(f64, f64); 2]| {
            let causes = [BiasCause::Movement, BiasCause::Hidden].into_iter().zip(factors);
            BiasParts {
                parts: causes.map(|(cause, (density, biomass))| BiasPart { cause, density, biomass }).collect(),
            }
        };
        let (swims, stays) = (of([(3.0, 3.0), (0.5, 0.4)]), of([(1.0, 1.0), (1.0, 0.9)]));
        let group = |density, biomass, parts| BiasOf { density, biomass, parts };
        let groups = [group(2.0, 10.0, Some(&swims)), group(6.0, 5.0, Some(&stays)), group(2.0, 1.0, None)];
        let all = BiasParts::together(&groups).unwrap();
        // 10 fish are 14 after those that swim in, and 3 + 6 after those that hide; 16 kg are 36, and 12 + 4.5.
        assert_eq!(all.parts[0], BiasPart { cause: BiasCause::Movement, density: 1.4, biomass: 36.0 / 16.0 });
        assert!((all.parts[1].density - 9.0 / 14.0).abs() < 1e-12 && (all.biomass() - 16.5 / 16.0).abs() < 1e-12);
        let written: f64 = 2.0 * swims.density() + 6.0 * stays.density();
        assert!((all.density() - written / 10.0).abs() < 1e-12);
        // One group is told as it is by itself, and groups that are not counted are not told.
        let alone = BiasParts::together(&[group(7.0, 3.0, Some(&swims))]).unwrap();
        assert!(alone.parts.iter().zip(&swims.parts).all(|(one, other)| (one.biomass - other.biomass).abs() < 1e-12));
        assert!(BiasParts::together(&[group(2.0, 1.0, None)]).is_none());
    }

    #[test]
    fn an_exact_survey_has_no_bias_and_each_cause_stands_in_its_part() {
        let exact = BiasAsked {
            looked_at: LookedAt::Belt { width_m: 5.0 },
            clear_m: f64::INFINITY,
            movement: 1.0,
            after_divers: 1.0,
            width: WidthReader::EXACT,
            sighting: &Sighting::ALL,
            lengths: LENGTHS,
            weight: LAW,
            reader: &LengthReader::EXACT,
        };
        let none = BiasParts::of(&exact);
        assert!((none.density() - 1.0).abs() < 1e-9 && (none.biomass() - 1.0).abs() < 1e-6, "{none:?}");
        assert_eq!(none.that_matter(1e-5).count(), 0);
        // Divers who judge 11.7 % too short look at belts 1.133 times as wide (Harvey et al. 2004, Marine and Freshwater Research
        // 55:573-580; the consequence is computed).
        let wide = BiasParts::of(&BiasAsked { width: WidthReader { error: -0.117, sd: 0.0 }, ..exact });
        assert!((wide.density() - 1.133).abs() < 0.0006 && wide.that_matter(0.01).count() == 1);
        assert!((part(&wide, BiasCause::Width).biomass - 1.133).abs() < 0.0006);
        // Half-normal of 3 m over 5 m (Cheal & Thompson 1997: see `Sighting`).
        let far = Sighting { scale_m: Some(3.0), seen: 0.7, ..Sighting::ALL };
        let far = BiasParts::of(&BiasAsked { sighting: &far, ..exact });
        assert!((part(&far, BiasCause::Distance).density - 0.896).abs() < 0.001);
        assert!((part(&far, BiasCause::Hidden).density - 0.7).abs() < 1e-12);
        assert!((far.density() / (0.7 * 0.896) - 1.0).abs() < 0.001);
        // Fish that are overlooked are small: more in number than in weight.
        let small = Sighting { half_seen_cm: Some(12.0), ln_sd: 0.3, ..Sighting::ALL };
        let small = BiasParts::of(&BiasAsked { sighting: &small, ..exact });
        let size = part(&small, BiasCause::Size);
        assert!(size.density < 0.8 && size.biomass > size.density + 0.1, "{size:?}");
        // Lengths of all, then classes of them.
        let reader =
            LengthReader { bias: 0.0, cv: 0.2, classes: Some(LengthClasses::of(5.0)), value: ClassValue::UpperLimit };
        let read = BiasParts::of(&BiasAsked { reader: &reader, ..exact });
        assert!((read.density() - 1.0).abs() < 1e-12);
        // b (b - 1) c^2 / 2 to the second order.
        assert!((part(&read, BiasCause::LengthError).biomass - 1.125).abs() < 0.003, "{read:?}");
        assert!(part(&read, BiasCause::Classes).biomass > 1.3, "{read:?}");
    }
}
