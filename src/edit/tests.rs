//! Each gesture on small texts: what is written, and that nothing else is.

use super::*;

fn changed(text: &str, line: u32, change: Change) -> String {
    let block = at_line(text, line).expect("a block");
    let edited = apply(text, &block, &change).expect("written");
    assert_eq!(at_line(&edited.text, edited.line()).expect("the same block").range(), edited.range);
    edited.text
}

fn refused(text: &str, line: u32, change: Change) -> Refused {
    match at_line(text, line) {
        Ok(block) => apply(text, &block, &change).expect_err("refused"),
        Err(refused) => refused,
    }
}

fn put(x: f64, y: f64, label: &str) -> Change {
    Change::CalloutPut { at: [x, y], label: label.into() }
}

const FIGURE: &str = "# Heron\n\n```figure\npicture = \"front.jpg\"   # taken in May\nalt     = \"Front\"\n\
                      callouts = [\n  { at = [23, 40], label = \"Mode\" }, # the big one\n  { at = [70, 55], label = \"Socket\" },\n]\n```\n\nEnd.\n";

#[test]
fn a_callout_is_put_moved_renamed_and_dropped() {
    assert_eq!(
        changed(FIGURE, 4, put(10.04, 20.25, "Lid \"A\"")),
        FIGURE.replace("Socket\" },\n", "Socket\" },\n  { at = [10, 20.3], label = \"Lid \\\"A\\\"\" },\n")
    );
    assert_eq!(changed(FIGURE, 3, Change::CalloutMove { index: 1, at: [71.5, 5.0] }), FIGURE.replace("[70, 55]", "[71.5, 5]"));
    assert_eq!(
        changed(FIGURE, 10, Change::CalloutRename { index: 0, label: "Key".into() }),
        FIGURE.replace("\"Mode\"", "\"Key\"")
    );
    assert_eq!(
        changed(FIGURE, 4, Change::CalloutDrop { index: 1 }),
        FIGURE.replace("  { at = [70, 55], label = \"Socket\" },\n", "")
    );
    // What was remarked beside the one that goes stays.
    let dropped = changed(FIGURE, 4, Change::CalloutDrop { index: 0 });
    assert!(
        dropped.contains("# the big one\n  { at = [70, 55], label = \"Socket\" },\n]") && !dropped.contains("Mode"),
        "{dropped}"
    );
}

#[test]
fn the_first_callout_makes_a_list_and_the_last_takes_it_away() {
    let bare = "```figure\npicture = \"a.png\"\nalt     = \"A\"\n```\n";
    let one = changed(bare, 1, put(50.0, 50.0, "Lid"));
    assert_eq!(
        one,
        "```figure\npicture = \"a.png\"\nalt     = \"A\"\ncallouts = [\n  { at = [50, 50], label = \"Lid\" },\n]\n```\n"
    );
    assert_eq!(changed(&one, 1, Change::CalloutDrop { index: 0 }), bare);
}

#[test]
fn lists_of_every_shape_grow_as_they_are_written() {
    let in_line = "```figure\npicture = \"a.png\"\ncallouts = [{ at = [1, 2], label = \"A\" }]\n```\n";
    assert_eq!(changed(in_line, 1, put(3.0, 4.0, "B")), in_line.replace("}]", "}, { at = [3, 4], label = \"B\" }]"));
    let roomy = "```figure\npicture = \"a.png\"\ncallouts = [ { at = [1, 2], label = \"A\" } ]\n```\n";
    assert_eq!(changed(roomy, 1, put(3.0, 4.0, "B")), roomy.replace("} ]", "}, { at = [3, 4], label = \"B\" } ]"));
    let open = "```figure\npicture = \"a.png\"\ncallouts = [\n\t{ at = [1, 2], label = \"A\" } # last\n]\n```\n";
    assert_eq!(changed(open, 1, put(3.0, 4.0, "B")), open.replace("} # last\n", "}, # last\n\t{ at = [3, 4], label = \"B\" }\n"));
    let tables = "```figure\npicture = \"a.png\"\n\n[[callouts]]\nat = [1, 2]\nlabel = \"A\"\n```\n";
    assert_eq!(
        changed(tables, 1, put(3.0, 4.0, "B")),
        tables.replace("\"A\"\n", "\"A\"\n\n[[callouts]]\nat = [3, 4]\nlabel = \"B\"\n")
    );
    assert_eq!(changed(&changed(tables, 1, put(3.0, 4.0, "B")), 1, Change::CalloutDrop { index: 1 }), tables);
    let empty = "```figure\npicture = \"a.png\"\ncallouts = []\n```\n";
    assert_eq!(changed(empty, 1, put(3.0, 4.0, "B")), empty.replace("[]", "[{ at = [3, 4], label = \"B\" }]"));
}

