use serde::Serialize;

/// The chance that a diver counts a fish that came into the counted window, by its nearest distance from the diver's
/// line and by its length; and how fish near the line react to the diver.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sighting {
    /// Scale of a half-normal fall with distance, m; `None`: all as far as the water is clear.
    pub scale_m: Option<f64>,
    /// Share of the fish on the diver's line that leave before they are seen (shy), or that come on top of those that
    /// were there (curious, negative): -1 to 1.
    pub shy: f64,
    /// Scale of the distance over which they react, m.
    pub shy_m: f64,
    /// Length at which one half are seen, cm; log odds of a probit in ln length with SD `ln_sd`. `None`: all lengths alike.
    pub half_seen_cm: Option<f64>,
    pub ln_sd: f64,
    /// Share that is seen at all at the diver's line, hidden fish: 0 to 1.
    pub seen: f64,
}
