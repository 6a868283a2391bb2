//! The program as its user meets it: what stands on standard output, what on standard error, and the exit code.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use stripling::bitmap::Bitmap;
use stripling::lengths::Resolution;
use stripling::strip::png;

fn stripling(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(arguments).stdin(Stdio::null());
    command
}

/// Exit code, standard output, standard error.
fn run(command: &mut Command) -> (i32, String, String) {
    let Output { status, stdout, stderr } = command.output().expect("the program runs");
    let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
    (status.code().expect("no signal"), text(stdout), text(stderr))
}

/// GS v 0 sample of the vendors' command references, then feed and cut.
const SAMPLE: [u8; 16] = [0x1D, 0x76, 0x30, 0, 2, 0, 2, 0, 0x80, 0x01, 0xFF, 0x00, 0x1D, 0x56, 0x42, 0x00];

/// A folder with `sample.bin`, and paths in it as text.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Bench {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("sample.bin"), SAMPLE).expect("written");
        fs::write(folder.path().join("narrow.toml"), "base = \"58mm-wide\"\ndots = 16\n").expect("written");
        Bench { folder }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().expect("UTF-8").to_string()
    }

    fn decode(&self, more: &[&str]) -> (i32, String, String) {
        let (sample, printer) = (self.path("sample.bin"), self.path("narrow.toml"));
        run(&mut stripling(&[&["decode", &sample, "--printer", &printer], more].concat()))
    }
}

#[test]
fn printers_lists_the_table_and_nothing_else() {
    let (code, out, err) = run(&mut stripling(&["printers"]));
    assert_eq!((code, err.as_str()), (0, ""));
    let names: Vec<&str> = out.lines().skip(1).filter_map(|line| line.split_whitespace().next()).collect();
    assert_eq!(names, ["58mm", "58mm-wide", "80mm", "80mm-180", "112mm"]);
}

#[test]
fn every_command_and_option_of_the_contract_stands_in_the_help() {
    let (code, help, _) = run(&mut stripling(&["--help"]));
    assert_eq!(code, 0);
    for (command, options) in [
        ("proof", "MANUAL --output --as --unit --map --printer --units --quiet"),
        ("preflight", "MANUAL --json --printer --units --quiet"),
        ("estimate", "MANUAL --copies --roll --json"),
        ("encode", "MANUAL --output --unit"),
        ("decode", "BYTES --output --json"),
        ("print", "MANUAL --to --copies --ledger"),
        ("ledger", "LEDGER --resolve --json"),
        ("desk", "MANUAL --port"),
        ("chart", "--output --to"),
        ("makeready", "--to --output --answers --photo --again"),
        ("start", "FOLDER"),
        ("printers", "--quiet"),
    ] {
        assert!(help.contains(&format!("  {command} ")), "{command} is not in\n{help}");
        let (code, own, err) = run(&mut stripling(&[command, "--help"]));
        assert_eq!((code, err.as_str()), (0, ""));
        for option in options.split(' ') {
            assert!(own.contains(option), "{command} {option} is not in\n{own}");
        }
    }
}

