//! The commands that make strips, as their user meets them: what goes where, under which name, and that they agree.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::manuals::Written;

struct Ran {
    code: i32,
    out: Vec<u8>,
    err: String,
}

fn run_in(folder: &Path, arguments: &[&str], environment: &[(&str, &str)]) -> Ran {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(arguments).current_dir(folder).stdin(Stdio::null()).envs(environment.iter().copied());
    let Output { status, stdout, stderr } = command.output().expect("the program runs");
    let err = String::from_utf8_lossy(&stderr).into_owned();
    assert!(!err.contains("panicked"), "{arguments:?}: {err}");
    Ran { code: status.code().expect("no signal"), out: stdout, err }
}

/// Runs what must succeed and gives its standard output.
#[track_caller]
fn done(folder: &Path, arguments: &[&str]) -> Vec<u8> {
    let ran = run_in(folder, arguments, &[]);
    assert_eq!(ran.code, 0, "{arguments:?}: {}", ran.err);
    ran.out
}

const SERIALS: &str = "serial,plug\nA/1,UK\nB 2,EU\nC3,UK\n";

fn lamp() -> Written {
    let text = "+++\ntitle = \"Glow\"\npaper = \"58 mm\"\nfold = \"40 mm\"\n[units]\nkey = \"serial\"\n+++\n# Glow\n\nSerial {{ unit.serial }}, plug {{ unit.plug }}.\n\n```barcode\nkind = \"code128\"\ndata = \"{{ unit.serial }}\"\n```\n";
    Written::new(text).with("units.csv", SERIALS).with("plain.md", "# Plain\n\nNo units.\n")
}

