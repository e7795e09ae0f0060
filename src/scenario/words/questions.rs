use super::answers::{Answers, Said};
use super::reading;

/// One question as it is put, and what is done with an answer.
pub struct Question {
    /// What is asked, with an example.
    pub text: &'static str,
    /// Puts an answer where it belongs; an error tells what an answer looks like, and the question is put again.
    pub answer: fn(&mut Answers, &str) -> Result<(), String>,
}

/// Puts what was understood beside the words.
fn said<T>(slot: &mut Option<Said<T>>, words: &str, meant: Result<T, String>) -> Result<(), String> {
    *slot = Some(Said { words: words.trim().to_owned(), meant: meant? });
    Ok(())
}

/// Nine questions; two of them have a second part.
pub const QUESTIONS: [Question; 11] = [
    Question {
        text: "1. Which reefs shall the answer speak of: each one by itself (each), a fixed list (these 24), or all reefs \
               like the ones you visit (all)?",
        answer: |answers, words| said(&mut answers.scope, words, reading::scope(words)),
    },
    Question {
        text: "2. How much of the bottom is hard coral, typically? In percent, for example: 28",
        answer: |answers, words| said(&mut answers.cover, words, reading::cover(words)),
    },
    Question {
        text: "3. Think of ten of your reefs in this zone and leave out the best and the worst. Between which values do the \
               other eight lie? For example: 20 to 36 (or, if you would rather tell the middle half: half 24 to 32)",
        answer: |answers, words| said(&mut answers.reefs_between, words, reading::band(words)),
    },
    Question {
        text: "   From how many lines was the average of each of these reefs made? For example: 6",
        answer: |answers, words| said(&mut answers.lines_each, words, reading::lines_each(words)),
    },
    Question {
        text: "4. On one reef, lines of one day: the lowest, the highest, and of how many 10 m lines? For example: 15 to 40 \
               of 6. Or what the reef looks like: even, patches, or bommies (and sand)",
        answer: |answers, words| said(&mut answers.lines_on_a_reef, words, reading::on_one_reef(words)),
    },
    Question {
        text: "5. In years when nothing happened, by how many points of cover did the average of one reef move? For \
               example: 3",
        answer: |answers, words| said(&mut answers.usual_move, words, reading::usual_move(words)),
    },
    Question {
        text: "6. Next time, where will you read: at the same nails (nails), near the same place within about 10 m (near), \
               anywhere on the same reef (anywhere), or on other reefs (other)?",
        answer: |answers, words| said(&mut answers.again, words, reading::again(words)),
    },
    Question {
        text: "7. Which fall (or rise) would make you or the manager act? For example: from 28 to 22",
        answer: |answers, words| said(&mut answers.change, words, reading::change(words)),
    },
    Question {
        text: "   And after it, between which values would most sites that began there lie? For example: 18 to 26",
        answer: |answers, words| said(&mut answers.change_between, words, reading::band(words)),
    },
    Question {
        text: "8. How many lines did a pair finish in a dive of how many minutes? For example: 3 lines in 50 minutes",
        answer: |answers, words| said(&mut answers.dive, words, reading::dive(words)),
    },
    Question {
        text: "9. Will the same people read next time: same, others, or half of them?",
        answer: |answers, words| said(&mut answers.crew, words, reading::crew(words)),
    },
];