#[test]
fn line_endings_indentation_and_quotes_stay() {
    let crlf = FIGURE.replace('\n', "\r\n");
    assert_eq!(changed(&crlf, 4, put(1.0, 2.0, "Lid")), changed(FIGURE, 4, put(1.0, 2.0, "Lid")).replace('\n', "\r\n"));
    let step = "1. Turn it.\n\n   ```figure\n   picture = \"a.png\"\n   callouts = [\n     { at = [1, 2], label = \"A\" },\n   ]\n   ```\n2. Done.\n";
    assert_eq!(
        changed(step, 4, put(3.0, 4.0, "B")),
        step.replace("\"A\" },\n", "\"A\" },\n     { at = [3, 4], label = \"B\" },\n")
    );
    let quote = "> **WARNING** Hot.\n>\n> ~~~figure\n> picture = \"a.png\"\n> ~~~\n> More.\n";
    assert_eq!(
        changed(quote, 3, Change::Crop { crop: Some([10.0, 0.0, 80.0, 100.0]) }),
        quote.replace("a.png\"\n", "a.png\"\n> crop = [10, 0, 80, 100]\n")
    );
}

#[test]
fn a_picture_of_markdown_becomes_a_block_in_its_place() {
    let text = "# Heron\n\n![Two fingers](img/peg.svg \"The peg\")\n\nMore.\n";
    assert_eq!(
        changed(text, 3, put(50.0, 25.0, "Peg")),
        "# Heron\n\n```figure\npicture = \"img/peg.svg\"\nalt     = \"Two fingers\"\ncaption = \"The peg\"\n\
         callouts = [\n  { at = [50, 25], label = \"Peg\" },\n]\n```\n\nMore.\n"
    );
    // In a step, and on a line of its own among the words of one.
    let step = "1. Press.\n2. Lay the string in the peg.\n   ![Fingers](peg.svg)\n   Then let go.\n3. Wait.\n";
    assert_eq!(
        changed(step, 3, put(50.0, 25.0, "Peg")),
        "1. Press.\n2. Lay the string in the peg.\n   ```figure\n   picture = \"peg.svg\"\n   alt     = \"Fingers\"\n   callouts = [\n     \
         { at = [50, 25], label = \"Peg\" },\n   ]\n   ```\n   Then let go.\n3. Wait.\n"
    );
    let item = "- ![Fingers](peg.svg)\r\n- Two\r\n";
    assert_eq!(
        changed(item, 1, Change::Width { mm: Some(40.0) }),
        "- ```figure\r\n  picture = \"peg.svg\"\r\n  alt     = \"Fingers\"\r\n  width   = \"40 mm\"\r\n  ```\r\n- Two\r\n"
    );
    let quote = "> Hot.\n>\n> ![A](a.png)\n";
    assert!(
        changed(quote, 3, put(1.0, 1.0, "A")).contains("\n> ```figure\n> picture = \"a.png\"\n> alt     = \"A\"\n"),
        "a quote"
    );
}