fn names(folder: &Path) -> Vec<String> {
    let inside = fs::read_dir(folder).expect("a folder");
    let mut names: Vec<String> =
        inside.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn what_was_asked_for_goes_to_standard_output_and_nothing_else() {
    let written = Written::new("+++\ntitel = \"A\"\n+++\n# A\n\nText.\n");
    let folder = written.folder.path();
    for (arguments, begins) in [
        (vec!["proof", "manual.md"], &b"\x89PNG"[..]),
        (vec!["proof", "manual.md", "-o", "-"], b"\x89PNG"),
        (vec!["proof", "manual.md", "-o", "-", "--as", "paper"], b"\x89PNG"),
        (vec!["proof", "manual.md", "--map", "-"], b"{"),
        (vec!["encode", "manual.md"], b"\x1B@"),
        (vec!["encode", "manual.md", "-o", "-"], b"\x1B@"),
        (vec!["estimate", "manual.md", "--json"], b"{"),
        (vec!["estimate", "manual.md"], b"printer "),
        (vec!["chart"], b"\x89PNG"),
    ] {
        let loud = run_in(folder, &arguments, &[]);
        assert_eq!(loud.code, 0, "{arguments:?}: {}", loud.err);
        assert!(loud.out.starts_with(begins), "{arguments:?}");
        if arguments.contains(&"manual.md") && arguments[0] != "estimate" {
            assert!(loud.err.contains("titel"), "{arguments:?} keeps a finding to itself: {}", loud.err);
        }
        assert!(!loud.err.contains('\u{1B}'), "colour on a pipe");
        let quiet = run_in(folder, &[&arguments[..], &["--quiet"]].concat(), &[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]);
        assert_eq!((quiet.code, quiet.out == loud.out, quiet.err.as_str()), (0, true, ""), "{arguments:?} --quiet");
    }
    assert_eq!(names(folder), ["manual.md"]);
    let both = run_in(folder, &["proof", "manual.md", "-o", "-", "--map", "-"], &[]);
    assert_eq!((both.code, both.out.is_empty()), (2, true), "{}", both.err);
}

/// A manual, its photograph, its table and its bytes are nobody's output, however the name is spelled.
#[test]
fn no_file_of_the_writers_own_is_written_over() {
    let mut photograph = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_fn(40, 30, |x, y| image::Rgb([(x * 6) as u8, (y * 8) as u8, 90]))
        .write_to(&mut photograph, image::ImageFormat::Png)
        .expect("a photograph");
    let written = lamp().with("lamp.png", photograph.into_inner()).with("notes.txt", "Ask for cable ties.\n");
    let folder = written.folder.path();
    fs::write(folder.join("shown.md"), "# Shown\n\n![The lamp](lamp.png)\n").expect("written");
    fs::write(folder.join("bench.toml"), "dots = 576\n").expect("written");
    done(folder, &["encode", "plain.md", "-o", "sent.bin"]);
    let before: Vec<(String, Vec<u8>)> =
        names(folder).into_iter().map(|name| (name.clone(), fs::read(folder.join(name)).expect("read"))).collect();
    for arguments in [
        vec!["proof", "plain.md", "-o", "plain.md"],
        vec!["proof", "plain.md", "-o", "./plain.md", "--as", "paper"],
        vec!["proof", "plain.md", "-o", "-", "--map", "notes.txt"],
        vec!["proof", "shown.md", "-o", "lamp.png"],
        vec!["proof", "plain.md", "-o", "lamp.png"],
        vec!["proof", "manual.md", "--units", "units.csv", "--unit", "1", "-o", "units.csv"],
        vec!["proof", "manual.md", "--units", "units.csv", "-o", "{{ unit.row }}units.csv", "--map", "units.csv"],
        vec!["encode", "plain.md", "-o", "lamp.png"],
        vec!["encode", "plain.md", "-o", "bench.toml", "--printer", "bench.toml"],
        vec!["chart", "-o", "plain.md"],
        vec!["chart", "-o", "lamp.png"],
        vec!["chart", "-o", "notes.bin/../notes.txt"],
        vec!["decode", "sent.bin", "-o", "sent.bin"],
    ] {
        let ran = run_in(folder, &arguments, &[]);
        assert!(matches!(ran.code, 2 | 3), "{arguments:?} ends with {}: {}", ran.code, ran.err);
    }
    for (name, bytes) in before {
        assert!(fs::read(folder.join(&name)).is_ok_and(|now| now == bytes), "{name} is not what it was");
    }
    // What was made before is made again.
    for _ in 0..2 {
        done(folder, &["proof", "shown.md", "-o", "shown.strip.png", "--map", "shown.json"]);
        done(folder, &["proof", "shown.md", "-o", "paper.png", "--as", "paper"]);
        done(folder, &["encode", "plain.md", "-o", "sent.bin"]);
        done(folder, &["chart", "-o", "chart.bin"]);
    }
}

/// A manual that is no file: from a pipe, its pictures from here.
#[test]
fn a_manual_from_standard_input_is_the_one_from_a_file() {
    let written = lamp()
        .with("dot.svg", "<svg xmlns='http://www.w3.org/2000/svg' width='80' height='80'><circle cx='40' cy='40' r='30'/></svg>");
    let folder = written.folder.path();
    let text = "# Plain\n\n![A dot](dot.svg)\n\nNo units.\n";
    fs::write(folder.join("dotted.md"), text).expect("written");
    let piped = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
        command.args(arguments).current_dir(folder).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program runs");
        std::io::Write::write_all(&mut child.stdin.take().expect("a pipe"), text.as_bytes()).ok();
        child.wait_with_output().expect("it ends")
    };
    for command in ["proof", "encode"] {
        let from_pipe = piped(&[command, "-"]);
        assert!(from_pipe.status.success(), "{}", String::from_utf8_lossy(&from_pipe.stderr));
        assert_eq!(from_pipe.stdout, done(folder, &[command, "dotted.md"]), "{command}");
    }
    let found = piped(&["preflight", "-", "--json"]);
    assert!(String::from_utf8_lossy(&found.stdout).contains("\"standard input\""));
    for arguments in [vec!["desk", "-"], vec!["print", "-", "--to", "out.bin"], vec!["gather", "-"]] {
        let refused = piped(&arguments);
        assert_eq!(refused.status.code(), Some(2), "{arguments:?}");
        assert!(String::from_utf8_lossy(&refused.stderr).contains("standard input"), "{arguments:?}");
    }
}

