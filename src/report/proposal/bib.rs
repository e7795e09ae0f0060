//! What a run used of publications, as BibTeX. Entries are those that stand beside the code that was used; what is from
//! memory says so. No DOI is written that does not stand there. What a text of the run names, or takes a limit from, has its
//! entry by the words of that text.

use crate::design::TestKind;
use crate::measures::gathered;
use crate::report::budget::BudgetReport;
use crate::scenario::Origin;
use crate::survey::MethodKind;

/// A known publication.
struct Entry {
    key: &'static str,
    kind: &'static str,
    /// Fields in their order.
    fields: &'static [(&'static str, &'static str)],
    /// Words by which a text of a run names it, or tells what is from it.
    named: &'static [&'static str],
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
    named: &["Satterthwaite"],
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
    named: &["Welch"],
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
    named: &["Neyman"],
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
    named: &[],
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
    named: &[],
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
    named: &[],
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
    named: &[],
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
    named: &["US Navy", "published limit", "published table"],
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
    named: &["Dickens et al."],
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
    named: &["Ennis et al."],
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
    named: &["DAN workshop"],
};

const FOUR_PEOPLE: Entry = Entry {
    key: "usnavyfour",
    kind: "manual",
    fields: &[
        ("title", "US Navy Diving Manual, Revision 4"),
        ("organization", "US Navy"),
        ("note", "Figure 6-23: people of a scuba team, as a flag; from a transcription"),
    ],
    named: &["fewer than four people on site"],
};
const COMMERCIAL: Entry = Entry {
    key: "cfr1910424",
    kind: "misc",
    fields: &[
        ("title", "{29 CFR 1910.424}, {SCUBA} diving"),
        ("author", "{Occupational Safety and Health Administration}"),
        ("howpublished", "Code of Federal Regulations, title 29"),
        ("note", "rules for commercial diving: depths and currents, as flags"),
    ],
    named: &["29 CFR 1910.424"],
};
const REVERSE_PROFILES: Entry = Entry {
    key: "lang2000",
    kind: "proceedings",
    fields: &[
        ("editor", "Lang and Lehner"),
        ("title", "Reverse Dive Profiles Workshop"),
        ("organization", "Smithsonian Institution"),
        ("year", "2000"),
        ("note", "how much deeper a later dive may be, as a flag; from a transcription"),
    ],
    named: &["more than 12 m deeper, or beyond 40 m"],
};
const HOLM: Entry = Entry {
    key: "holm1979",
    kind: "article",
    fields: &[
        ("author", "Holm, S."),
        ("title", "A simple sequentially rejective multiple test procedure"),
        ("journal", "Scandinavian Journal of Statistics"),
        ("volume", "6"),
        ("pages", "65--70"),
        ("year", "1979"),
        MEMORY,
    ],
    named: &["Holm"],
};
const BONFERRONI: Entry = Entry {
    key: "bonferroni1936",
    kind: "article",
    fields: &[
        ("author", "Bonferroni, C. E."),
        ("title", "Teoria statistica delle classi e calcolo delle probabilit{\\`a}"),
        ("journal", "Pubblicazioni del R. Istituto Superiore di Scienze Economiche e Commerciali di Firenze"),
        ("volume", "8"),
        ("pages", "3--62"),
        ("year", "1936"),
        MEMORY,
    ],
    named: &["Bonferroni"],
};

/// Everything that the run used; `page`: the proposal itself.
pub fn bib(report: &BudgetReport, page: &str) -> String {
    let plan = report.answer.scheduled();
    let simulated = plan.is_some_and(|plan| plan.margins.iter().any(|of| of.seen.is_some() || of.cv.is_some()));
    let kind = report.scenario.test.kind;
    let has_reef = report.scenario.methods.iter().any(|of| !matches!(of.kind, MethodKind::Components(_)));
    let said = one_line(&[page, &report.all_text(), &report.schedule_text()].join(" "));
    let used = [
        (plan.is_some(), &SATTERTHWAITE),
        (kind == TestKind::WelchT, &WELCH),
        (kind == TestKind::Permutation, &PHIPSON),
        (kind == TestKind::QuasiPoisson, &MCCULLAGH),
        (kind == TestKind::NegativeBinomial, &BLISS),
        (plan.is_some(), &NEYMAN),
        (simulated, &MORRIS),
        (has_reef, &ENNIS),
    ];
    let others = [&BONFERRONI, &HOLM, &US_NAVY, &FOUR_PEOPLE, &COMMERCIAL, &REVERSE_PROFILES, &FLYING, &DICKENS];
    let used = used.into_iter().chain(others.map(|entry| (false, entry)));
    let is_named = |entry: &Entry| entry.named.iter().any(|words| said.contains(words));
    let used = used.filter(|(is_used, entry)| *is_used || is_named(entry)).map(|(_, entry)| entry);
    let known = used.map(|entry| {
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
    let published = report.assumptions.iter().filter_map(|of| match &of.origin {
        Origin::Published(source) => Some((source.as_str(), of.about.as_str())),
        _ => None,
    });
    let mut keys: Vec<String> = Vec::new();
    let mut entries = Vec::new();
    for (source, about) in gathered(published) {
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
