use serde::Serialize;

/// Which fish a diver who swims along a belt counts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CountingRule {
    /// Everything that is in the belt at any moment of the swim.
    WholeSwim,
    /// What is in the stretch of `depth_m` ahead, which moves on with the diver.
    MovingWindow { depth_m: f64 },
    /// What crosses the line abreast of the diver.
    Abreast,
}

/// What is watched and for how long.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Watch {
    pub watched: Watched,
    /// How fast it moves along the belt, m/s; 0 where it stays.
    pub speed_m_s: f64,
    /// How long, s; 0 for a snapshot.
    pub seconds: f64,
}

/// The shape that is watched.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Watched {
    /// Along the belt (0 for the line abreast) and across it.
    Rectangle {
        length_m: f64,
        width_m: f64,
    },
    Disc {
        radius_m: f64,
    },
}

impl Watch {
    /// A belt of a length and full width, swum in so many seconds at constant speed. In no time (0 s) every rule is a
    /// snapshot of the whole belt.
    pub fn belt(length_m: f64, width_m: f64, seconds: f64, rule: CountingRule) -> Self {
        let rectangle = |length_m| Watched::Rectangle { length_m, width_m };
        match rule {
            _ if seconds == 0.0 => Watch { watched: rectangle(length_m), speed_m_s: 0.0, seconds },
            CountingRule::WholeSwim => Watch { watched: rectangle(length_m), speed_m_s: 0.0, seconds },
            CountingRule::MovingWindow { depth_m } => {
                let depth_m = depth_m.min(length_m);
                let diver = length_m / seconds;
                let seconds = (length_m - depth_m) / diver;
                Watch { watched: rectangle(depth_m), speed_m_s: diver, seconds }
            }
            CountingRule::Abreast => Watch { watched: rectangle(0.0), speed_m_s: length_m / seconds, seconds },
        }
    }

    /// A point count of a radius over so many seconds; 0 for a snapshot.
    pub fn point(radius_m: f64, seconds: f64) -> Self {
        Watch { watched: Watched::Disc { radius_m }, speed_m_s: 0.0, seconds }
    }
}
