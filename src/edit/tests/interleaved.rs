//! An editor saves while gestures are laid on what a page saw before: nothing of either is lost.

use proptest::prelude::*;

use super::*;

/// One thing that happens to the file.
#[derive(Clone, Debug)]
enum Happens {
    /// The page looks at the file as it is.
    Look,
    /// A gesture on one of the blocks of what the page saw.
    Gesture(usize, Change),
    /// The editor puts words somewhere between the lines, takes a line away, or writes on in a line.
    Insert(usize, &'static str),
    Delete(usize),
    Append(usize, &'static str),
    Undo,
    Redo,
}

pub fn gestures() -> impl Strategy<Value = Change> {
    let place = || (0u32..=1000, 0u32..=1000).prop_map(|(x, y)| [f64::from(x) / 10.0, f64::from(y) / 10.0]);
    let words = || prop::sample::select(vec!["Lid", "Mode \"key\"", "{{ x }}", "# no remark", "漢字", "a\\b", "```"]);
    prop_oneof![
        (place(), words()).prop_map(|(at, label)| Change::CalloutPut { at, label: label.into() }),
        (0usize..3, place()).prop_map(|(index, at)| Change::CalloutMove { index, at }),
        (0usize..3, words()).prop_map(|(index, label)| Change::CalloutRename { index, label: label.into() }),
        (0usize..3).prop_map(|index| Change::CalloutDrop { index }),
        (0usize..3, place()).prop_map(|(index, at)| Change::BalloonMove { index, at }),
        (0usize..3, prop::option::of(place())).prop_map(|(index, to)| Change::BalloonTail { index, to }),
        (0usize..3, words()).prop_map(|(index, text)| Change::BalloonText { index, text: text.into() }),
        (0usize..3, prop::sample::select(values::KINDS.to_vec()))
            .prop_map(|(index, kind)| Change::BalloonKind { index, kind: kind.into() }),
        prop::option::of(Just([10.0, 20.0, 30.5, 40.0])).prop_map(|crop| Change::Crop { crop }),
        Just(Change::Screen { screen: Some("ink".into()), background: None }),
        prop::option::of(20.0f64..80.0).prop_map(|mm| Change::Width { mm }),
    ]
}

fn happenings() -> impl Strategy<Value = Vec<Happens>> {
    let lines = || {
        prop::sample::select(vec![
            "",
            "Words.",
            "![B](b.png)",
            "- item",
            "> quote",
            "```",
            "## More",
            "# remark",
            "{{ unit.x }}",
            "  far",
        ])
    };
    let one = prop_oneof![
        2 => Just(Happens::Look),
        5 => (0usize..6, gestures()).prop_map(|(block, change)| Happens::Gesture(block, change)),
        2 => (0usize..40, lines()).prop_map(|(at, words)| Happens::Insert(at, words)),
        1 => (0usize..40).prop_map(Happens::Delete),
        1 => (0usize..40, prop::sample::select(vec![" on", "\"", "]", "é"])).prop_map(|(at, words)| Happens::Append(at, words)),
        1 => Just(Happens::Undo),
        1 => Just(Happens::Redo),
    ];
    prop::collection::vec(one, 1..25)
}

/// A manual with all that can be laid a hand on.
fn manual(end: &str) -> String {
    let text = format!(
        "+++\ntitle = \"H\"\n+++\n\n# Heron\n\n{FIGURE}\n1. Step.\n\n   ![A](a.png \"T\")\n2. Two.\n\n{COMIC}\n![Last](last.jpg)\n\n\
         <img src=\"c.png\" alt=\"C\">\n\n```figure\npicture = \"b.png\"\n\n[[callouts]]\nat = [1, 2]\nlabel = \"One\" # 1\n```\n"
    );
    text.replace('\n', end)
}

/// Lines on which the blocks of a text begin.
fn blocks(text: &str) -> Vec<u32> {
    let (mut found, mut line, lines) = (Vec::new(), 1, text.lines().count() as u32);
    while line <= lines {
        match at_line(text, line) {
            Ok(block) => {
                found.push(line);
                line = line_of(text, block.range().end) + 1;
            }
            Err(_) => line += 1,
        }
    }
    found
}

/// The remarks of a block's TOML.
fn remarks(block: &str) -> Vec<&str> {
    block.lines().filter_map(|line| Some(line.split_once("# ")?.1)).filter(|words| !words.contains('"')).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::default())]

