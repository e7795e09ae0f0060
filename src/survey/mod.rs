mod method;

pub use method::{Components, Dimensions, MethodKind, MethodSpec, Scale, UnitMinutes, unit_of};
