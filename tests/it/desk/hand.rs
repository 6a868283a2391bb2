//! Gestures on the desk as the program writes them: the file on disk is the judge.

use std::fs;
use std::process::Command;

use serde_json::{Value, json};

use super::run::Running;

const MANUAL: &str = "+++\r\ntitle = \"Heron\"\r\n+++\r\n\r\n# Heron\r\n\r\n![A grey field](img/front.png \"Front\")\r\n\r\n{% include \"more.md\" %}\r\n";
const MORE: &str = "\u{FEFF}## More\n\n```figure\npicture = \"img/front.png\" # grey\nalt = \"Grey\"\n```\n";

struct Laid {
    folder: tempfile::TempDir,
    desk: Running,
}

fn laid(more: &[&str]) -> Laid {
    let folder = tempfile::tempdir().expect("a folder");
    fs::create_dir(folder.path().join("img")).expect("a folder");
    let grey = image::RgbImage::from_fn(64, 48, |x, y| image::Rgb([x as u8 * 3, y as u8 * 4, 90]));
    grey.save(folder.path().join("img/front.png")).expect("a picture");
    fs::write(folder.path().join("heron.md"), MANUAL).expect("written");
    fs::write(folder.path().join("more.md"), MORE).expect("written");
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(["desk", "heron.md", "--quiet"]).args(more).current_dir(folder.path());
    Laid { desk: Running::open(command), folder }
}

impl Laid {
    fn look(&self, file: &str, line: u32) -> Value {
        let (granted, looked) = self.desk.wish("/edit/look", &json!({ "view": {}, "file": file, "line": line }).to_string());
        assert!(granted, "{looked}");
        looked
    }

    fn change(&self, file: &str, line: u32, revision: &Value, change: Value) -> (bool, Value) {
        let gesture = json!({ "view": {}, "file": file, "line": line, "revision": revision, "change": change });
        self.desk.wish("/edit/change", &gesture.to_string())
    }

    fn text(&self, file: &str) -> String {
        fs::read_to_string(self.folder.path().join(file)).expect("there")
    }
}

fn put(x: f64, label: &str) -> Value {
    json!({ "what": "callout-put", "at": [x, 20], "label": label })
}

#[test]
fn gestures_are_in_the_file_one_write_each_and_can_be_taken_back() {
    let laid = laid(&[]);
    let looked = laid.look("heron.md", 7);
    assert_eq!((&looked["kind"], &looked["writable"], &looked["width"]), (&json!("picture"), &json!(true), &json!(64)));
    assert_eq!(looked["block"], json!({ "file": "heron.md", "first": 7, "last": 7 }));
    let (granted, first) = laid.change("heron.md", 7, &looked["revision"], put(10.0, "Lid"));
    assert!(granted, "{first}");
    let block = "```figure\r\npicture = \"img/front.png\"\r\nalt     = \"A grey field\"\r\ncaption = \"Front\"\r\ncallouts = [\r\n  \
                 { at = [10, 20], label = \"Lid\" },\r\n]\r\n```";
    let one = MANUAL.replace("![A grey field](img/front.png \"Front\")", block);
    assert_eq!(laid.text("heron.md"), one);
    // The next one, on what the answer said.
    let (granted, second) = laid.change("heron.md", 7, &first["revision"], put(30.5, "Key"));
    assert!(granted, "{second}");
    assert_eq!(laid.text("heron.md"), one.replace("\"Lid\" },\r\n", "\"Lid\" },\r\n  { at = [30.5, 20], label = \"Key\" },\r\n"));
    assert_eq!(
        laid.look("heron.md", 9)["callouts"],
        json!([{"at": [10.0, 20.0], "label": "Lid"}, {"at": [30.5, 20.0], "label": "Key"}])
    );
    // Back twice, forth twice, and back again.
    let named = json!({ "file": "heron.md" }).to_string();
    let texts: Vec<String> = ["undo", "undo", "redo", "redo", "undo"]
        .iter()
        .map(|way| {
            let (granted, told) = laid.desk.wish(&format!("/edit/{way}"), &named);
            assert!(granted, "{told}");
            laid.text("heron.md")
        })
        .collect();
    assert_eq!(texts[0], one);
    assert_eq!(texts[1], MANUAL);
    assert_eq!((&texts[2], &texts[4]), (&one, &one));
    assert!(texts[3].contains("Key"));
    let (granted, told) = laid.desk.wish("/edit/undo", &json!({ "file": "more.md" }).to_string());
    assert!(!granted && told["message"].as_str().is_some_and(|words| words.contains("Nothing was done")), "{told}");
}

