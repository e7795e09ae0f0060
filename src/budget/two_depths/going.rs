//! What may be done on a team dive at a place of two depths.

use super::super::first::Opening;

/// What the pairs may do on a team dive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Going {
    /// At the deep part; `None`: nothing.
    pub below: Option<Opening>,
    pub above: Above,
}

/// What they may do at the shallow part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Above {
    Nothing,
    /// All but what comes first, and nobody waits.
    NotFirst,
    /// What comes first too: who does it leaves the deep part at that minute, before which nobody works above; nothing else is
    /// done there for `wait` minutes more. At 0 they are those who do not dive to the deep part on this dive.
    First {
        from: f64,
        wait: f64,
    },
}

impl Going {
    pub const NOTHING_FIRST: Self = Self { below: Some(Opening::NOT_FIRST), above: Above::NotFirst };

    pub fn down(below: Opening) -> Self {
        Self { below: Some(below), above: Above::Nothing }
    }

    pub fn up(above: Above) -> Self {
        Self { below: None, above }
    }

    /// What comes first below, and above.
    pub fn with_first(self) -> [bool; 2] {
        [self.below.is_some_and(|below| below.with_first), matches!(self.above, Above::First { .. })]
    }
}

impl Above {
    /// Minutes for which all wait for what comes first.
    pub fn wait(self) -> f64 {
        if let Self::First { wait, .. } = self { wait } else { 0.0 }
    }

    /// How the shallow part begins for a pair that leaves the deep part at a minute (0: it has not been there) and takes
    /// `moving_up` minutes; `None`: it may do nothing there.
    pub fn opening(self, leaving: f64, moving_up: f64) -> Option<Opening> {
        match self {
            Self::Nothing => None,
            Self::NotFirst => Some(Opening::NOT_FIRST),
            Self::First { from, .. } if leaving < from => None,
            Self::First { from, wait } if leaving == from => Some(Opening { with_first: true, wait }),
            Self::First { from, wait } => {
                Some(Opening { with_first: false, wait: left_to_wait((from, wait), leaving, moving_up) })
            }
        }
    }
}

/// When a pair is at the shallow part that leaves the deep part at a minute (0: it has not been there).
pub fn arrives(leaving: f64, moving_up: f64) -> f64 {
    if leaving > 0.0 { leaving + moving_up } else { 0.0 }
}

/// Minutes that are left to wait at the shallow part to a pair that leaves the deep part at a minute, where those who count above
/// left it at minute `from` and with them a pair would wait `wait` minutes there.
pub fn left_to_wait((from, wait): (f64, f64), leaving: f64, moving_up: f64) -> f64 {
    (arrives(from, moving_up) + wait - arrives(leaving, moving_up)).max(0.0)
}
