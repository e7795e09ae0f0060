use super::error::PilotError;

/// Fits every zone; what could be fitted, and one message for each zone left out. An error, that of the first zone, only where
/// none could.
pub(super) fn by_zone<Z, F>(
    zones: &[Z],
    fit: impl Fn(&Z) -> Result<F, PilotError>,
) -> Result<(Vec<F>, Vec<String>), PilotError> {
    let (mut fitted, mut failed) = (Vec::new(), Vec::new());
    for zone in zones {
        match fit(zone) {
            Ok(fit) => fitted.push(fit),
            Err(error) => failed.push(error),
        }
    }
    if fitted.is_empty() && !failed.is_empty() {
        return Err(failed.swap_remove(0));
    }
    Ok((fitted, failed.iter().map(PilotError::to_string).collect()))
}
