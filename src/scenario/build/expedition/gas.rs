use super::Notes;
use crate::design::Gas;
use crate::scenario::file::ExpeditionTable;
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;

/// What cylinders are counted by; nothing of it has a usual value.
pub fn build(table: &ExpeditionTable, notes: &mut Notes, problems: &mut Problems) -> Option<Gas> {
    let told = table.gas?;
    let gas = Gas {
        litres_a_minute: told.litres_a_minute.get(),
        cylinder_litres: told.cylinder_litres.get(),
        fill_bar: told.fill_bar.get(),
        reserve_bar: told.reserve_bar.get(),
    };
    let shown = format!(
        "{} l a minute from {} l at {} bar, of which {} bar are left",
        number(gas.litres_a_minute),
        number(gas.cylinder_litres),
        number(gas.fill_bar),
        number(gas.reserve_bar)
    );
    notes.note("gas", "what divers use in the mean, to count cylinders", true, shown);
    if gas.reserve_bar >= gas.fill_bar {
        let message = format!("{} bar are left of {}", number(gas.reserve_bar), number(gas.fill_bar));
        let remedy = "Correct fill_bar; what is left in a cylinder is for the diving officer to say.";
        let allowed = format!("above {}", number(gas.reserve_bar));
        problems.add("expedition.gas.fill_bar", message, allowed, remedy);
    }
    Some(gas)
}
