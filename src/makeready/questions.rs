//! What a person is asked: one line each in the registry.

use super::answers::Answers;

/// After which strip a question can be answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum After {
    Nothing,
    Ways,
    Edges,
    Chart,
    /// The strip with the squares, for photographs.
    Squares,
}

/// One question.
#[derive(Clone, Copy, Debug)]
pub struct Question {
    /// Its key among the answers.
    pub key: &'static str,
    pub after: After,
    pub words: &'static str,
    /// From what a person types to a TOML value.
    pub value: fn(&str) -> String,
}

/// All of them, in the order in which they are asked.
pub const QUESTIONS: [Question; 10] = [
    Question { key: "paper", after: After::Nothing, words: "How wide is the paper, in mm: 58, 80 or 112?", value: plain },
    Question {
        key: "right",
        after: After::Ways,
        words: "Which numbers look exactly like the picture on the screen, with no letters in or beside it?\n  For example 1 2 4-7; 0 for none; or the name of a photograph of the strip, such as strip.jpg.",
        value: numbers,
    },
    Question {
        key: "width",
        after: After::Edges,
        words: "Lines grow to the right. What is the number of the last one that ends in a whole hook?",
        value: plain,
    },
    Question {
        key: "cut",
        after: After::Edges,
        words: "What did the printer cut by itself? 1: below the line with the large 1; 2: inside the ladder; 1 2: both; 0: nothing.",
        value: numbers,
    },
    Question {
        key: "edge",
        after: After::Edges,
        words: "If it cut nothing, tear the paper off now. What is the lowest rung left on the ladder above that edge, in mm?",
        value: plain,
    },
    Question {
        key: "length",
        after: After::Chart,
        words: "Lay a ruler along the millimetres at the end. How long are its 100 mm really?",
        value: plain,
    },
    Question {
        key: "type",
        after: After::Chart,
        words: "Under \"Type\", the smallest line that you read at arm's length, in points?",
        value: plain,
    },
    Question {
        key: "gain",
        after: After::Chart,
        words: "Under \"Dot gain\", the number of the coarse patch that is as dark as the band above?",
        value: plain,
    },
    Question {
        key: "lines",
        after: After::Chart,
        words: "Under \"Lines\", the lines of one dot: whole, black-breaks or white-closes?",
        value: word,
    },
    Question {
        key: "seconds",
        after: After::Chart,
        words: "How many seconds did the paper of this strip run? Enter if you did not look.",
        value: plain,
    },
];

/// The questions that are still open.
pub fn open(answers: &Answers) -> Vec<&'static str> {
    QUESTIONS.iter().filter(|question| question.is_open(answers)).map(|question| question.key).collect()
}

impl Question {
    /// Numbers that a photograph could not tell are still asked for.
    pub fn is_open(&self, answers: &Answers) -> bool {
        !answers.has(self.key) || (self.key == "right" && !answers.unsure.is_empty())
    }

    /// What a person is asked, of whom a photograph may have left a part.
    pub fn asked(&self, answers: &Answers) -> String {
        match &answers.unsure[..] {
            unsure @ [_, ..] if self.key == "right" => {
                let unsure = unsure.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
                format!(
                    "The photograph could not tell these: {unsure}. Which of them look exactly like the picture on the screen?\n  0 for none."
                )
            }
            _ => self.words.to_string(),
        }
    }

    /// The value that the answer gives, with what a photograph answered of it.
    pub fn answered(&self, typed: &str, answers: &Answers) -> String {
        let value = (self.value)(typed);
        match &answers.right {
            Some(right) if self.key == "right" && !answers.unsure.is_empty() => {
                let seen: Vec<String> = right.iter().map(|number| format!("{number}, ")).collect();
                format!("[{}{}", seen.concat(), value.trim_start_matches('['))
            }
            _ => value,
        }
    }
}

fn plain(typed: &str) -> String {
    typed.trim().trim_end_matches("mm").trim_end_matches("pt").trim().replace(',', ".")
}

fn word(typed: &str) -> String {
    format!("\"{}\"", typed.trim().to_lowercase().replace(' ', "-"))
}

/// `1 2 4-7` as a list.
fn numbers(typed: &str) -> String {
    let mut all = Vec::new();
    for part in typed.split([' ', ',', ';']).filter(|part| !part.is_empty()) {
        let ends = part.split_once('-').and_then(|(from, to)| Some((from.parse::<u32>().ok()?, to.parse::<u32>().ok()?)));
        match ends {
            Some((from, to)) if to.saturating_sub(from) < 100 => all.extend((from..=to).map(|number| number.to_string())),
            _ => all.push(part.to_string()),
        }
    }
    all.retain(|number| number != "0");
    format!("[{}]", all.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_becomes_a_value() {
        assert_eq!(numbers("1 2, 4-7"), "[1, 2, 4, 5, 6, 7]");
        assert_eq!(numbers("0"), "[]");
        assert_eq!(numbers("one"), "[one]");
        let (answers, _) = Answers::read("right = [1, 4]\nunsure = [6, 14]\n", "a.toml").expect("answers");
        let right = QUESTIONS.iter().find(|question| question.key == "right").expect("asked");
        assert!(right.is_open(&answers) && right.asked(&answers).contains("6, 14"));
        assert_eq!(right.answered("14", &answers), "[1, 4, 14]");
        assert_eq!(right.answered("0", &answers), "[1, 4, ]");
        assert_eq!((plain(" 99,5 mm "), word("Black breaks")), ("99.5".to_string(), "\"black-breaks\"".to_string()));
    }
}