#[test]
fn a_picture_of_html_becomes_a_block_in_its_place() {
    for html in [
        "<img src=\"a.png\" alt=\"A bird\" title=\"Bird\">",
        "<p align=\"center\"><img alt=\"A bird\" src='a.png' title=Bird></p>",
        "<figure>\n  <img src=\"a.png\" alt=\"A bird\">\n  <figcaption>Bird</figcaption>\n</figure>",
    ] {
        let text = format!("# Heron\n\n{html}\n\nMore.\n");
        let block = "```figure\npicture = \"a.png\"\nalt     = \"A bird\"\ncaption = \"Bird\"\nscreen  = \"drawing\"\n```";
        let screen = Change::Screen { screen: Some("drawing".into()), background: None };
        assert_eq!(changed(&text, 3, screen), format!("# Heron\n\n{block}\n\nMore.\n"), "{html}");
    }
    let wide = "<img src=\"a.png\" alt=\"A\" width=\"600\">\n";
    assert!(changed(wide, 1, put(1.0, 2.0, "B")).contains("width   = \"66%\"\n"));
}

#[test]
fn what_holds_no_block_is_refused_with_lines_to_paste() {
    for (text, line, why) in [
        ("Press ![A](a.png) now.\n", 1, "among words"),
        ("| ![A](a.png) | b |\n|---|---|\n| c | d |\n", 1, "table"),
        ("[![A](a.png)](https://example.com)\n", 1, "link"),
        ("## ![A](a.png)\n", 1, "heading"),
        ("![A](a.png) ![B](b.png)\n", 1, "row"),
        ("![A](a.png)\n![B](b.png)\n", 1, "row"),
        ("![A]({{ unit.photo }})\n", 1, "field"),
        ("![A {{ unit.serial }}](a.png)\n", 1, "field"),
        ("```figure\npicture = \"{{ unit.photo }}\"\n```\n", 1, "made from a field"),
        ("<p><img src=\"a.png\"> and words</p>\n", 1, "HTML"),
        ("<p><img src=\"a.png\"><img src=\"b.png\"></p>\n", 1, "row"),
        ("- [ ] ![A](a.png)\n", 1, "among words"),
        ("Just words.\n", 1, "no picture"),
        ("```figure\npicture = \"a.png\"\n", 1, "closed"),
        ("```figure\npicture = a.png\n```\n", 1, "not TOML"),
        ("```figure\n{% if unit.a %}\npicture = \"a.png\"\n{% endif %}\n```\n", 1, "fields or conditions"),
        ("```\npicture\n```\n", 2, "no picture"),
    ] {
        let refused = refused(text, line, put(1.0, 2.0, "B"));
        assert!(refused.words.contains(why), "{text}: {refused:?}");
    }
    let among = refused("Press ![A](a.png) now.\n", 1, put(1.0, 2.0, "B"));
    assert_eq!(
        among.paste.as_deref(),
        Some("```figure\npicture = \"a.png\"\nalt     = \"A\"\ncallouts = [\n  { at = [1, 2], label = \"B\" },\n]\n```\n")
    );
    // A line of the list that goes on without its indentation would fall out of the list.
    let lazy = "1. Press.\n   ![A](a.png)\nlazily on\n";
    assert!(refused(lazy, 2, put(1.0, 2.0, "B")).words.contains("cannot stand"));
}

#[test]
fn what_means_nothing_is_refused() {
    let change = |index| Change::CalloutMove { index, at: [1.0, 1.0] };
    assert!(refused(FIGURE, 4, change(2)).words.contains("no callout 3"));
    assert!(refused(FIGURE, 4, put(101.0, 0.0, "A")).words.contains("beside"));
    assert!(refused(FIGURE, 4, put(f64::NAN, 0.0, "A")).words.contains("beside"));
    assert!(refused(FIGURE, 4, put(1.0, 0.0, " ")).words.contains("no words"));
    assert!(refused(FIGURE, 4, put(1.0, 0.0, "a\u{1b}b")).words.contains("U+001B"));
    assert!(refused(FIGURE, 4, Change::Turn { turn: 1.0, tilt: 2.0 }).words.contains("picture"));
    assert!(refused(FIGURE, 4, Change::Screen { screen: Some("fine".into()), background: None }).words.contains("screen"));
    assert!(refused(FIGURE, 4, Change::Crop { crop: Some([50.0, 0.0, 60.0, 10.0]) }).words.contains("leaves"));
}

