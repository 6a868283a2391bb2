//! A gesture on a line of a text: refused in words, or only that block differs, and undoing it gives the text again. The first bytes choose
//! gesture, line and numbers.
#![no_main]

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::edit::{self, Change, History, Way};

const WORDS: [&str; 4] = ["Lid", "{{ x }} \"a\\", "# no remark", "```"];

fn change(kind: u8, index: usize, at: [f64; 2], word: &str) -> Change {
    let (label, text) = (word.to_owned(), word.to_owned());
    match kind % 12 {
        0 => Change::CalloutPut { at, label },
        1 => Change::CalloutMove { index, at },
        2 => Change::CalloutRename { index, label },
        3 => Change::CalloutDrop { index },
        4 => Change::BalloonMove { index, at },
        5 => Change::BalloonTail { index, to: (at[0] > 20.0).then_some(at) },
        6 => Change::BalloonText { index, text },
        7 => Change::BalloonKind { index, kind: if at[0] > 50.0 { "sound" } else { "shout" }.into() },
        8 => Change::Crop { crop: (at[0] > 20.0).then_some([at[0] / 2.0, at[1] / 2.0, 40.0, 40.0]) },
        9 => Change::Screen { screen: (at[0] > 50.0).then(|| "ink".into()), background: (at[1] > 50.0).then(|| "white".into()) },
        10 => Change::Width { mm: (at[0] > 20.0).then_some(at[0]) },
        _ => Change::Turn { turn: at[0], tilt: at[1] - 50.0 },
    }
}

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let [kind, line, x, y, text @ ..] = bytes else { return Corpus::Reject };
    let Ok(text) = std::str::from_utf8(text) else { return Corpus::Reject };
    let at = [f64::from(*x), f64::from(*y)].map(|side| side / 2.55);
    let change = change(*kind, usize::from(*x % 3), at, WORDS[usize::from(*y % 4)]);
    let line = u32::from(*line) + 1;
    let Ok(block) = edit::at_line(text, line) else { return Corpus::Keep };
    let _ = edit::read(text, &block);
    match edit::apply(text, &block, &change) {
        Err(refused) => assert!(!refused.words.is_empty()),
        Ok(edited) => {
            let range = block.range();
            assert_eq!(edited.text[..edited.range.start], text[..range.start]);
            assert_eq!(edited.text[edited.range.end..], text[range.end..]);
            let now = edit::at_line(&edited.text, edited.line()).expect("the block stands where it stood");
            edit::read(&edited.text, &now).expect("what was written can be read");
            let mut history = History::default();
            history.keep(text, range, &edited);
            let (undone, _) = history.turn(Way::Undo, &edited.text).expect("undone at once");
            assert_eq!(undone.text, text);
        }
    }
    Corpus::Keep
});
