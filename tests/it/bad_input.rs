//! Bad input, through the program: one clear message with its place, the right exit code, in time, within bounds, and what was
//! written before stays as it was.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::manuals::Written;

/// Kilobytes of address space: far less than a machine that goes wild would take (512 MiB are promised, and threads reserve theirs).
const ROOM: u32 = 1_500_000;

/// 2 s are promised of the program as it is shipped; the tests run one that is not optimised, on a busy machine.
const TIME: Duration = Duration::from_secs(60);

struct Told {
    code: i32,
    out: Vec<u8>,
    err: String,
}

/// Runs the program in the folder with little memory; nothing it says may be a panic.
fn run(folder: &Path, arguments: &[&str]) -> Told {
    let started = Instant::now();
    let output = Command::new("bash")
        .args(["-c", &format!("ulimit -v {ROOM}; ulimit -c 0; exec \"$0\" \"$@\""), env!("CARGO_BIN_EXE_stripling")])
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .env("RAYON_NUM_THREADS", "2")
        .stdin(Stdio::null())
        .output()
        .expect("the program runs");
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(started.elapsed() < TIME, "{arguments:?} took {:?}: {err}", started.elapsed());
    let code = output.status.code().unwrap_or_else(|| panic!("{arguments:?} ended by a signal: {err}"));
    for word in ["panicked", "RUST_BACKTRACE", "overflow", "memory allocation"] {
        assert!(!err.contains(word), "{arguments:?}: {err}");
    }
    Told { code, out: output.stdout, err }
}

/// What is expected: exit code, place, words. Proofs and encodes over an output that is there already.
#[track_caller]
pub fn refused(written: &Written, place: &str, says: &str) {
    refused_with(written, &[], 3, place, says);
}

#[track_caller]
fn refused_with(written: &Written, more: &[&str], code: i32, place: &str, says: &str) {
    let strip = written.path("strip.out");
    for command in ["proof", "encode"] {
        fs::write(&strip, "as it was").expect("written");
        let told = run(written.folder.path(), &[&[command, "manual.md", "-o", "strip.out"], more].concat());
        let shown = format!("{command}: exit code {}\n{}", told.code, told.err);
        assert_eq!(told.code, code, "{shown}");
        assert!(told.out.is_empty(), "{shown}");
        assert!(joined(&told.err).contains(says), "{says:?} is not in {shown}");
        assert!(told.err.contains(place), "{place:?} is not in {shown}");
        assert_eq!(told.err.matches('×').count(), 1, "more than one message: {shown}");
        assert_eq!(fs::read(&strip).expect("there"), b"as it was", "{shown}");
        assert_eq!(left_over(written.folder.path()), 0, "{shown}");
    }
}

/// What leaves a frame: the proof is made and says so as an error, also when quiet; `encode` refuses.
#[track_caller]
pub fn framed(written: &Written, place: &str, says: &str) {
    let told = run(written.folder.path(), &["proof", "manual.md", "-o", "strip.png", "--quiet", "--map", "map.json"]);
    let shown = format!("exit code {}\n{}", told.code, told.err);
    assert_eq!(told.code, 0, "{shown}");
    assert!(joined(&told.err).contains(says) && told.err.contains(place), "{says:?}, {place:?} are not in {shown}");
    assert_eq!(told.err.matches('×').count(), 1, "one message: {shown}");
    assert!(fs::read_to_string(written.path("map.json")).expect("a map").contains("\"frame\""), "a frame: {shown}");
    let told = run(written.folder.path(), &["encode", "manual.md", "-o", "strip.bin"]);
    let shown = format!("exit code {}\n{}", told.code, told.err);
    assert_eq!(told.code, 3, "{shown}");
    assert!(joined(&told.err).contains(says) && told.err.contains(place), "{says:?}, {place:?} are not in {shown}");
    assert!(!written.path("strip.bin").exists(), "{shown}");
    assert_eq!(left_over(written.folder.path()), 0, "{shown}");
}

