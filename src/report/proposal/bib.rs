//! What a run used of publications, as BibTeX. Entries are those that stand beside the code that was used; what is from
//! memory says so. No DOI is written that does not stand there.

use crate::design::TestKind;
use crate::report::budget::BudgetReport;
use crate::scenario::Origin;
use crate::survey::MethodKind;

/// A known publication.
struct Entry {
    key: &'static str,
    kind: &'static str,
    /// Fields in their order.
    fields: &'static [(&'static str, &'static str)],
}

const MEMORY: (&str, &str) = ("note", "from memory, to be compared with the original");

const SATTERTHWAITE: Entry = Entry {
    key: "satterthwaite1946",
    kind: "article",
    fields: &[
        ("author", "Satterthwaite, F. E."),
        ("title", "An approximate distribution of estimates of variance components"),
        ("journal", "Biometrics Bulletin"),
        ("volume", "2"),
        ("year", "1946"),
        MEMORY,
    ],
};
const WELCH: Entry = Entry {
    key: "welch1947",
    kind: "article",
    fields: &[
        ("author", "Welch, B. L."),
        ("title", "The generalization of Student's problem when several different population variances are involved"),
        ("journal", "Biometrika"),
        ("volume", "34"),
        ("year", "1947"),
        MEMORY,
    ],
};
const NEYMAN: Entry = Entry {
    key: "neyman1934",
    kind: "article",
    fields: &[
        ("author", "Neyman, J."),
        ("title", "On the two different aspects of the representative method"),
        ("journal", "Journal of the Royal Statistical Society"),
        ("volume", "97"),
        ("pages", "558--625"),
        ("year", "1934"),
        MEMORY,
    ],
};
const MORRIS: Entry = Entry {
    key: "morris2019",
    kind: "article",
    fields: &[
        ("author", "Morris, T. P. and White, I. R. and Crowther, M. J."),
        ("title", "Using simulation studies to evaluate statistical methods"),
        ("journal", "Statistics in Medicine"),
        ("volume", "38"),
        ("pages", "2074--2102"),
        ("year", "2019"),
        ("note", "standard errors of simulated rates; the title is from memory"),
    ],
};
const PHIPSON: Entry = Entry {
    key: "phipson2010",
    kind: "article",
    fields: &[
        ("author", "Phipson, B. and Smyth, G. K."),
        ("title", "Permutation P-values should never be zero"),
        ("journal", "Statistical Applications in Genetics and Molecular Biology"),
        ("volume", "9"),
        ("pages", "39"),
        ("year", "2010"),
        MEMORY,
    ],
};
const MCCULLAGH: Entry = Entry {
    key: "mccullagh1989",
    kind: "book",
    fields: &[
        ("author", "McCullagh, P. and Nelder, J. A."),
        ("title", "Generalized Linear Models"),
        ("year", "1989"),
        ("note", "sections 4.5 and 9.2; from memory, to be compared with the original"),
    ],
};
const BLISS: Entry = Entry {
    key: "bliss1953",
    kind: "article",
    fields: &[
        ("author", "Bliss, C. I. and Fisher, R. A."),
        ("title", "Fitting the negative binomial distribution to biological data"),
        ("journal", "Biometrics"),
        ("volume", "9"),
        ("pages", "176"),
        ("year", "1953"),
        MEMORY,
    ],
};
const US_NAVY: Entry = Entry {
    key: "usnavy2016",
    kind: "manual",
    fields: &[
        ("title", "US Navy Diving Manual, Revision 7"),
        ("organization", "US Navy"),
        ("number", "SS521-AG-PRO-010"),
        ("year", "2016"),
        ("note", "Table 9-7, no-stop limits of a first dive, as a flag; from a transcription"),
    ],
};
const DICKENS: Entry = Entry {
    key: "dickens2011",
    kind: "misc",
    fields: &[
        ("author", "Dickens and others"),
        ("howpublished", "PLoS ONE 6:e18965"),
        ("year", "2011"),
        ("note", "abstract: divers near by cut counts of fish"),
    ],
};
const ENNIS: Entry = Entry {
    key: "ennis2020",
    kind: "techreport",
    fields: &[
        ("author", "Ennis and others"),
        ("title", "Territorial Coral Reef Monitoring Program"),
        ("institution", "US Virgin Islands"),
        ("year", "2020"),
        ("note", "permanent belts to which the named virtual reefs were calibrated"),
    ],
};
const FLYING: Entry = Entry {
    key: "dan2002",
    kind: "misc",
    fields: &[
        ("author", "{DAN}"),
        ("title", "Workshop on flying after diving"),
        ("year", "2002"),
        ("note", "hours before a flight, as a flag"),
    ],
};