#[test]
fn words_never_become_a_field() {
    let text = "+++\ntitle = \"H\"\n+++\n\n```figure\npicture = \"a.png\"\nalt = \"A\"\n```\n";
    let label = "{{ unit.serial }} {% include \"x\" %} {# a #} {{{ \\ \" \u{7f}".replace('\u{7f}', "");
    let written = changed(text, 5, put(1.0, 2.0, &label));
    let body = written.split("callouts").nth(1).unwrap();
    assert!(!["{{", "{%", "{#"].iter().any(|tag| body.contains(tag)), "{written}");
    let source = crate::manual::read_text("a.md", &written).expect("no template is broken");
    let document = crate::manual::parse(&source).expect("read");
    let mut labels = Vec::new();
    document.walk(&mut |_, block| {
        if let crate::manual::document::Kind::Figure(figure) = &block.kind {
            labels.extend(figure.callouts.iter().map(|callout| callout.label.clone()));
        }
    });
    assert_eq!(labels, [label.trim()]);
}

#[test]
fn what_holds_a_field_is_left_to_the_file() {
    let text = "```figure\npicture = \"a.png\"\ncallouts = [{ at = [1, 2], label = \"{{ unit.name }}\" }]\n```\n";
    assert!(refused(text, 1, Change::CalloutRename { index: 0, label: "A".into() }).words.contains("field"));
    assert_eq!(changed(text, 1, Change::CalloutMove { index: 0, at: [5.0, 6.0] }), text.replace("[1, 2]", "[5, 6]"));
}

const COMIC: &str = "```comic\ncolumns = 2\n\n[[panel]]\npicture = \"a.png\"\n\n  [[panel.balloon]]\n  text = \"Hello\"\n  at   = [70, 18]\n  \
                     tail = [60, 40]\n\n[[panel]]\nspan = 2\nballoon = [{ text = \"Oh\", at = [5, 5] }, { text = \"Bang\", at = [6, 6], kind = \"sound\", size = 200 }]\n```\n";

#[test]
fn balloons_move_point_speak_and_change_their_kind() {
    assert_eq!(changed(COMIC, 8, Change::BalloonMove { index: 0, at: [12.0, 13.5] }), COMIC.replace("[70, 18]", "[12, 13.5]"));
    assert_eq!(changed(COMIC, 1, Change::BalloonMove { index: 1, at: [7.0, 8.0] }), COMIC.replace("[5, 5]", "[7, 8]"));
    assert_eq!(changed(COMIC, 1, Change::BalloonTail { index: 0, to: Some([1.0, 2.0]) }), COMIC.replace("[60, 40]", "[1, 2]"));
    assert_eq!(changed(COMIC, 1, Change::BalloonTail { index: 0, to: None }), COMIC.replace("  tail = [60, 40]\n", ""));
    assert_eq!(
        changed(COMIC, 1, Change::BalloonTail { index: 1, to: Some([1.0, 2.0]) }),
        COMIC.replace("at = [5, 5] }", "at = [5, 5], tail = [1, 2] }")
    );
    assert_eq!(
        changed(COMIC, 1, Change::BalloonText { index: 0, text: "Two\nlines".into() }),
        COMIC.replace("\"Hello\"", "\"Two\\nlines\"")
    );
    assert_eq!(
        changed(COMIC, 1, Change::BalloonKind { index: 0, kind: "shout".into() }),
        COMIC.replace("tail = [60, 40]\n", "tail = [60, 40]\n  kind = \"shout\"\n")
    );
    assert_eq!(
        changed(COMIC, 1, Change::BalloonKind { index: 2, kind: "thought".into() }),
        COMIC.replace("kind = \"sound\", size = 200", "kind = \"thought\"")
    );
}