#[test]
fn decode_tells_and_shows_the_paper() {
    let bench = Bench::new();
    let picture = bench.path("seen.png");
    let (code, out, err) = bench.decode(&["-o", &picture]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(
        out.contains("16 dots x 2 rows, 0.25 mm") && out.contains("GS v 0     1\n") && out.contains("cuts       2\n"),
        "{out}"
    );
    let paper = Bitmap::from_rows(16, 2, vec![0x80, 0x01, 0xFF, 0x00]);
    assert_eq!(fs::read(&picture).expect("written"), png::write(&paper, Resolution::EIGHT));
}

#[test]
fn decode_json_has_the_keys_of_the_contract() {
    let (code, out, err) = Bench::new().decode(&["--json"]);
    assert_eq!((code, err.as_str()), (0, ""));
    let told: serde_json::Value = serde_json::from_str(&out).expect("one JSON object");
    let expected = serde_json::json!({
        "dots": 16, "rows": 2, "length_mm": 0.25, "cuts": [2], "commands": { "GS v 0": 1, "GS V": 1 }, "bytes": 16, "errors": []
    });
    assert_eq!(told, expected);
}

#[test]
fn wrong_bytes_are_exit_code_1_with_their_offset() {
    let bench = Bench::new();
    fs::write(bench.path("sample.bin"), &SAMPLE[..10]).expect("written");
    let (code, out, err) = bench.decode(&["--json"]);
    assert_eq!(code, 1);
    let told: serde_json::Value = serde_json::from_str(&out).expect("one JSON object");
    assert_eq!(told["errors"], serde_json::json!([{ "offset": 0, "message": "the bytes end inside a command" }]));
    assert!(err.contains("byte 0: the bytes end inside a command"), "{err}");
}

#[test]
fn bytes_come_from_standard_input_and_the_picture_goes_to_standard_output() {
    let bench = Bench::new();
    let mut command = stripling(&["decode", "-", "-o", "-", "--printer", &bench.path("narrow.toml")]);
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("the program runs");
    child.stdin.take().expect("a pipe").write_all(&SAMPLE).expect("written");
    let output = child.wait_with_output().expect("done");
    let paper = Bitmap::from_rows(16, 2, vec![0x80, 0x01, 0xFF, 0x00]);
    assert_eq!((output.status.code(), output.stdout), (Some(0), png::write(&paper, Resolution::EIGHT)));
}

#[test]
fn nobody_listening_is_no_error() {
    let mut command = stripling(&["decode", "-"]);
    let mut child =
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program runs");
    // The reader leaves before there is anything to read.
    drop(child.stdout.take());
    child.stdin.take().expect("a pipe").write_all(&[0x1B, 0x40]).expect("written");
    let output = child.wait_with_output().expect("done");
    assert_eq!((output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()), (Some(0), ""));
}

#[test]
fn usage_errors_are_exit_code_2() {
    for arguments in [
        &[][..],
        &["prof"],
        &["decode"],
        &["proof", "m.md", "--as", "cloth"],
        &["proof", "m.md", "--unit", "3"],
        &["estimate", "m.md", "--copies", "0"],
        &["print", "m.md"],
        &["desk", "m.md", "--port", "70000"],
        &["decode", "x.bin", "--printer", "80m"],
        &["decode", "x.bin", "-o", "-", "--json"],
    ] {
        let (code, out, err) = run(&mut stripling(arguments));
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}: {err}");
        assert!(!err.is_empty() && !err.contains("panicked"), "{arguments:?}: {err}");
    }
    let (_, _, err) = run(&mut stripling(&["decode", "x.bin", "--printer", "80m"]));
    assert!(err.contains("no printer is called \"80m\"") && err.contains("did you mean \"80mm\"?"), "{err}");
}

#[test]
fn inputs_that_cannot_be_used_are_exit_code_3() {
    let bench = Bench::new();
    let (code, out, err) = run(&mut stripling(&["decode", &bench.path("none.bin")]));
    assert_eq!((code, out.as_str()), (3, ""));
    assert!(err.contains("none.bin cannot be read: no such file"), "{err}");

    fs::write(bench.path("narrow.toml"), "# A printer\ndots = 16\ndensity = 99\n").expect("written");
    let (code, out, err) = bench.decode(&[]);
    assert_eq!((code, out.as_str()), (3, ""));
    assert!(
        err.contains("density is from -6 to 8") && err.contains("narrow.toml:3:11") && err.contains("3 │ density = 99"),
        "{err}"
    );

    fs::write(bench.path("narrow.toml"), b"name = \"\xFF\"").expect("written");
    let (code, _, err) = bench.decode(&[]);
    assert_eq!(code, 3);
    assert!(err.contains("is not UTF-8 text"), "{err}");
}

#[test]
fn outputs_that_cannot_be_written_leave_what_was_there() {
    let bench = Bench::new();
    let (code, out, err) = bench.decode(&["-o", bench.folder.path().to_str().expect("UTF-8")]);
    assert_eq!((code, out.as_str()), (3, ""));
    assert!(err.contains("cannot be written: it is a folder"), "{err}");
    // An input error comes before the output is touched.
    let picture = bench.path("seen.png");
    fs::write(&picture, "old").expect("written");
    fs::remove_file(bench.path("sample.bin")).expect("removed");
    assert_eq!(bench.decode(&["-o", &picture]).0, 3);
    assert_eq!(fs::read_to_string(&picture).expect("there"), "old");
}