/// Everything that the run used.
pub fn bib(report: &BudgetReport) -> String {
    let warned = |words: &str| report.answer.warnings.iter().any(|warning| warning.contains(words));
    let plan = report.answer.scheduled();
    let simulated = plan.is_some_and(|plan| plan.margins.iter().any(|of| of.seen.is_some() || of.cv.is_some()));
    let kind = report.scenario.test.kind;
    let has_reef = report.scenario.methods.iter().any(|of| !matches!(of.kind, MethodKind::Components(_)));
    let used = [
        (plan.is_some(), &SATTERTHWAITE),
        (kind == TestKind::WelchT, &WELCH),
        (kind == TestKind::Permutation, &PHIPSON),
        (kind == TestKind::QuasiPoisson, &MCCULLAGH),
        (kind == TestKind::NegativeBinomial, &BLISS),
        (plan.is_some(), &NEYMAN),
        (simulated, &MORRIS),
        (has_reef, &ENNIS),
        (warned("published limit was applied") || warned("US Navy"), &US_NAVY),
        (warned("Dickens"), &DICKENS),
        (warned("departure"), &FLYING),
    ];
    let known = used.into_iter().filter(|(is_used, _)| *is_used).map(|(_, entry)| {
        let fields: Vec<(&str, String)> =
            entry.fields.iter().map(|(name, value)| (*name, (*value).to_owned())).collect();
        written(entry.kind, entry.key, &fields)
    });
    let mut all: Vec<String> = known.collect();
    all.extend(of_scenario(report));
    format!(
        "% What {} used of publications, written by reefwright {}.\n\n{}",
        one_line(super::title(report)),
        report.version,
        all.join("\n")
    )
}

/// Sources that the scenario names for its numbers, each once.
fn of_scenario(report: &BudgetReport) -> Vec<String> {
    let mut sources: Vec<(&str, Vec<&str>)> = Vec::new();
    for of in &report.assumptions {
        let Origin::Published(source) = &of.origin else { continue };
        match sources.iter_mut().find(|(known, _)| known == source) {
            Some((_, about)) => about.push(&of.about),
            None => sources.push((source, vec![&of.about])),
        }
    }
    let mut keys: Vec<String> = Vec::new();
    let mut entries = Vec::new();
    for (source, about) in sources {
        let letters: String = source.chars().filter(char::is_ascii_alphanumeric).take(24).collect();
        let stem = format!("scenario{}", letters.to_lowercase());
        let same = keys.iter().filter(|key| key.starts_with(&stem)).count();
        let key = if same == 0 { stem.clone() } else { format!("{stem}-{}", same + 1) };
        let fields = [
            ("title", format!("{{{}}}", escaped(source))),
            ("note", format!("as the scenario names it, for: {}", escaped(&about.join("; ")))),
        ];
        entries.push(written("misc", &key, &fields));
        keys.push(key);
    }
    entries
}

fn written(kind: &str, key: &str, fields: &[(&str, String)]) -> String {
    let lines: Vec<String> = fields.iter().map(|(name, value)| format!("  {name} = {{{value}}},\n")).collect();
    format!("@{kind}{{{key},\n{}}}\n", lines.concat())
}

/// What TeX would read otherwise; braces would end the field.
fn escaped(text: &str) -> String {
    let mut escaped = String::new();
    for letter in one_line(text).chars() {
        match letter {
            '{' | '}' | '\\' => escaped.push(' '),
            '%' | '&' | '_' | '#' | '$' => escaped.extend(['\\', letter]),
            other => escaped.push(other),
        }
    }
    escaped
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