#[test]
fn keys_of_a_figure_come_and_go_and_remarks_stay() {
    let text = "```figure\npicture = \"a.png\" # one\n# above\ncrop    = [0, 0, 50, 50] # behind\nscreen  = \"photo\"\n```\n";
    assert_eq!(changed(text, 1, Change::Crop { crop: None }), text.replace("crop    = [0, 0, 50, 50] # behind\n", "# behind\n"));
    assert_eq!(
        changed(text, 1, Change::Screen { screen: Some("ink".into()), background: Some("white".into()) }),
        text.replace("\"photo\"\n", "\"ink\"\nbackground = \"white\"\n")
    );
    let last = "```figure\npicture = \"a.png\"\nwidth = \"60 mm\" # checked\n```\n";
    assert_eq!(changed(last, 1, Change::Width { mm: None }), last.replace("width = \"60 mm\" # checked", "# checked"));
    assert_eq!(changed(last, 1, Change::Width { mm: Some(41.26) }), last.replace("60 mm", "41.3 mm"));
}

#[test]
fn a_model_is_turned() {
    let text = "```figure\nmodel = \"a.stl\"\nalt   = \"A\"\nview  = \"front\"\n```\n";
    assert_eq!(
        changed(text, 1, Change::Turn { turn: 30.04, tilt: -20.0 }),
        text.replace("\"front\"", "{ turn = 30, tilt = -20 }")
    );
    let turned = text.replace("\"front\"", "{ turn = 1, tilt = 2 } # so");
    assert_eq!(
        changed(&turned, 1, Change::Turn { turn: 3.5, tilt: 4.0 }),
        turned.replace("turn = 1, tilt = 2", "turn = 3.5, tilt = 4")
    );
    assert!(refused(text, 1, put(1.0, 1.0, "A")).words.contains("model"));
}

#[test]
fn a_block_is_followed_where_it_moved_and_nowhere_else() {
    let find = |before: &str, words: &str, now: &str| {
        let at = before.find(words).unwrap();
        follow(before, at..at + words.len(), now).map(|range| now[range].to_owned())
    };
    assert_eq!(find("a BLOCK b", "BLOCK", "new words a BLOCK b").as_deref(), Some("BLOCK"));
    assert_eq!(find("a BLOCK b", "BLOCK", "x BLOCK y").as_deref(), Some("BLOCK"));
    assert_eq!(find("a BLOCK b", "BLOCK", "a BLACK b"), None);
    // One of two alike has gone: which, nobody knows.
    assert_eq!(find("a BLOCK b BLOCK c", "BLOCK", "x BLOCK y"), None);
    assert_eq!(find("ä BLOCK ö", "BLOCK", "ü BLOCK ö").as_deref(), Some("BLOCK"));
}

#[test]
fn gestures_are_undone_and_done_again_on_what_the_file_says_by_then() {
    let mut history = History::default();
    let block = at_line(FIGURE, 4).unwrap();
    let edited = apply(FIGURE, &block, &Change::CalloutMove { index: 0, at: [1.0, 2.0] }).unwrap();
    history.keep(FIGURE, block.range(), &edited);
    // The editor wrote elsewhere, and in another line of the same block.
    let later = format!("Before.\n\n{}", edited.text.replace("End.", "The end.")).replace("\"Front\"", "\"The front\"");
    let (undone, range) = history.turn(Way::Undo, &later).expect("undone");
    assert_eq!(undone.text, later.replace("[1, 2]", "[23, 40]"));
    history.turned(Way::Undo, &later, range, &undone);
    let (again, range) = history.turn(Way::Redo, &undone.text).expect("done again");
    assert_eq!(again.text, later);
    history.turned(Way::Redo, &undone.text, range, &again);
    let refused = history.turn(Way::Undo, &later.replace("[1, 2]", "[9, 9]")).expect_err("changed since");
    assert!(refused.words.contains("changed in the file since"), "{refused:?}");
    assert!(history.turn(Way::Undo, &later).expect_err("nothing").words.contains("nothing to undo"));
}