#[test]
fn an_editor_that_saved_meanwhile_loses_nothing() {
    let laid = laid(&[]);
    let looked = laid.look("more.md", 4);
    let path = laid.folder.path().join("more.md");
    // The block moved: the gesture follows it. The mark before the text stays.
    fs::write(&path, MORE.replace("## More\n", "## More\n\nWritten meanwhile.\n")).expect("saved");
    let (granted, told) = laid.change("more.md", 4, &looked["revision"], json!({"what": "crop", "crop": [0, 0, 50.25, 100]}));
    assert!(granted, "{told}");
    let merged = MORE
        .replace("## More\n", "## More\n\nWritten meanwhile.\n")
        .replace("\"Grey\"\n", "\"Grey\"\ncrop = [0, 0, 50.3, 100]\n");
    assert_eq!(laid.text("more.md"), merged);
    // The block is another now: refused with the lines to paste, and the file stays as the editor saved it.
    let saved = merged.replace("\"Grey\"", "\"A grey field\"");
    fs::write(&path, &saved).expect("saved");
    let (granted, told) = laid.change("more.md", 6, &told["revision"], put(5.0, "Lid"));
    assert!(!granted, "{told}");
    assert!(told["message"].as_str().is_some_and(|words| words.contains("changed in the file meanwhile")), "{told}");
    assert!(told["paste"].as_str().is_some_and(|lines| lines.starts_with("```figure\n") && lines.contains("Lid")), "{told}");
    assert_eq!(laid.text("more.md"), saved);
}

#[test]
fn only_files_of_the_manual_that_a_page_saw_are_written_and_none_by_a_desk_that_only_shows() {
    let showing = laid(&["--read-only"]);
    let looked = showing.look("heron.md", 7);
    assert!(looked["writable"].as_str().is_some_and(|words| words.contains("--read-only")), "{looked}");
    let (granted, told) = showing.change("heron.md", 7, &looked["revision"], put(1.0, "A"));
    assert!(!granted && told["message"].as_str().is_some_and(|words| words.contains("--read-only")), "{told}");
    assert_eq!(showing.text("heron.md"), MANUAL);
    let laid = laid(&[]);
    fs::write(laid.folder.path().join("other.md"), MANUAL).expect("written");
    let (granted, told) = laid.desk.wish("/edit/look", &json!({ "view": {}, "file": "other.md", "line": 7 }).to_string());
    assert!(!granted, "{told}");
    for (file, revision) in [("other.md", looked["revision"].clone()), ("../heron.md", json!("")), ("heron.md", json!("0"))] {
        let (granted, told) = laid.change(file, 7, &revision, put(1.0, "A"));
        assert!(!granted && told["message"].as_str().is_some_and(|words| words.contains("no longer knows")), "{told}");
    }
    assert_eq!(laid.text("other.md"), MANUAL);
}

#[test]
fn the_picture_is_shown_in_colour_and_nothing_else_of_the_disk() {
    let laid = laid(&[]);
    let looked = laid.look("heron.md", 7);
    let answer = laid.desk.get(looked["picture"].as_str().expect("an address"));
    assert!(answer.starts_with("HTTP/1.1 200 ") && answer.contains("content-type: image/"), "{answer}");
    for address in
        ["/edit/picture?file=heron.md&line=5", "/edit/picture?file=img/front.png&line=1", "/edit/picture?file=..%2Fx&line=1"]
    {
        assert!(laid.desk.get(address).contains("No picture stands there."), "{address}");
    }
    assert!(laid.desk.get("/edit/picture?path=heron.md").starts_with("HTTP/1.1 400 "));
}