#[test]
fn every_unit_gets_its_own_bytes_in_a_folder_that_is_made() {
    let written = lamp();
    let folder = written.folder.path();
    done(folder, &["encode", "manual.md", "--units", "units.csv", "-o", "out/of/{{ unit.serial }}.bin"]);
    assert_eq!(names(&folder.join("out/of")), ["A_1.bin", "B_2.bin", "C3.bin"]);
    let alone = done(folder, &["encode", "manual.md", "--units", "units.csv", "--unit", "B 2"]);
    assert_eq!(fs::read(folder.join("out/of/B_2.bin")).expect("read"), alone);
    let without = run_in(folder, &["encode", "plain.md", "-o", "{{ unit.serial }}.bin"], &[]);
    assert_eq!(without.code, 2, "{}", without.err);
    assert!(without.err.contains("--units"), "{}", without.err);
}

/// On a real terminal: `script` of util-linux makes one.
#[test]
#[ignore = "script"]
fn no_colour_wherever_it_is_not_wanted() {
    let written = Written::new("![](none.png)\n");
    let on_a_terminal = |environment: &[(&str, &str)]| {
        let command = format!("{} preflight manual.md", env!("CARGO_BIN_EXE_stripling"));
        let mut script = std::process::Command::new("script");
        script.args(["-qec", &command, "/dev/null"]).current_dir(written.folder.path()).stdin(std::process::Stdio::null());
        script.env_remove("NO_COLOR").env("TERM", "xterm").envs(environment.iter().copied());
        let shown = script.output().expect("script runs");
        String::from_utf8_lossy(&shown.stdout).into_owned()
    };
    let coloured = on_a_terminal(&[]);
    assert!(coloured.contains('\u{1B}'), "on a terminal that has colour there is some, else this test shows nothing: {coloured}");
    for environment in [("NO_COLOR", "1"), ("TERM", "dumb")] {
        let plain = on_a_terminal(&[environment]);
        assert!(plain.contains("none.png") && !plain.contains("\u{1B}["), "{environment:?}: {plain}");
    }
}