    #[test]
    fn an_editor_and_a_hand_lose_nothing_of_each_other(crlf in any::<bool>(), happenings in happenings()) {
        let end = if crlf { "\r\n" } else { "\n" };
        let mut file = manual(end);
        let mut seen = file.clone();
        let mut history = History::default();
        for happens in happenings {
            let before = file.clone();
            let mut lines: Vec<&str> = before.split(end).collect();
            match happens {
                Happens::Look => seen.clone_from(&file),
                Happens::Insert(at, words) => {
                    lines.insert(at.min(lines.len()), words);
                    file = lines.join(end);
                }
                Happens::Delete(at) => {
                    lines.remove(at % lines.len());
                    file = lines.join(end);
                }
                Happens::Append(at, words) => {
                    let at = at % lines.len();
                    let longer = format!("{}{words}", lines[at]);
                    lines[at] = &longer;
                    file = lines.join(end);
                }
                Happens::Gesture(which, change) => {
                    let places = blocks(&seen);
                    let Some(line) = places.get(which % places.len().max(1)) else { continue };
                    let found = at_line(&seen, *line).expect("a block was there");
                    let laid = lay(&seen, *line, &before, &change);
                    let Ok((edited, range)) = laid else { continue };
                    // All that the editor wrote outside the block is there, byte for byte, and the block was the one that the page saw.
                    prop_assert_eq!(&before[range.clone()], &seen[found.range()]);
                    prop_assert_eq!(&edited.text[..edited.range.start], &before[..range.start]);
                    prop_assert_eq!(&edited.text[edited.range.end..], &before[range.end..]);
                    // What the gesture says is there, read by other hands; what was remarked in the block too.
                    let now = at_line(&edited.text, edited.line()).expect("the block");
                    let (was, is) = (read(&before, &at_line(&before, line_of(&before, range.start)).unwrap()).unwrap(), read(&edited.text, &now).unwrap());
                    let block = &edited.text[edited.range.clone()];
                    assert_said(&change, &was, &is);
                    prop_assert!(!crlf || !block.replace("\r\n", "").contains('\n'));
                    for remark in remarks(&before[range.clone()]) {
                        prop_assert!(block.contains(remark), "{remark:?} of {} is not in {block}", &before[range.clone()]);
                    }
                    history.keep(&before, range, &edited);
                    file.clone_from(&edited.text);
                    seen.clone_from(&file);
                }
                Happens::Undo | Happens::Redo => {
                    let way = if matches!(happens, Happens::Undo) { Way::Undo } else { Way::Redo };
                    let Ok((edited, range)) = history.turn(way, &before) else { continue };
                    prop_assert_eq!(&edited.text[..edited.range.start], &before[..range.start]);
                    prop_assert_eq!(&edited.text[edited.range.end..], &before[range.end..]);
                    history.turned(way, &before, range, &edited);
                    let back = if way == Way::Undo { Way::Redo } else { Way::Undo };
                    let (again, _) = history.turn(back, &edited.text).expect("at once it can be turned back");
                    prop_assert_eq!(&again.text, &before);
                    file.clone_from(&edited.text);
                }
            }
        }
    }
}

/// The change is in the block, and what it did not mean is as it was.
fn assert_said(change: &Change, was: &Read, is: &Read) {
    let rounded = |at: &At| at.map(values::tenths);
    let mut expected = Read { kind: is.kind, width: is.width.clone(), ..was.clone() };
    match change {
        Change::CalloutPut { at, label } => expected.callouts.push(Callout { at: rounded(at), label: label.clone() }),
        Change::CalloutMove { index, at } => expected.callouts[*index].at = rounded(at),
        Change::CalloutRename { index, label } => expected.callouts[*index].label.clone_from(label),
        Change::CalloutDrop { index } => drop(expected.callouts.remove(*index)),
        Change::BalloonMove { index, at } => expected.balloons[*index].at = rounded(at),
        Change::BalloonTail { index, to } => expected.balloons[*index].tail = to.as_ref().map(rounded),
        Change::BalloonText { index, text } => expected.balloons[*index].text.clone_from(text),
        Change::BalloonKind { index, kind } => expected.balloons[*index].kind.clone_from(kind),
        Change::Crop { crop } => expected.crop = *crop,
        Change::Screen { screen, background } => (expected.screen, expected.background) = (screen.clone(), background.clone()),
        Change::Width { mm } => assert_eq!(is.width, mm.map(|mm| format!("{} mm", values::tenths(mm)))),
        other => unreachable!("no such gesture is made here: {other:?}"),
    }
    let lines = |read: &Read| Read {
        panels: read.panels.iter().map(|panel| Panel { line: 0, ..panel.clone() }).collect(),
        ..read.clone()
    };
    assert_eq!(lines(is), lines(&expected), "{change:?}");
}