#[test]
#[cfg(unix)]
fn a_link_is_followed_to_its_file_and_the_mode_stays() {
    use std::os::unix::fs::PermissionsExt;
    let laid = laid(&[]);
    let at = |name: &str| laid.folder.path().join(name);
    fs::create_dir(at("texts")).expect("a folder");
    fs::rename(at("more.md"), at("texts/real.md")).expect("moved");
    fs::set_permissions(at("texts/real.md"), fs::Permissions::from_mode(0o640)).expect("a mode");
    std::os::unix::fs::symlink("texts/real.md", at("more.md")).expect("a link");
    let looked = laid.look("more.md", 4);
    let (granted, told) = laid.change("more.md", 4, &looked["revision"], put(5.0, "Lid"));
    assert!(granted, "{told}");
    assert!(fs::symlink_metadata(at("more.md")).expect("there").is_symlink());
    assert!(fs::read_to_string(at("texts/real.md")).expect("there").contains("Lid"));
    assert_eq!(fs::metadata(at("texts/real.md")).expect("there").permissions().mode() & 0o777, 0o640);
    // One that leads out of the project is not written.
    let outside = tempfile::tempdir().expect("a folder");
    fs::write(outside.path().join("more.md"), MORE).expect("written");
    fs::remove_file(at("more.md")).expect("gone");
    std::os::unix::fs::symlink(outside.path().join("more.md"), at("more.md")).expect("a link");
    let (granted, told) = laid.change("more.md", 4, &told["revision"], put(6.0, "Key"));
    assert!(!granted, "{told}");
    assert_eq!(fs::read_to_string(outside.path().join("more.md")).expect("there"), MORE);
}

#[test]
fn a_finding_is_mended_when_its_difference_was_seen() {
    let laid = laid(&[]);
    let mends = |rule: &str, file: &str, line: u32, column: u32, hint: &str| {
        let finding = json!({ "rule": rule, "file": file, "line": line, "column": column, "hint": hint });
        let (granted, mends) = laid.desk.wish("/edit/mend", &json!({ "view": {}, "finding": finding }).to_string());
        assert!(granted, "{mends}");
        mends
    };
    let act = |mend: &Value, said: &str, show: bool| {
        let mut change = mend["change"].clone();
        if let Some(name) = mend["field"]["name"].as_str() {
            change[name] = said.into();
        }
        let gesture =
            json!({ "file": mend["file"], "line": mend["line"], "revision": mend["revision"], "change": change, "show": show });
        let (granted, told) = laid.desk.wish("/edit/change", &gesture.to_string());
        assert!(granted, "{told}");
        told
    };
    // A header that lacks its maker: shown first, and nothing is written by that.
    let maker = &mends("maker-missing", "heron.md", 1, 1, "")[0];
    let shown = act(maker, "Reedbed Works", true);
    assert_eq!((&shown["line"], &shown["was"]), (&json!(3), &json!([])));
    assert_eq!(shown["is"], json!(["", "[product]", "maker = \"Reedbed Works\""]));
    assert_eq!(laid.text("heron.md"), MANUAL);
    act(maker, "Reedbed Works", false);
    let with_maker = MANUAL.replace("\"Heron\"\r\n", "\"Heron\"\r\n\r\n[product]\r\nmaker = \"Reedbed Works\"\r\n");
    assert_eq!(laid.text("heron.md"), with_maker);
    // A rule that is allowed, with its reason.
    let allowed = mends("double-space", "more.md", 4, 1, "");
    act(&allowed[0], "It is a table.", false);
    assert!(
        laid.text("heron.md")
            .contains("[preflight]\r\nallow = [{ rule = \"double-space\", reason = \"It is a table.\" }]\r\n+++")
    );
    // A key that is misspelt, in an included file; and what a picture shows.
    let path = laid.folder.path().join("more.md");
    fs::write(&path, MORE.replace("alt =", "atl =")).expect("saved");
    let key = &mends("unknown-key", "more.md", 5, 1, "did you mean `alt`?")[0];
    assert_eq!(key["title"], json!("Write alt for atl"));
    act(key, "", false);
    assert_eq!(laid.text("more.md"), MORE);
    let alt = &mends("missing-alt", "more.md", 4, 11, "")[0];
    act(alt, "A grey field", false);
    assert_eq!(laid.text("more.md"), MORE.replace("\"Grey\"", "\"A grey field\""));
}

