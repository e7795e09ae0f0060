//! What may be done on a team dive at a place of two depths.

/// What the pairs may do on a team dive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Going {
    pub below: Below,
    pub above: Above,
}

/// What they may do at the deep part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Below {
    Nothing,
    /// All but what comes first.
    NotFirst,
    First,
}

/// What they may do at the shallow part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Above {
    Nothing,
    /// All but what comes first.
    NotFirst,
    /// What comes first too: who does it leaves the deep part at that minute, before which nobody works above. At 0 they are
    /// those who do not dive to the deep part on this dive.
    First {
        from: f64,
    },
}

impl Below {
    /// On the first team dive, or a later one.
    pub fn on(is_first_dive: bool) -> Self {
        if is_first_dive { Self::First } else { Self::NotFirst }
    }

    pub fn with_first(self) -> bool {
        self == Self::First
    }
}

impl Going {
    pub const NOTHING_FIRST: Self = Self { below: Below::NotFirst, above: Above::NotFirst };

    pub fn down(below: Below) -> Self {
        Self { below, above: Above::Nothing }
    }

    pub fn up(above: Above) -> Self {
        Self { below: Below::Nothing, above }
    }
}
