use serde::Serialize;

/// How the units of one site are placed, by every method of the study.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Placement {
    #[serde(flatten)]
    pub layout: LineLayout,
    pub heading: Heading,
}

/// How units lie to each other.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(tag = "layout", rename_all = "snake_case")]
pub enum LineLayout {
    /// Each starts at a random place, whatever the others do; two may come close or cross.
    #[default]
    RandomStarts,
    /// Random starts at which no unit lies nearer to another one than this.
    LeastGap { gap_m: f64 },
    /// At equal distances across the site, from one random start; each at a random place of its own along its heading.
    Systematic,
}

/// Which way units point.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Heading {
    /// Along the long side: with the depth contour.
    #[default]
    Along,
    /// Along the short side: up and down the slope.
    Across,
    /// Each in a random direction of its own.
    Any,
}

impl Placement {
    /// Whether a shorter unit, as a window of a longer one, lies as if it had been laid by itself. Where each keeps a
    /// distance from the ends of others, or points anywhere, it does not.
    pub fn short_from_long(self) -> bool {
        self.heading != Heading::Any && !matches!(self.layout, LineLayout::LeastGap { .. })
    }

    /// Whether the first n of more units lie as n of a smaller layout are meant to.
    pub fn few_from_many(self) -> bool {
        self.layout != LineLayout::Systematic
    }

    /// Whether units of one site are placed without regard to each other.
    pub fn is_independent(self) -> bool {
        self.layout == LineLayout::RandomStarts
    }

    /// The same layout without random directions: where units lie in rows, they point along the site.
    pub(super) fn with_one_heading(self) -> Self {
        let heading = if self.heading == Heading::Any { Heading::Along } else { self.heading };
        Self { heading, ..self }
    }

    /// For people: "at independent random starts, along the site".
    pub fn label(self) -> String {
        format!("{}, {}", self.layout_label(), self.heading_label())
    }

    pub fn layout_label(self) -> String {
        match self.layout {
            LineLayout::RandomStarts => "at independent random starts".to_owned(),
            LineLayout::LeastGap { gap_m } => format!("at random starts at least {gap_m} m apart"),
            LineLayout::Systematic => "at equal distances from one random start".to_owned(),
        }
    }

    pub fn heading_label(self) -> &'static str {
        match self.heading {
            Heading::Along => "along the site",
            Heading::Across => "across the site",
            Heading::Any => "each in a random direction",
        }
    }
}
