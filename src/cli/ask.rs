use crate::scenario::words::reading::is_unknown;
use crate::scenario::words::{Answers, FromWords, QUESTIONS, study_from};
use crate::scenario::wrapped;
use std::io::{self, BufRead, Write};

/// Times a question is put again before it counts as not known.
const PATIENCE: usize = 5;

const WELCOME: &str = "Nine questions. Where you do not know, press Enter: the tool's own default is used, and `check` \
    lists it as assumed.";

/// Puts the nine field questions and turns the answers into a study; then shows the conversions. An end of input answers
/// all that is left by "don't know".
pub fn ask(mut answers_from: impl BufRead, mut told_to: impl Write) -> io::Result<FromWords> {
    writeln!(told_to, "{}\n", wrapped(WELCOME, 80))?;
    let mut answers = Answers::default();
    for question in &QUESTIONS {
        if !(question.is_put)(&answers) {
            continue;
        }
        writeln!(told_to, "{}", wrapped(question.text, 80))?;
        for _ in 0..PATIENCE {
            write!(told_to, "> ")?;
            told_to.flush()?;
            let mut words = String::new();
            answers_from.read_line(&mut words)?;
            if is_unknown(&words) {
                break;
            }
            match (question.answer)(&mut answers, &words) {
                Ok(()) => break,
                Err(example) => writeln!(told_to, "{}", wrapped(&format!("That was not understood. {example}"), 80))?,
            }
        }
        writeln!(told_to)?;
    }
    let made = study_from(&answers);
    writeln!(told_to, "What was made of it:")?;
    for conversion in &made.conversions {
        writeln!(told_to, "- {}", wrapped(conversion, 78).replace('\n', "\n  "))?;
    }
    Ok(made)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::{Places, Scope};
    use crate::scenario::{Origin, check_law, load_text, write};

    fn asked(script: &str) -> (FromWords, String) {
        let mut told = Vec::new();
        let made = ask(script.as_bytes(), &mut told).unwrap();
        (made, String::from_utf8(told).unwrap().replace("\n  ", " ").replace('\n', " "))
    }

    #[test]
    fn scripted_answers_become_numbers_with_the_words_beside_them() {
        let script =
            "all\n8\n28\n20 to 36\n6\n15 to 40 of 6\n3\nnear\n2\n28 to 22\n18 to 26\n3 lines in 50 minutes\nothers\n";
        let (made, told) = asked(script);
        let zone = &made.study.zones[0];
        assert_eq!(zone.cover, 0.28);
        // 16 / 2.563 = 6.243; a line: 25 / 2.534 = 9.87; sqrt(6.243^2 - 9.87^2 / 6) = 4.77, below what a reef of this
        // kind varies by itself.
        assert!(told.contains("(36 - 20) / 2.563 = SD 6.2 points"), "{told}");
        assert!(told.contains("(40 - 15) / 2.534 = SD 9.9 points (error 33 %: low 6.6, high 13.2)"), "{told}");
        assert!(told.contains("low 2.3, middle 4.8, high 7.8 to 11.2 points"), "{told}");
        assert_eq!((zone.reef_name.as_str(), zone.reef_is_a_range), ("fore_reef", false));
        assert!(zone.between_sites_sd > 0.0477);
        assert!((zone.site_year_sd - 0.0266).abs() < 1e-9, "{}", zone.site_year_sd);
        assert_eq!(made.study.visits.places, Places::NewPlaces);
        let sd = made.study.changes[0].differs_between_sites_sd.unwrap();
        assert!((sd - 0.08 / 2.563).abs() < 5e-5);
        assert_eq!((made.study.methods[0].minutes.lay, made.study.methods[0].minutes.read), (3.3, 13.4));
        assert_eq!(made.beside.origins["zone[0].reef"], Origin::MyWords("15 to 40 of 6".to_owned()));
        assert!(!made.beside.origins.contains_key("zone[0].between_sites_points"));
    }

    #[test]
    fn a_wide_range_leaves_a_spread_of_reefs() {
        let (made, told) = asked("all\n8\n28\n10 to 46\n6\neven\n3\n");
        // 36 / 2.563 = 14.046; even ground: 43 effective points, a line sqrt(.28 x .72 / 43) = 6.85 points.
        let expected = (14.046_f64.powi(2) - 100.0 * 0.2016 / 43.0 * 100.0 / 6.0).sqrt() / 100.0;
        assert!((made.study.zones[0].between_sites_sd - expected).abs() < 2e-4, "{told}");
        let words = Origin::MyWords("10 to 46; each average from 6 lines".to_owned());
        assert_eq!(made.beside.origins["zone[0].between_sites_points"], words);
    }

    #[test]
    fn what_is_written_loads_as_the_same_study_with_the_same_words() {
        let scripts = [
            "",
            "each\n",
            "these 24\n6, 12 or 24\n30\n",
            "these 3\n\n12\nhalf 10 to 15\ndon't know\nbommies and sand\n1\nnails\n2\n12 to 18\n14 to 21\n4 in 60\nhalf of them\n",
            "all\nten\n4\n2 to 7\n8\n0 to 9 of 10\n2\nother reefs\n6 months\nlose half of it\n\n5 lines 55 minutes\nsame\n",
            "all\n\n65\n50 to 80\n6\n40 to 85 of 5\n5\nnails\n\n65 to 50\n40 to 60\n2 in 50\nsame\n",
        ];
        for script in scripts {
            let (made, _) = asked(script);
            let text = write(&made.study, &made.beside);
            let loaded =
                load_text("asked.toml", &text).unwrap_or_else(|error| panic!("{script}\n{text}\n{}", error.render()));
            assert_eq!(loaded.study, made.study, "{script}");
            check_law(&loaded).unwrap_or_else(|error| panic!("{script}\n{}", error.render()));
            for (key, origin) in &made.beside.origins {
                assert_eq!(loaded.origins.get(key), Some(origin), "{script}: {key}\n{text}");
            }
        }
    }

    #[test]
    fn not_knowing_anything_gives_defaults_that_are_all_assumed() {
        let (made, _) = asked("\ndon't know\n?\n\n\n\n\n\n\n\n\n");
        assert_eq!(made.study.scope, Scope::AllSuchReefs);
        assert!(made.study.zones[0].reef_is_a_range);
        assert!(made.beside.origins.values().all(|origin| *origin == Origin::Assumed));
        let loaded = load_text("asked.toml", &write(&made.study, &made.beside)).unwrap();
        for about in ["my reefs: sites surveyed at a visit", "years between the visits"] {
            let listed = loaded.assumptions.iter().find(|assumption| assumption.about == about);
            assert_eq!(listed.map(|assumption| &assumption.origin), Some(&Origin::Assumed), "{about}");
        }
    }

    #[test]
    fn sites_and_years_that_were_told_keep_their_words() {
        let (made, _) = asked("all\n6 and 10\n\n\n\n\n\nnear\nthree years\n");
        assert_eq!((made.study.zones[0].sites.as_slice(), made.study.visits.years_apart), (&[6, 10][..], 3.0));
        let loaded = load_text("asked.toml", &write(&made.study, &made.beside)).unwrap();
        assert_eq!(loaded.origins["zone[0].sites"], Origin::MyWords("6 and 10".to_owned()));
        assert_eq!(loaded.origins["visits.years_apart"], Origin::MyWords("three years".to_owned()));
        assert!(loaded.assumptions.iter().any(|assumption| assumption.value == "6, 10"));
    }

    #[test]
    fn a_range_that_is_not_used_says_what_would_make_room_for_it() {
        let (made, told) = asked("all\n\n28\n26 to 30\n200\neven\n4\n");
        assert!(told.contains("your range is not used"), "{told}");
        assert!(told.contains("What would make room for your range: a more even reef"), "{told}");
        assert!(write(&made.study, &made.beside).replace("\n# ", " ").contains("What would make room for your range"));
        let (_, told) = asked("all\n\n28\n26 to 30\n6\nbommies\n4\n");
        assert!(told.contains("averages from more lines"), "{told}");
    }

    #[test]
    fn an_answer_that_is_not_understood_is_asked_again() {
        let (made, told) = asked("perhaps\nall\n1\n8\nmuch\n0.28\n28\n\n\n\n\n\n\n20 %\nlose 5 points\n");
        assert_eq!(made.study.zones[0].cover, 0.28);
        assert!(told.contains("Answer each, these 24"));
        assert!(told.contains("at least 2"));
        assert!(told.contains("One number above 0"));
        assert!(told.contains("write 28 % or 28."));
        assert!(told.contains("\"20 points\" (from 28 to 8 %)"), "{told}");
        assert!(told.contains("\"lose 5 points\": from 28 to 23 %"), "{told}");
        assert_eq!((made.study.zones[0].sites.as_slice(), made.study.changes[0].to), (&[8][..], 0.23));
    }
}