#[test]
fn what_a_block_says_is_read_as_it_is_written() {
    let figure = read(FIGURE, &at_line(FIGURE, 5).unwrap()).unwrap();
    assert_eq!((figure.kind, figure.callouts.len()), ("figure", 2));
    assert_eq!(figure.callouts[1], Callout { at: [70.0, 55.0], label: "Socket".into() });
    let comic = read(COMIC, &at_line(COMIC, 5).unwrap()).unwrap();
    assert_eq!(comic.panels, [Panel { line: 4, columns: 1 }, Panel { line: 12, columns: 2 }]);
    let told: Vec<_> = comic.balloons.iter().map(|balloon| (balloon.panel, &*balloon.kind, &*balloon.text)).collect();
    assert_eq!(told, [(0, "speech", "Hello"), (1, "speech", "Oh"), (1, "sound", "Bang")]);
}

mod interleaved;
mod soup;

/// A change that needs no block, laid on the very text.
fn laid(text: &str, line: u32, change: Change) -> String {
    lay(text, line, text, &change).expect("written").0.text
}

#[test]
fn what_a_picture_shows_is_written_where_the_picture_is() {
    let alt = |words: &str| Change::Alt { text: words.into(), panel: None };
    assert_eq!(laid("Press ![](a.png) now.\n", 1, alt("A [b] {% c")), "Press ![A \\[b\\] \\{\\% c](a.png) now.\n");
    assert_eq!(laid("1. ![ ](<a b.png> \"T\")\n", 1, alt("A")), "1. ![A](<a b.png> \"T\")\n");
    assert_eq!(
        laid("<p><img src=a.png></p>\n", 1, alt("A \"b\" & {{")),
        "<p><img alt=\"A &quot;b&quot; &amp; &#123;&#123;\" src=a.png></p>\n"
    );
    assert_eq!(laid("<img src=\"a.png\" alt=\"\"/>\n", 1, alt("A")), "<img src=\"a.png\" alt=\"A\"/>\n");
    assert_eq!(laid(FIGURE, 4, alt("The front")), FIGURE.replace("\"Front\"", "\"The front\""));
    assert_eq!(
        laid(COMIC, 5, Change::Alt { text: "A".into(), panel: Some(0) }),
        COMIC.replace("\"a.png\"\n", "\"a.png\"\nalt = \"A\"\n")
    );
    let model = "```figure\nmodel = \"a.stl\"\n```\n";
    assert_eq!(laid(model, 1, alt("A")), model.replace("stl\"\n", "stl\"\nalt = \"A\"\n"));
}

#[test]
fn a_header_is_written_into_or_made() {
    let maker = || Change::Header { table: "product".into(), key: "maker".into(), value: "Reedbed Works".into() };
    let number = || Change::Header { table: String::new(), key: "document".into(), value: "HRN-QS".into() };
    let text = "+++\r\ntitle    = \"Heron\"   # the bird\r\nrevision = \"C\"\r\n\r\n[product]\r\nmodel = \"HRN-1\"\r\n+++\r\n\r\n# Heron\r\n";
    assert_eq!(laid(text, 1, maker()), text.replace("HRN-1\"\r\n", "HRN-1\"\r\nmaker = \"Reedbed Works\"\r\n"));
    assert_eq!(laid(text, 1, number()), text.replace("\"C\"\r\n", "\"C\"\r\ndocument = \"HRN-QS\"\r\n"));
    assert_eq!(laid("# Heron\n", 1, maker()), "+++\n[product]\nmaker = \"Reedbed Works\"\n+++\n\n# Heron\n");
    for (guide, why) in [("---\ntitle: Heron\n---\n\n# Heron\n", "front matter"), ("# Heron {{ x }}\n", "template")] {
        let refused = lay(guide, 1, guide, &maker()).expect_err("refused");
        assert!(refused.words.contains(why) && refused.paste.is_some(), "{refused:?}");
    }
    let other = Change::Header { table: "product".into(), key: "colour".into(), value: "A".into() };
    assert!(lay(text, 1, text, &other).expect_err("refused").words.contains("no key"));
}

