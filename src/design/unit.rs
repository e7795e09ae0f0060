use super::study::Study;
use crate::survey::MethodKind;

/// What the values of an indicator are told in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A share, 0 to 1: shown in percent, differences in points.
    Share,
    /// A unit of its own; may be empty.
    Own(String),
}

impl Unit {
    /// In JSON: "share", or the unit.
    pub fn name(&self) -> &str {
        match self {
            Unit::Share => "share",
            Unit::Own(unit) => unit,
        }
    }
}

impl Study {
    /// The unit of an indicator, by its name.
    pub fn unit_of(&self, indicator: &str) -> Unit {
        let own = self.methods.iter().find_map(|method| match &method.kind {
            MethodKind::Components(parts) if parts.indicator == indicator => Some(parts.unit.clone()),
            _ => None,
        });
        own.map_or(Unit::Share, Unit::Own)
    }
}