#[test]
fn every_unit_gets_its_own_file_under_a_safe_name() {
    let written = lamp();
    let folder = written.folder.path();
    fs::create_dir(folder.join("strips")).expect("a folder");
    let ran = run_in(
        folder,
        &[
            "proof",
            "manual.md",
            "--units",
            "units.csv",
            "-o",
            "strips/{{ unit.serial }}.png",
            "--map",
            "strips/{{ unit.key }}.json",
        ],
        &[],
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(names(&folder.join("strips")), ["A_1.json", "A_1.png", "B_2.json", "B_2.png", "C3.json", "C3.png"]);
    // Each is the strip that --unit gives, by its row and by its key.
    for (row, key, name) in [("1", "A/1", "A_1"), ("2", "B 2", "B_2"), ("3", "C3", "C3")] {
        let kept = fs::read(folder.join("strips").join(format!("{name}.png"))).expect("there");
        for unit in [row, key] {
            let alone = done(folder, &["proof", "manual.md", "--units", "units.csv", "--unit", unit, "-o", "-"]);
            assert!(alone == kept, "unit {unit} is not {name}");
        }
        let map = fs::read_to_string(folder.join("strips").join(format!("{name}.json"))).expect("there");
        assert!(map.contains(&format!("Serial {key}, plug")), "{key} is not in its map");
    }
    // Writing over them is said.
    let again = run_in(folder, &["proof", "manual.md", "--units", "units.csv", "-o", "strips/{{ unit.serial }}.png"], &[]);
    assert!(again.code == 0 && again.err.contains("3 files replaced"), "{}", again.err);
}

#[test]
fn names_that_would_clash_or_lead_nowhere_are_usage_errors() {
    let written = lamp();
    for (pattern, says) in [
        ("strip.png", "cannot all be written to strip.png"),
        ("{{ unit.plug }}.png", "rows 1 and 3 would both be written to UK.png"),
        ("{{ unit.seriel }}.png", "unit.seriel"),
        ("{{ unit.serial .png", "not closed"),
        ("-", "cannot all go to standard output"),
    ] {
        let ran = run_in(written.folder.path(), &["proof", "manual.md", "--units", "units.csv", "-o", pattern], &[]);
        assert_eq!((ran.code, ran.out.is_empty()), (2, true), "{pattern}: {}", ran.err);
        assert!(
            ran.err.replace(['\n', '│'], " ").split_whitespace().collect::<Vec<_>>().join(" ").contains(says),
            "{pattern}: {}",
            ran.err
        );
        assert_eq!(names(written.folder.path()), ["manual.md", "plain.md", "units.csv"], "{pattern}");
    }
    let ran = run_in(written.folder.path(), &["proof", "plain.md", "-o", "none/strip.png"], &[]);
    assert!(ran.code == 3 && ran.err.contains("make the folder first"), "{}", ran.err);
}

#[test]
fn many_units_are_the_single_ones_one_after_the_other() {
    let written = lamp();
    let folder = written.folder.path();
    let all = done(folder, &["encode", "manual.md", "--units", "units.csv"]);
    let one = |row: &str| done(folder, &["encode", "manual.md", "--units", "units.csv", "--unit", row]);
    assert!(all == [one("1"), one("2"), one("3")].concat());
    let more: String = std::iter::once("serial,plug\n".to_string()).chain((0..50).map(|n| format!("S{n:04},UK\n"))).collect();
    fs::write(folder.join("more.csv"), more).expect("written");
    let long = done(folder, &["encode", "manual.md", "--units", "more.csv"]);
    for threads in ["1", "7"] {
        let ran = run_in(folder, &["encode", "manual.md", "--units", "more.csv", "-o", "-"], &[("RAYON_NUM_THREADS", threads)]);
        assert!(ran.out == long, "{threads} threads");
    }
    assert!(long.len() > all.len() * 10);
}

#[test]
fn estimates_are_of_the_strip_that_is_encoded() {
    let written = lamp();
    let folder = written.folder.path();
    for printer in ["58mm", "58mm-wide", "80mm", "80mm-180", "112mm"] {
        let told =
            done(folder, &["estimate", "manual.md", "--printer", printer, "--units", "units.csv", "--copies", "4", "--json"]);
        let told: serde_json::Value = serde_json::from_slice(&told).expect("one object");
        let keys: Vec<&str> = told.as_object().expect("an object").keys().map(String::as_str).collect();
        let mut wanted = vec![
            "strips",
            "rows",
            "length_mm",
            "paper_m",
            "rolls",
            "bytes",
            "bytes_raw",
            "black_percent",
            "busiest_percent",
            "seconds_mechanism",
            "seconds_link",
            "seconds",
            "panels",
            "stack_mm",
            // Beyond the contract: what takes the paper, and what would save some.
            "tallest",
            "longest_section",
            "compact_saves_mm",
            "shortest_mm",
            "white_percent",
        ];
        wanted.sort_unstable();
        let mut sorted = keys.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, wanted, "{printer}");
        assert_eq!(told["strips"], 12, "{printer}");

        let bytes = done(folder, &["encode", "manual.md", "--printer", printer, "--units", "units.csv", "--unit", "1"]);
        fs::write(folder.join("strip.bin"), &bytes).expect("written");
        let seen = done(folder, &["decode", "strip.bin", "--printer", printer, "--json"]);
        let seen: serde_json::Value = serde_json::from_slice(&seen).expect("one object");
        let (rows, length) = (seen["rows"].as_i64().expect("rows"), seen["length_mm"].as_f64().expect("a length"));
        let estimated = told["rows"].as_i64().expect("rows");
        assert!((estimated - rows).abs() <= 1, "{printer}: {estimated} rows estimated, {rows} decoded");
        let row = length / rows as f64;
        assert!((told["length_mm"].as_f64().expect("a length") - length).abs() <= row, "{printer}");
        assert!((told["bytes"].as_f64().expect("bytes") - bytes.len() as f64).abs() <= bytes.len() as f64 / 20.0, "{printer}");
    }
}

