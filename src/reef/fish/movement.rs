use serde::Serialize;

/// How a fish (or a school as one) moves while it is counted. Headings are uniform, the speed is constant.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Movement {
    /// It stays where it is.
    Still,
    /// Straight on.
    Straight { speed_m_s: f64 },
    /// A new heading after exponential times of mean `tau_s`.
    Turning { speed_m_s: f64, tau_s: f64 },
    /// Turning, within `radius_m` of its home: at the edge it turns to where it may go.
    HomeRange { speed_m_s: f64, tau_s: f64, radius_m: f64 },
}

impl Movement {
    /// Speed, m/s.
    pub fn speed_m_s(self) -> f64 {
        match self {
            Movement::Still => 0.0,
            Movement::Straight { speed_m_s }
            | Movement::Turning { speed_m_s, .. }
            | Movement::HomeRange { speed_m_s, .. } => speed_m_s,
        }
    }
}
