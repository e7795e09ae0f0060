/// A group of fish by what they eat and do to the reef.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TrophicGroup {
    /// The word in a list.
    pub name: &'static str,
    /// Who they are, in one line.
    pub words: &'static str,
}

/// The usual groups: the four kinds of herbivores of Green & Bellwood 2009 (Monitoring functional groups of herbivorous reef
/// fishes, pages 8 and 31) with detritivores and farmers apart, and the other guilds in common use (Parravicini et al. 2020,
/// PLoS Biology 18:e3000702, finds that experts disagree for more than 20 % of species). A list may use words of its own.
pub const TROPHIC_GROUPS: [TrophicGroup; 14] = [
    TrophicGroup { name: "grazer", words: "crop fine turf: most surgeonfish, rabbitfish, small angelfish" },
    TrophicGroup { name: "detritivore", words: "comb detritus out of turf: bristletooth surgeonfish" },
    TrophicGroup { name: "scraper", words: "bite the surface and leave it bare: most parrotfish" },
    TrophicGroup { name: "excavator", words: "bite deep into dead coral: large parrotfish from 35 cm on" },
    TrophicGroup { name: "browser", words: "eat large fleshy algae: unicornfish, chubs, some parrotfish" },
    TrophicGroup { name: "territorial_herbivore", words: "farm and defend turf: damselfish, some surgeonfish" },
    TrophicGroup { name: "planktivore", words: "pick plankton out of the water, often in large schools" },
    TrophicGroup { name: "corallivore", words: "eat living coral: many butterflyfish" },
    TrophicGroup { name: "invertivore", words: "hunt animals that move: wrasses, grunts, goatfish, emperors" },
    TrophicGroup { name: "sessile_invertivore", words: "eat sponges and other fixed animals: large angelfish" },
    TrophicGroup { name: "omnivore", words: "eat plants and animals" },
    TrophicGroup { name: "invertivore_piscivore", words: "eat crabs, shrimps and fish: many snappers" },
    TrophicGroup { name: "piscivore", words: "eat fish: groupers, barracudas, jacks" },
    TrophicGroup { name: "roving_predator", words: "have home ranges much larger than a site: reef sharks" },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_keys() {
        for (place, group) in TROPHIC_GROUPS.iter().enumerate() {
            assert!(group.name.chars().all(|letter| letter.is_ascii_lowercase() || letter == '_'));
            assert!(TROPHIC_GROUPS[..place].iter().all(|earlier| earlier.name != group.name));
        }
    }
}
