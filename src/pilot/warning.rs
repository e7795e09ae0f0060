use serde::Serialize;
use std::fmt;

/// What the reader of a pilot fit must know, each with its remedy.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "warning", rename_all = "snake_case")]
pub enum PilotWarning {
    MissingRows {
        rows: usize,
    },
    HitsNotWhole {
        rows: usize,
    },
    PerhapsShares,
    /// With the 80 % interval of the spread of sites, shares.
    FewSites {
        sites: usize,
        low: f64,
        high: f64,
    },
    /// With the 80 % interval of the spread of lines, shares.
    FewLines {
        lines: usize,
        low: f64,
        high: f64,
    },
    OneVisit,
    NoCommonSites,
    TwoVisits,
    NilComponent {
        component: &'static str,
    },
    LinesDoNotVary,
    MarksDoNotMatch,
    LinesTooEven,
}

impl fmt::Display for PilotWarning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::MissingRows { rows: 1 } => write!(f, "1 row has no value and was left out"),
            Self::MissingRows { rows } => write!(f, "{rows} rows have no value and were left out"),
            Self::HitsNotWhole { rows } => {
                let lines = if *rows == 1 { "1 line has".to_owned() } else { format!("{rows} lines have") };
                write!(
                    f,
                    "{lines} hits that are no whole number: they are taken as they are, as means of several readings; if they are \
                     cover, write --cover (percent) or --cover-share"
                )
            }
            Self::PerhapsShares => {
                write!(f, "every value of cover is at most 1: if these are shares (0 to 1), name the column as a share")
            }
            Self::FewSites { sites, low, high } => write!(
                f,
                "{sites} sites say little about how much sites differ (80 %: SD {:.1} to {:.1} points): plan with the \
                 upper end, or survey more sites once; 10 or more are worth having",
                100.0 * low,
                100.0 * high
            ),
            Self::FewLines { lines, low, high } => write!(
                f,
                "{lines} readings of lines leave the spread of lines uncertain (80 %: SD {:.1} to {:.1} points; the \
                 number of lines needed goes with its square): plan with the upper end, or read more lines; 70 or more \
                 are worth having",
                100.0 * low,
                100.0 * high
            ),
            Self::OneVisit => write!(
                f,
                "one visit cannot tell how sites differ for good from how they differ in one year: the spread of sites \
                 holds both; a second visit to the same sites parts them"
            ),
            Self::NoCommonSites => write!(
                f,
                "no two visits have two sites in common: the spread of sites holds the site x year part too; revisit some \
                 sites to part them"
            ),
            Self::TwoVisits => write!(
                f,
                "two visits cannot tell a usual difference between years from a change: the year part needs three visits"
            ),
            Self::NilComponent { component } => write!(
                f,
                "{component} cannot be told from nil with these data; that is not nil: plan with the upper end of its \
                 interval"
            ),
            Self::LinesDoNotVary => {
                write!(f, "all lines of a site read the same: check that the values are single lines, not site means")
            }
            Self::MarksDoNotMatch => write!(
                f,
                "lines are said to lie on the same marks, but hardly any line has the same name at two visits: check the \
                 names of lines"
            ),
            Self::LinesTooEven => write!(
                f,
                "lines of a site differ less than independent points would make them: they may have been averaged, or \
                 points lie evenly on a fine pattern"
            ),
        }
    }
}
