use super::answers::{Answers, Said};
use super::change::change;
use super::reading;
use super::spread::likely_cover;
use crate::design::Scope;

/// One question as it is put, and what is done with an answer.
pub struct Question {
    /// What is asked, with an example.
    pub text: &'static str,
    /// Whether it is put, after the answers so far.
    pub is_put: fn(&Answers) -> bool,
    /// Puts an answer where it belongs; an error tells what an answer looks like, and the question is put again.
    pub answer: fn(&mut Answers, &str) -> Result<(), String>,
}

/// Puts what was understood beside the words.
fn said<T>(slot: &mut Option<Said<T>>, words: &str, meant: Result<T, String>) -> Result<(), String> {
    *slot = Some(Said { words: words.trim().to_owned(), meant: meant? });
    Ok(())
}

fn always(_: &Answers) -> bool {
    true
}

/// What is known of the reefs that the answer speaks of: the scope, and the length of a fixed list.
fn reefs(answers: &Answers) -> (Scope, Option<usize>) {
    answers.scope.as_ref().map_or((Scope::AllSuchReefs, None), |said| said.meant)
}

/// Nine questions; four of them have a second part.
pub const QUESTIONS: [Question; 13] = [
    Question {
        text: "1. Which reefs shall the answer speak of: each one by itself (each), a fixed list (these 24), or all reefs \
               like the ones you visit (all)?",
        is_put: always,
        answer: |answers, words| said(&mut answers.scope, words, reading::scope(words)),
    },
    Question {
        text: "   How many of them will be surveyed at each visit? One number, or a few to compare. For example: 8, or 6, 10 \
               and 14",
        is_put: |answers| reefs(answers).0 != Scope::EachReef,
        answer: |answers, words| {
            let (scope, existing) = reefs(answers);
            said(&mut answers.sites, words, reading::sites(words, scope, existing))
        },
    },
    Question {
        text: "2. How much of the bottom is hard coral, typically? In percent, for example: 28",
        is_put: always,
        answer: |answers, words| said(&mut answers.cover, words, reading::cover(words)),
    },
    Question {
        text: "3. Think of ten of your reefs in this zone and leave out the best and the worst. Between which values do the \
               other eight lie? For example: 20 to 36 (or, if you would rather tell the middle half: half 24 to 32)",
        is_put: always,
        answer: |answers, words| said(&mut answers.reefs_between, words, reading::band(words)),
    },
    Question {
        text: "   From how many lines was the average of each of these reefs made? For example: 6",
        is_put: always,
        answer: |answers, words| said(&mut answers.lines_each, words, reading::lines_each(words)),
    },
    Question {
        text: "4. On one reef, lines of one day: the lowest, the highest, and of how many 10 m lines? For example: 15 to 40 \
               of 6. Or what the reef looks like: even, patches, or bommies (and sand)",
        is_put: always,
        answer: |answers, words| said(&mut answers.lines_on_a_reef, words, reading::on_one_reef(words)),
    },
    Question {
        text: "5. In years when nothing happened, by how many points of cover did the average of one reef move? For \
               example: 3",
        is_put: always,
        answer: |answers, words| said(&mut answers.usual_move, words, reading::usual_move(words)),
    },
    Question {
        text: "6. Next time, where will you read: at the same nails (nails), near the same place within about 10 m (near), \
               anywhere on the same reef (anywhere), or on other reefs (other)?",
        is_put: always,
        answer: |answers, words| said(&mut answers.again, words, reading::again(words)),
    },
    Question {
        text: "   And how many years after the first visit? For example: 2",
        is_put: always,
        answer: |answers, words| said(&mut answers.years_apart, words, reading::years(words)),
    },
    Question {
        text: "7. Which fall (or rise) would make you or the manager act? For example: from 28 to 22, lose 6 points, or lose \
               a fifth of what is there",
        is_put: always,
        answer: |answers, words| {
            let meant = change(words, 100.0 * likely_cover(answers));
            said(&mut answers.change, words, meant)
        },
    },
    Question {
        text: "   And after it, between which values would most sites that began there lie? For example: 18 to 26",
        is_put: always,
        answer: |answers, words| said(&mut answers.change_between, words, reading::band(words)),
    },
    Question {
        text: "8. How many lines did a pair finish in a dive of how many minutes? For example: 3 lines in 50 minutes",
        is_put: always,
        answer: |answers, words| said(&mut answers.dive, words, reading::dive(words)),
    },
    Question {
        text: "9. Will the same people read next time: same, others, or half of them?",
        is_put: always,
        answer: |answers, words| said(&mut answers.crew, words, reading::crew(words)),
    },
];