/// The strip is made; the trouble is told as a notice with its place, and `--quiet` keeps it to itself.
#[track_caller]
fn noticed(written: &Written, place: &str, says: &str) {
    let told = run(written.folder.path(), &["proof", "manual.md", "-o", "strip.png"]);
    let shown = format!("exit code {}\n{}", told.code, told.err);
    assert_eq!(told.code, 0, "{shown}");
    assert!(joined(&told.err).contains(says) && told.err.contains(place), "{says:?}, {place:?} are not in {shown}");
    let quiet = run(written.folder.path(), &["proof", "manual.md", "-o", "strip.png", "--quiet"]);
    assert_eq!((quiet.code, quiet.err.as_str()), (0, ""));
}

/// The strip is made, and its layout keeps all of `words`.
#[track_caller]
fn made(written: &Written, words: &[&str]) {
    let told = run(written.folder.path(), &["proof", "manual.md", "--printer", "58mm", "-o", "strip.png", "--map", "map.json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let map = fs::read_to_string(written.path("map.json")).expect("a map");
    for word in words {
        assert!(map.contains(word), "{word:?} is lost");
    }
}

/// A message as one line, however it was wrapped.
fn joined(err: &str) -> String {
    err.replace(['│', '\n'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Files that were begun and not finished.
fn left_over(folder: &Path) -> usize {
    let names = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").file_name());
    names.filter(|name| name.to_string_lossy().starts_with(".stripling-")).count()
}

#[test]
fn pictures_that_cannot_be_used() {
    framed(&Written::new("# A\n\nText.\n\n![b](none.png)\n"), "manual.md:5:", "cannot read the picture `none.png`");
    framed(
        &Written::new("# A\n\n![b](half.png)\n").with("half.png", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0"),
        "manual.md:3:",
        "the picture `half.png` is broken",
    );
    framed(
        &Written::new("![b](text.png)\n").with("text.png", "no picture"),
        "manual.md:1:",
        "`text.png` is no picture of a known kind",
    );
    framed(&Written::new("A ![b](../out.png) c\n"), "manual.md:1:3", "`../out.png`");
    framed(&Written::new("![b](/etc/passwd)\n"), "manual.md:1:", "`/etc/passwd`");
    framed(&Written::new("![b](.)\n"), "manual.md:1:", "`.`");
    framed(
        &Written::new("![b](drawing.svg)\n").with("drawing.svg", "<svg xmlns='http://www.w3.org/2000/svg'><g>"),
        "manual.md:1:",
        "drawing.svg",
    );
    let bombs = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/pictures");
    for bomb in ["bomb-wide.png", "bomb-deep.png", "bomb.gif", "bomb.jpg"] {
        let bytes = fs::read(bombs.join(bomb)).expect("a bomb");
        framed(&Written::new(format!("# A\n\n![b]({bomb})\n")).with(bomb, bytes), "manual.md:3:", bomb);
    }
}

#[test]
#[cfg(unix)]
fn links_that_lead_out_of_the_folder() {
    let outside = tempfile::tempdir().expect("a folder");
    fs::write(outside.path().join("secret.svg"), "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'/>")
        .expect("written");
    let written = Written::new("![b](link.svg)\n");
    std::os::unix::fs::symlink(outside.path().join("secret.svg"), written.path("link.svg")).expect("a link");
    framed(&written, "manual.md:1:", "`link.svg`");
    let written = Written::new("+++\n+++\n{% include \"link.md\" %}\n");
    fs::write(outside.path().join("secret.md"), "secret").expect("written");
    std::os::unix::fs::symlink(outside.path().join("secret.md"), written.path("link.md")).expect("a link");
    refused(&written, "manual.md:3:", "link.md");
}

/// One frame a picture, sign or code; the refusal names every one of them with its place, in one message.
#[test]
fn all_that_cannot_be_used_is_named_at_once() {
    let written = Written::new(
        "# A\n\n![b](none.png)\n\n![c](sign:hot-soup)\n\n> **WARNING** ![d](sign:nine) Mind.\n\n```barcode\nkind = \"ean13\"\ndata = \"4006381333932\"\n```\n\n![e](f.jpg)\n",
    );
    let proof = run(written.folder.path(), &["proof", "manual.md", "-o", "strip.png", "--map", "map.json"]);
    assert_eq!(proof.code, 0, "{}", proof.err);
    let map: serde_json::Value = serde_json::from_slice(&fs::read(written.path("map.json")).expect("a map")).expect("JSON");
    let boxes = map["boxes"].as_array().expect("boxes");
    let frames: Vec<&serde_json::Value> = boxes.iter().filter(|placed| placed["kind"] == "frame").collect();
    assert_eq!(frames.len(), 5, "{map:#}");
    // The whole column of 80mm paper, 4:3.
    let (width, height) = (frames[0]["width"].as_i64().expect("dots"), frames[0]["height"].as_i64().expect("dots"));
    assert!(width > 500 && (width * 3 - height * 4).abs() < 4, "{width} x {height}");
    assert_eq!(frames[0]["line"], 3);
    for command in [&["encode", "manual.md", "-o", "x.bin"][..], &["print", "manual.md", "--to", "x.bin"]] {
        let told = run(written.folder.path(), command);
        assert_eq!((told.code, told.err.matches('×').count()), (3, 1), "{}", told.err);
        for named in ["none.png", "hot-soup", "nine", "check digit", "f.jpg", "manual.md:14:1"] {
            assert!(joined(&told.err).contains(named), "no {named} in {}", told.err);
        }
        assert!(!written.path("x.bin").exists());
    }
    for command in ["preflight", "estimate"] {
        let told = run(written.folder.path(), &[command, "manual.md", "--every"]);
        assert_eq!(told.code, i32::from(command == "preflight"), "{}", told.err);
        assert!(joined(&told.err).contains("none.png") && joined(&told.err).contains("f.jpg"), "{}", told.err);
        // Those of one rule are said together: one message, and the line of the other.
        let told = run(written.folder.path(), &[command, "manual.md"]);
        assert!(joined(&told.err).contains("and 1 more: manual.md:14"), "{}", told.err);
        assert!(joined(&told.err).contains("none.png") && !told.err.contains("f.jpg"), "{}", told.err);
    }
}

#[test]
fn text_that_is_no_text() {
    refused(&Written::new(b"# A\n\nb \xFF c\n"), "manual.md:3:3", "not UTF-8");
    refused(&Written::new(b"\xFF\xFE#\0 \0A\0\n\0"), "manual.md:1:1", "not UTF-8");
    refused(&Written::new("# A\n\nb\0c\n"), "manual.md:3:2", "U+0000");
    let told = run(Written::new("# A\n\nb \u{1B}[31mc\n").folder.path(), &["proof", "manual.md", "-o", "x.png"]);
    assert_eq!(told.code, 0, "a guide is not refused for a control character: {}", told.err);
    assert!(told.err.contains("U+001B"), "{}", told.err);
    assert!(!told.err.contains('\u{1B}'), "a control character of the manual reaches the terminal");
}

/// Found by the fuzz target `svg`: what a file holds stood in our message as it was, and a terminal acted on it.
#[test]
fn control_characters_of_outside_never_reach_the_terminal() {
    let told = |written: &Written, more: &[&str]| {
        let told = run(written.folder.path(), &[&["proof", "manual.md", "-o", "x.png"], more].concat());
        assert!(!told.err.contains(|letter: char| letter.is_control() && letter != '\n'), "{:?}", told.err);
        told.err
    };
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width=\u{1B}[31m'9'/>";
    let drawing = Written::new("![b](a.svg)\n").with("a.svg", svg);
    assert!(told(&drawing, &[]).contains("expected a quote not '\\u{1b}' at 1:47"));
    framed(&drawing, "manual.md:1:", "the drawing `a.svg` cannot be used");
    assert!(told(&Written::new("![b](<&#27;[31m.png>)\n"), &[]).contains("the picture ` [31m.png`"));
    let printer = Written::new("A\n").with("own.toml", "dots = 576\n\"\\u001b[31mx\" = 1\n");
    assert!(told(&printer, &["--printer", "own.toml"]).contains("unknown key \"\\u{1b}[31mx\""));
    assert!(told(&Written::new("+++\n\"\\u009b31mx\" = 1\n+++\nA\n"), &[]).contains("has no key ` 31mx`"));
}

#[test]
fn headers_that_cannot_be_read() {
    refused(&Written::new("+++\ntitle = \"A\"\n\n# A\n"), "manual.md:1:1", "no closing line of +++");
    refused(&Written::new("+++\ntitle = \"A\n+++\n"), "manual.md:2:", "this is not TOML");
    refused(&Written::new("+++\nfold = \"far\"\n+++\n"), "manual.md:2:8", "`fold`");
    refused(&Written::new("+++\npaper = \"wide\"\n+++\n"), "manual.md:2:", "\"wide\" is no width of paper");
    refused(&Written::new("+++\npaper = \"10 mm\"\n+++\n"), "manual.md:2:", "no generic printer takes paper");
    refused(&Written::new("+++\nstyle = \"none.toml\"\n+++\n"), "manual.md:2:", "there is no style \"none.toml\"");
    refused(&Written::new("+++\n[faces]\nel = \"none.ttf\"\n+++\n"), "manual.md:3:", "none.ttf");
    noticed(&Written::new("+++\ntitel = \"A\"\n+++\nText.\n"), "manual.md:2:1", "has no key `titel`");
    let style = Written::new("+++\nstyle = \"own.toml\"\n+++\n").with("own.toml", "[type]\nbody = \"big\"\n");
    refused(&style, "own.toml:2:", "body");
    let style = Written::new("+++\nstyle = \"own.toml\"\n+++\n").with("own.toml", "[type]\nbody = 9.0\nbodi = 3\n");
    refused(&style, "own.toml:3:", "bodi");
}

#[test]
fn fenced_blocks_that_cannot_be_used() {
    refused(&Written::new("# A\n\n```figure\npicture = b\n```\n"), "manual.md:4:11", "this is not TOML");
    refused(&Written::new("# A\n\n```figure\nalt = \"b\"\n```\n"), "manual.md:3:", "a figure needs `picture`");
    refused(&Written::new("```figure\npicture = \"dot.svg\"\nwidth = 3\n```\n").with("dot.svg", SVG), "manual.md:3:9", "`width`");
    refused(&Written::new("```comic\ncolumns = 2\n```\n"), "manual.md:1:", "panel");
    refused(&Written::new("```comic\ncolumns = 7\n[[panel]]\n```\n"), "manual.md:2:11", "`columns`");
    framed(&Written::new(format!("A\n\n```qr\n{}\n```\n", "long ".repeat(700))), "manual.md:3:", "the QR code is too long");
    framed(
        &Written::new("A\n\n```barcode\nkind = \"ean13\"\ndata = \"4006381333932\"\n```\n"),
        "manual.md:3:",
        "the check digit of the EAN-13 is wrong: it is 2, and should be 1",
    );
    refused(&Written::new("```barcode\nkind = \"code39\"\ndata = \"A\"\n```\n"), "manual.md:2:8", "`kind` cannot be \"code39\"");
    framed(&Written::new("```barcode\nkind = \"code128\"\ndata = \"é\"\n```\n"), "manual.md:1:", "Code 128 cannot hold 'é'");
    framed(&Written::new("# A\n\n![b](sign:hot-sruface)\n"), "manual.md:3:", "no sign");
    framed(&Written::new("> **WARNING** ![b](sign:hot) Mind.\n"), "manual.md:1:", "no sign");
    let off =
        "```figure\npicture = \"dot.svg\"\nalt = \"A dot\"\ncallouts = [\n  { at = [120, 5], label = \"Nowhere\" },\n]\n```\n";
    noticed(&Written::new(off).with("dot.svg", SVG), "manual.md:5:", "the callout \"Nowhere\" points beside the picture");
}

const SVG: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='40' height='20'><circle cx='20' cy='10' r='9'/></svg>";

#[test]
fn templates_that_never_end() {
    let headed = |text: &str| Written::new(format!("+++\n+++\n{text}"));
    refused(
        &headed("A\n\n{% for a in range(100000) %}{% for b in range(100000) %}c{% endfor %}{% endfor %}\n"),
        "manual.md:5:",
        "filling the fields takes too long",
    );
    refused(&headed("A\n{% macro a() %}{{ a() }}{% endmacro %}{{ a() }}\n"), "manual.md:4:", "include one another too deeply");
    refused(&headed("A\n\n{% include \"manual.md\" %}\n"), "manual.md:5:", "include one another too deeply");
    refused(
        &headed("{% include \"b.md\" %}").with("b.md", "b\n{% include \"manual.md\" %}"),
        ".md:",
        "include one another too deeply",
    );
    refused(&headed("A {{ unit.serial }}\n"), "manual.md:3:", "unit");
    refused(&headed("A\n{% if %}\n"), "manual.md:4:", "unexpected end of block");
    refused(&headed("A {{ document.titel }}\n"), "manual.md:3:", "title");
    refused(&headed("A {% include \"../b.md\" %}\n"), "manual.md:3:", "b.md");
}

#[test]
fn text_that_is_too_much() {
    let nested =
        |marker: &str, deep: usize| (0..deep).map(|n| format!("{}{marker}deep{n}\n", "  ".repeat(n))).collect::<String>();
    made(&Written::new(nested("- ", 300)), &["deep0", "deep299"]);
    let steps: String = (0..300).map(|n| format!("{}1. deep{n}\n", "   ".repeat(n))).collect();
    made(&Written::new(steps), &["deep0", "deep299"]);
    made(&Written::new(format!("{} deep\n", ">".repeat(300))), &["deep"]);
    made(&Written::new(format!("A {} b\n", "x".repeat(20_000))), &["A", "xxxxxxxxxx"]);
    made(&Written::new(format!("`{}`\n\n```\n{}\n```\n", "k".repeat(2_000), "c".repeat(5_000))), &["kkkkk", "ccccc"]);
    let row = |cell: &dyn Fn(usize) -> String| format!("|{}|\n", (0..40).map(cell).collect::<Vec<_>>().join("|"));
    let table = row(&|n| format!("head{n}")) + &row(&|_| "---".into()) + &row(&|n| format!("cell{n}"));
    made(&Written::new(table), &["head0", "head39", "cell0", "cell39"]);
    made(&Written::new("word ".repeat(1 << 18)), &["word"]);
    made(&Written::new("*".repeat(50_000) + "a"), &["a"]);
    made(&Written::new("[".repeat(20_000)), &["["]);
    made(&Written::new(""), &[]);
    made(&Written::new("\u{FEFF}# Mark\r\n\r\nLine\r\n"), &["Mark", "Line"]);
}

#[test]
fn units_that_are_no_table() {
    let units = |csv: &[u8]| Written::new("Serial {{ unit.serial }}\n").with("units.csv", csv);
    let with = ["--units", "units.csv"];
    refused_with(&units(b"serial\nA\xFF\n"), &with, 3, "units.csv:2:", "UTF-8");
    refused_with(&units(b"serial\n\"A1\n"), &with, 3, "units.csv:2:1", "never closed");
    refused_with(&units(b""), &with, 3, "units.csv", "");
    refused_with(&units(b"serial\n"), &with, 3, "units.csv", "");
    refused_with(&units(b"plug\nUK\n"), &with, 3, "manual.md:1:", "plug");
    refused_with(&units(b"serial\nA1\n"), &["--units", "none.csv"], 3, "none.csv", "cannot be read");
    refused_with(&units(b"serial\nA1\n"), &["--units", "units.csv", "--unit", "A9"], 3, "", "A9");
    let keyed = Written::new("+++\n[units]\nkey = \"number\"\n+++\nA\n").with("units.csv", "serial\nA1\n");
    refused_with(&keyed, &with, 3, "manual.md:3:", "number");
}

#[test]
fn rows_that_are_not_right_are_noticed_with_their_line() {
    for (csv, place, says) in [
        ("serial,plug\nA1,UK\nA2\n", "units.csv:3:1", "row 2 has 1 cells, the headings are 2"),
        ("serial,serial\nA1,A2\n", "units.csv:1:1", "two columns are called \"serial\""),
        ("serial\nA1\nA1\n", "units.csv:3:1", "row 2 has the same \"serial\" as row 1"),
        ("serial,plug\nA1,U\u{7}K\n", "units.csv:2:1", "control character"),
    ] {
        let written = Written::new("Serial {{ unit.serial }}\n").with("units.csv", csv);
        let told = run(written.folder.path(), &["encode", "manual.md", "--units", "units.csv", "-o", "strip.bin"]);
        assert_eq!(told.code, 0, "{csv:?}: {}", told.err);
        assert!(joined(&told.err).contains(says) && told.err.contains(place), "{csv:?}: {}", told.err);
    }
}

#[test]
fn printers_that_cannot_be() {
    let printer = |toml: &str| Written::new("A\n").with("own.toml", toml);
    let with = ["--printer", "own.toml"];
    refused_with(&printer("dots = 576\nraster = \"lines\"\n"), &with, 3, "own.toml:2:", "raster");
    refused_with(&printer("dots = 0\n"), &with, 3, "own.toml:1:", "dots");
    refused_with(&printer("dots = \n"), &with, 3, "own.toml:1:", "");
    refused_with(&printer(""), &["--printer", "none.toml"], 3, "none.toml", "cannot be read");
    refused_with(&printer(""), &["--printer", "90mm"], 2, "", "no printer is called \"90mm\"");
}

#[test]
fn manuals_that_are_not_there() {
    let written = Written::new("A\n");
    for (manual, says) in [
        ("none.md", "none.md"),
        (".", "name a Markdown file"),
        ("..", ""),
        ("manual.md/x.md", "it is no folder"),
        ("/dev/zero", ""),
    ] {
        let told = run(written.folder.path(), &["proof", manual, "-o", "strip.png"]);
        assert_eq!(told.code, 3, "{manual}: {}", told.err);
        assert!(told.err.contains(says) && told.err.matches('×').count() == 1, "{manual}: {}", told.err);
        assert!(!written.path("strip.png").exists());
    }
}

#[test]
fn what_is_refused_names_its_remedy() {
    // A hint stands under every message that a writer can do something about.
    for text in [
        "![b](none.png)\n",
        "![b](sign:hot-sruface)\n",
        "+++\ntitle = \"A\"\n",
        "+++\ntitle = \"A\"\n+++\n{{ unit.serial }}\n",
        "```barcode\nkind = \"ean13\"\ndata = \"4006381333932\"\n```\n",
    ] {
        let told = run(Written::new(text).folder.path(), &["proof", "manual.md", "-o", "x.png"]);
        assert!(told.err.contains("help: "), "{text:?}: {}", told.err);
    }
}

/// FORMAT.md, "Any guide is a manual": whatever HTML a guide holds, there is a proof or a line of words, in time and within the memory.
#[test]
fn guides_of_hostile_html() {
    let proofed = |text: String, words: &[&str]| {
        let written = Written::new(text);
        let told = run(written.folder.path(), &["proof", "manual.md", "-o", "strip.png", "--map", "map.json"]);
        assert_eq!(told.code, 0, "{}", told.err);
        let map = fs::read_to_string(written.path("map.json")).expect("a map");
        words.iter().for_each(|word| assert!(map.contains(word), "{word:?} is not on the strip"));
    };
    proofed(format!("first\n\n{}\n\nlast", "<div>".repeat(100_000)), &["first", "last"]);
    let cells: String = (0..10_000).map(|n| format!("{}<td>c{n}", if n % 4 == 0 { "<tr>" } else { "" })).collect();
    proofed(format!("<table>{cells}</table>"), &["c0", "c9999"]);
    proofed("<table><tr><td colspan=99999>wide<td rowspan=99999>high</table>".into(), &["wide", "high"]);
    let bomb: String =
        ('a'..='y').zip('b'..='z').map(|(one, two)| format!("{two}: &{two} [{}]\n", format!("*{one},").repeat(9))).collect();
    proofed(format!("---\na: &a [x]\n{bomb}title: *z\n---\n\nWords.\n"), &["Words."]);
    let written = Written::new(format!("<img src=x alt=\"{}\">", "a".repeat(10 << 20)));
    let told = run(written.folder.path(), &["proof", "manual.md", "-o", "strip.png"]);
    assert!(told.code == 3 && told.err.contains("manual.md"), "{}", told.err);
}