#[test]
#[cfg(target_os = "linux")]
fn a_name_gets_the_capitals_of_its_file() {
    let laid = laid(&[]);
    fs::write(laid.folder.path().join("heron.md"), MANUAL.replace("img/front.png", "img/Front.PNG")).expect("saved");
    let finding = json!({ "rule": "picture-name-case", "file": "heron.md", "line": 7, "column": 1, "hint": "" });
    let (_, mends) = laid.desk.wish("/edit/mend", &json!({ "view": {}, "finding": finding }).to_string());
    let mend = &mends[0];
    assert_eq!(mend["title"], json!("Write front.png for Front.PNG"), "{mends}");
    let (granted, told) = laid.change("heron.md", 7, &mend["revision"], mend["change"].clone());
    assert!(granted, "{told}");
    assert_eq!(laid.text("heron.md"), MANUAL);
}

#[test]
fn a_picture_that_is_dropped_lies_beside_the_manual_and_stands_where_it_was_dropped() {
    use base64::Engine;
    let laid = laid(&[]);
    let bytes = fs::read(laid.folder.path().join("img/front.png")).expect("there");
    let drop = |revision: &Value, name: &str, bytes: &[u8]| {
        let data = base64::engine::general_purpose::STANDARD.encode(bytes);
        let dropped = json!({ "file": "heron.md", "line": 5, "revision": revision, "name": name, "data": data });
        laid.desk.wish("/edit/drop", &dropped.to_string())
    };
    let (granted, told) = laid.desk.wish("/edit/revision", &json!({ "view": {}, "file": "heron.md" }).to_string());
    assert!(granted, "{told}");
    let revision = &told["revision"];
    assert!(!laid.desk.wish("/edit/revision", &json!({ "view": {}, "file": "img/front.png" }).to_string()).0);
    let (granted, told) = drop(revision, "../IMG 0012.JPG", &bytes);
    assert!(granted, "{told}");
    assert_eq!(laid.text("heron.md"), MANUAL.replace("# Heron\r\n", "# Heron\r\n\r\n![](pictures/img-0012.png)\r\n"));
    assert_eq!(fs::read(laid.folder.path().join("pictures/img-0012.png")).expect("there"), bytes);
    let (granted, told) = drop(&told["revision"], "evil.png", b"#!/bin/sh\n");
    assert!(!granted && told["message"].as_str().is_some_and(|words| words.contains("no picture")), "{told}");
    // What cannot be set leaves nothing behind.
    let (granted, _) = drop(&json!("0"), "other.png", &bytes);
    assert!(!granted);
    assert_eq!(fs::read_dir(laid.folder.path().join("pictures")).expect("there").count(), 1);
}

#[test]
fn a_desk_without_a_manual_begins_with_what_lies_there_or_with_a_small_one() {
    for (what, file) in [("README.md", "README.md"), ("starter", "manual.md")] {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("README.md"), "# Heron\n\nWords.\n").expect("written");
        let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
        command.args(["desk", "--quiet"]).current_dir(folder.path());
        let desk = Running::open(command);
        let named = json!({ "view": {}, "file": file }).to_string();
        let (granted, told) = desk.wish("/edit/revision", &named);
        assert!(!granted);
        let offered: Vec<&str> =
            told["begin"].as_array().expect("offers").iter().filter_map(|offer| offer["what"].as_str()).collect();
        assert_eq!(offered, ["README.md", "starter"]);
        assert!(!desk.wish("/begin", &json!({ "what": "/etc/passwd" }).to_string()).0);
        assert!(desk.wish("/begin", &json!({ "what": what }).to_string()).0);
        let (granted, told) = desk.wish("/edit/revision", &named);
        assert!(granted, "{told}");
        assert!(!desk.wish("/begin", &json!({ "what": what }).to_string()).0);
    }
}