#[test]
fn a_rule_is_allowed_with_its_reason() {
    let allow = || Change::Allow { rule: "double-space".into(), reason: "It is a table.".into() };
    let entry = "{ rule = \"double-space\", reason = \"It is a table.\" }";
    let bare = "+++\ntitle = \"H\"\n+++\n\n# H\n";
    assert_eq!(laid(bare, 1, allow()), format!("+++\ntitle = \"H\"\n\n[preflight]\nallow = [{entry}]\n+++\n\n# H\n"));
    let some = "+++\n[preflight]\nallow = [\"type-small\", \"double-space\"] # both\n+++\n\n# H\n";
    assert_eq!(laid(some, 1, allow()), some.replace("\"double-space\"", entry));
    let one = "+++\n[preflight]\nallow = [\"type-small\"]\n+++\n\n# H\n";
    assert_eq!(laid(one, 1, allow()), one.replace("small\"]", &format!("small\", {entry}]")));
}

#[test]
fn a_word_of_a_line_is_spelt_otherwise() {
    let spelt = |column, from: &str, to: &str| Change::Spelling { column, from: from.into(), to: to.into() };
    let text = "# H\n\n```figure\npicture = \"Front.JPG\"\ncapton = \"capton\"\n```\n";
    assert_eq!(laid(text, 5, spelt(1, "capton", "caption")), text.replace("capton =", "caption ="));
    assert_eq!(laid(text, 4, spelt(11, "Front.JPG", "front.jpg")), text.replace("Front.JPG", "front.jpg"));
    assert!(lay(text, 5, text, &spelt(1, "capt", "caption")).expect_err("refused").words.contains("does not stand"));
    assert!(lay(text, 5, text, &spelt(1, "capton", "a\" = [")).expect_err("refused").words.contains("cannot stand"));
    let moved = format!("New.\n\n{text}");
    let (edited, _) = lay(text, 5, &moved, &spelt(1, "capton", "caption")).expect("written");
    assert_eq!(edited.text, moved.replace("capton =", "caption ="));
}

#[test]
fn a_picture_is_put_behind_what_it_was_dropped_on() {
    let put = || Change::PicturePut { address: "pictures/lid.jpg".into() };
    assert_eq!(laid("# H\n\nOne\ntwo.\n\nThree.\n", 4, put()), "# H\n\nOne\ntwo.\n\n![](pictures/lid.jpg)\n\nThree.\n");
    assert_eq!(laid("# H\nOne.\n", 1, put()), "# H\n\n![](pictures/lid.jpg)\n\nOne.\n");
    assert_eq!(laid("# H", 1, put()), "# H\n\n![](pictures/lid.jpg)");
    assert_eq!(laid("1. One.\r\n2. Two.\r\n", 1, put()), "1. One.\r\n\r\n   ![](pictures/lid.jpg)\r\n\r\n2. Two.\r\n");
    assert_eq!(laid("> One.\n> Two.\n", 1, put()), "> One.\n> Two.\n>\n> ![](pictures/lid.jpg)\n");
    for (text, last) in [("# H\n\nOne\ntwo.\n\nThree.\n", 6), ("> One.\n> Two.\nThree.\n", 5), ("1. One.\r\n2. Two.\r\n", 3)] {
        assert_eq!(lay(text, 1 + u32::from(last == 6) * 3, text, &put()).expect("written").0.last_line(), last, "{text:?}");
    }
    assert!(laid(FIGURE, 5, put()).contains("]\n```\n\n![](pictures/lid.jpg)\n\nEnd.\n"));
    let refused = lay("# H\n\n\n", 3, "# H\n\n\n", &put()).expect_err("refused");
    assert_eq!(refused.paste.as_deref(), Some("![](pictures/lid.jpg)\n"));
}