#[test]
fn quiet_keeps_errors_and_drops_notices() {
    let bench = Bench::new();
    fs::write(bench.path("narrow.toml"), "dots = 16\nband_row = 3\n").expect("written");
    let (code, out, err) = bench.decode(&["--json"]);
    assert_eq!(code, 0);
    assert!(err.contains("unknown key \"band_row\"") && err.contains("did you mean \"band_rows\"?"), "{err}");
    let (code, quiet_out, quiet_err) = bench.decode(&["--json", "--quiet"]);
    assert_eq!((code, quiet_out, quiet_err.as_str()), (0, out, ""));
    fs::write(bench.path("sample.bin"), [0x1B]).expect("written");
    assert!(bench.decode(&["--quiet"]).2.contains("the bytes end inside a command"));
}

#[test]
fn the_same_bytes_whatever_the_locale_the_threads_or_the_terminal() {
    let bench = Bench::new();
    let (sample, printer) = (bench.path("sample.bin"), bench.path("narrow.toml"));
    let plain = bench.decode(&["--as", "paper", "-o", "-"]);
    for (name, value) in
        [("LC_ALL", "tr_TR.UTF-8"), ("RAYON_NUM_THREADS", "1"), ("TZ", "Asia/Kathmandu"), ("NO_COLOR", "1"), ("TERM", "dumb")]
    {
        let mut command = stripling(&["decode", &sample, "--printer", &printer, "--as", "paper", "-o", "-"]);
        assert_eq!(run(command.env(name, value)), plain, "{name}={value}");
    }
    assert!(!plain.2.contains('\u{1B}'));
}

#[test]
fn completions_and_the_man_page_come_from_the_options() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let (code, script, err) = run(&mut stripling(&["completions", shell]));
        assert_eq!((code, err.as_str()), (0, ""));
        assert!(script.contains("preflight") && script.contains("resolve"), "{shell}");
    }
    let (code, page, _) = run(&mut stripling(&["manpage"]));
    assert_eq!(code, 0);
    for heading in [".TH stripling 1", ".SS proof", ".SS ledger"] {
        assert!(page.contains(heading), "no {heading}");
    }
    assert!(page.contains("\\-\\-resolve"), "options of commands are in");
}

#[test]
fn nothing_is_left_beside_the_output() {
    let bench = Bench::new();
    bench.decode(&["-o", &bench.path("seen.png")]);
    let left = |folder: &Path| fs::read_dir(folder).expect("a folder").count();
    assert_eq!(left(bench.folder.path()), 3);
}

#[test]
fn the_test_strip_goes_where_a_manual_would() {
    let bench = Bench::new();
    let (out, bytes, picture, sent) =
        (bench.path("out"), bench.path("chart.bin"), bench.path("chart.png"), bench.path("sent.bin"));
    for output in [&bytes, &picture] {
        assert_eq!(run(&mut stripling(&["chart", "-o", output])).0, 0);
    }
    let (code, said, err) = run(&mut stripling(&["chart", "--to", &format!("rehearse:{out}")]));
    assert_eq!((code, said.as_str()), (0, ""), "{err}");
    assert!(err.contains("chart: printed on rehearse:"), "{err}");
    let came_out = fs::read(Path::new(&out).join("chart.png")).expect("written");
    assert!(came_out == fs::read(&picture).expect("written"), "what came out is what was shown");
    let (code, _, err) = run(&mut stripling(&["chart", "--to", &sent]));
    assert!(code == 0 && err.contains("no file can say that they came out"), "{err}");
    assert!(fs::read(&sent).expect("written") == fs::read(&bytes).expect("written"));
    let (code, _, err) = run(&mut stripling(&["chart", "--to", "http://printer"]));
    assert!(code == 2 && err.contains("tcp://HOST"), "{err}");
}