#[test]
fn encode_writes_the_same_to_a_file_as_to_a_pipe() {
    let written = lamp();
    let folder = written.folder.path();
    let ran = run_in(folder, &["encode", "plain.md", "-o", "strip.bin"], &[]);
    assert!(ran.code == 0 && ran.out.is_empty() && ran.err.contains("strip.bin: 1 strip, "), "{}", ran.err);
    assert!(fs::read(folder.join("strip.bin")).expect("there") == done(folder, &["encode", "plain.md"]));
}

#[test]
fn start_makes_a_manual_that_proofs_without_a_finding_and_never_writes_over_anything() {
    let place = tempfile::tempdir().expect("a folder");
    let started = |name: &str| run_in(place.path(), &["start", name], &[]);
    let first = started("mine/new");
    assert!(first.code == 0 && first.out.is_empty() && first.err.contains("stripling proof mine/new/manual.md"), "{}", first.err);
    for (arguments, name) in [
        (vec!["proof", "manual.md", "-o", "strip.png"], "strip.png: 576 x "),
        (vec!["proof", "manual.md", "--units", "units.csv", "-o", "{{ unit.serial }}.png"], "strips written"),
    ] {
        let ran = run_in(&place.path().join("mine/new"), &arguments, &[]);
        assert!(ran.code == 0 && ran.err.contains(name), "{arguments:?}: {}", ran.err);
        assert!(!ran.err.contains('⚠') && !ran.err.contains('×'), "a finding: {}", ran.err);
    }
    let before = names(&place.path().join("mine/new"));
    let again = started("mine/new");
    assert!(again.code == 3 && again.err.contains("is not empty"), "{}", again.err);
    assert_eq!(names(&place.path().join("mine/new")), before);
    fs::create_dir(place.path().join("empty")).expect("a folder");
    assert_eq!(started("empty").code, 0);
    fs::write(place.path().join("file"), "mine").expect("written");
    assert_eq!(started("file").code, 3);
    assert_eq!(fs::read_to_string(place.path().join("file")).expect("there"), "mine");
}

#[test]
fn without_a_name_a_proof_on_a_pipe_goes_down_the_pipe() {
    let written = lamp();
    let picture = done(written.folder.path(), &["proof", "plain.md"]);
    assert!(picture.starts_with(b"\x89PNG"));
    assert!(!PathBuf::from(written.folder.path()).join("plain.png").exists());
}

#[test]
fn a_style_named_on_the_command_line_stands_above_the_manuals() {
    let written = Written::new("+++\nstyle = \"comic\"\n+++\n\n# Lamp\n\nPress the knob.\n");
    let folder = written.folder.path();
    fs::write(folder.join("own.toml"), "base = \"plain\"\n[type]\nbody = 20.0\n").expect("written");
    let rows = |more: &[&str]| {
        let told = done(folder, &[&["estimate", "manual.md", "--json"], more].concat());
        serde_json::from_slice::<serde_json::Value>(&told).expect("JSON")["rows"].as_i64().expect("rows")
    };
    assert!(rows(&["--style", "compact"]) < rows(&["--style", "plain"]));
    assert_eq!(rows(&["--style", "comic"]), rows(&[]));
    assert!(rows(&["--style", "own.toml"]) > rows(&["--style", "plain"]));
    for (arguments, code, says) in [
        (&["proof", "manual.md", "--style", "baroque"][..], 2, "plain, comic and compact"),
        (&["proof", "manual.md", "--style", "none.toml"], 3, "none.toml"),
        (&["printers", "--style", "plain"], 2, "--style means nothing"),
    ] {
        let ran = run_in(folder, arguments, &[]);
        assert!(ran.code == code && ran.err.contains(says), "{arguments:?}: {} {}", ran.code, ran.err);
    }
}
