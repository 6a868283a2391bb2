//! Pretend printers with one fault each, found out by `makeready`: an eye looks at what came out, dot by dot, and answers.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use rayon::prelude::*;
use stripling::bitmap::Bitmap;
use stripling::lengths::Mm;
use stripling::makeready::{edges, ways};
use stripling::printer::pretend::Pretend;
use stripling::printer::{Cut, CutCommand, CutLine, Fence, Profile, Raster, Thrift};

pub fn program(folder: &Path, arguments: &[&str], typed: Option<&str>) -> (i32, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(arguments).current_dir(folder).stdout(Stdio::piped()).stderr(Stdio::piped());
    command.stdin(if typed.is_some() { Stdio::piped() } else { Stdio::null() });
    let mut child = command.spawn().expect("the program starts");
    if let (Some(text), Some(mut stdin)) = (typed, child.stdin.take()) {
        use std::io::Write;
        stdin.write_all(text.as_bytes()).expect("typed");
    }
    let Output { status, stdout, stderr } = child.wait_with_output().expect("the program ends");
    let said = String::from_utf8_lossy(&stderr).into_owned();
    assert_eq!(String::from_utf8_lossy(&stdout), "", "standard output carries what was asked for: nothing");
    assert!(!said.contains("panicked"), "{said}");
    (status.code().expect("no signal"), said)
}

/// Without frames and line ends.
fn plain(said: &str) -> String {
    said.replace('│', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// One bit a dot, 1 is white (PNG).
fn picture(path: &Path) -> Bitmap {
    let mut reader = png::Decoder::new(std::io::Cursor::new(fs::read(path).expect("a picture"))).read_info().expect("a PNG");
    let mut rows = vec![0; reader.output_buffer_size().expect("a size")];
    let info = reader.next_frame(&mut rows).expect("rows");
    rows.truncate(info.width.div_ceil(8) as usize * info.height as usize);
    Bitmap::from_rows(info.width, info.height, rows.iter().map(|byte| !byte).collect())
}

/// The pieces of a strip, in the order in which they came out.
fn pieces(folder: &Path, name: &str) -> Vec<Bitmap> {
    let whole = folder.join(format!("{name}.png"));
    if whole.exists() {
        return vec![picture(&whole)];
    }
    (1..)
        .map(|number| folder.join(format!("{name}-{number}.png")))
        .take_while(|path| path.exists())
        .map(|path| picture(&path))
        .collect()
}

/// The row at which something stands on paper, at its left edge or, from a printer that mirrors, at its right one.
pub fn row_of(paper: &Bitmap, thing: &Bitmap) -> Option<u32> {
    let places = [Some(0), paper.width().checked_sub(thing.width())];
    let rows = 0..(paper.height() + 1).saturating_sub(thing.height());
    places.into_iter().flatten().find_map(|x| {
        rows.clone().find(|&y| {
            (0..thing.height()).all(|down| paper.part(x as i32, (y + down) as i32, thing.width(), 1).row(0) == thing.row(down))
        })
    })
}

fn base(paper: u32) -> Profile {
    Profile::named(if paper == 58 { "58mm" } else { "80mm" }).expect("built in")
}

/// Which pictures look like that on the screen.
fn right(folder: &Path, paper: u32) -> Vec<u32> {
    let strip = pieces(folder, "ways");
    let trials = ways::trials(&base(paper));
    trials
        .iter()
        .filter(|trial| strip.iter().any(|piece| row_of(piece, &trial.picture).is_some()))
        .map(|trial| trial.number)
        .collect()
}

/// Width, cuts and the way from head to blade, as a person reads them off.
fn read_edges(folder: &Path, paper: u32, written: &Profile, tear: Mm) -> String {
    let strip = pieces(folder, "edges");
    let on_paper = |thing: &Bitmap| strip.iter().position(|piece| row_of(piece, thing).is_some());
    let width = edges::widths(paper)
        .into_iter()
        .filter(|&dots| on_paper(&edges::line(dots)).is_some())
        .max()
        .expect("a line with a hook");
    let ladder = edges::ladder(written);
    let at_two = on_paper(&ladder).is_none();
    // Narrower than the line that it was sent with, where the printer is.
    let dots = written.dots.min(strip[0].width());
    let one = on_paper(&edges::first(written.dots).part(0, 0, dots, 60)).expect("the large 1");
    let cut: Vec<&str> =
        [(one + 1 < strip.len(), "1"), (at_two, "2")].into_iter().filter(|(cut, _)| *cut).map(|(_, name)| name).collect();
    let edge = if at_two {
        let highest = (0..ladder.height()).find(|&y| ladder.get(0, y as i32)).expect("a rung") as i32;
        let head = ladder.part(0, highest, dots, 30);
        let left = strip[0].height() - row_of(&strip[0], &head).expect("the ladder's upper end");
        let lowest =
            (0..=edges::LADDER).find(|mm| written.resolution.dots(Mm::new(f64::from(edges::LADDER - mm))).count() + 2 <= left);
        f64::from(lowest.expect("a rung"))
    } else {
        tear.value()
    };
    format!("width = {width}\ncut = [{}]\nedge = {edge}\n", cut.join(", "))
}

fn heron() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("manuals/heron/heron.md")
}

/// Walks through everything with one pretend printer, and gives the file that was written.
fn made_ready(folder: &Path, fault: &str) -> Profile {
    let to = format!("rehearse:out?fault={fault}");
    let truth = Pretend::new(fault).expect("known").truth().clone();
    let paper = if fault == "dots-420" { 58 } else { 80 };
    let out = folder.join("out");
    let step = |answers: &str| {
        fs::write(folder.join("a.toml"), answers).expect("written");
        let (code, said) = program(folder, &["makeready", "--to", &to, "--answers", "a.toml"], None);
        assert_eq!(code, 0, "{fault}: {said}");
        let text = fs::read_to_string(folder.join("bench.toml")).expect("a file that works, after every step");
        let (profile, notices) = Profile::read_toml(&text, "bench.toml").expect("a file that works, after every step");
        assert_eq!(notices, [], "{text}");
        (said, profile)
    };
    let (said, _) = step(&format!("paper = {paper}\n"));
    assert!(said.contains("still open: right"), "{fault}: {said}");
    assert!(!out.join("chart.png").exists() && pieces(&out, "edges").is_empty(), "{fault}: no strip before its time");
    let (_, known) = step(&format!("right = {:?}\n", right(&out, paper)));
    let (said, _) = step(&read_edges(&out, paper, &known, truth.head_to_cutter));
    assert!(said.contains("still open: length, type"), "{fault}: {said}");
    let (said, profile) = step("length = 100\ntype = 6\ngain = 15\nlines = \"whole\"\nseconds = 6\n");
    assert!(said.contains("bench.toml: ready"), "{fault}: {said}");
    profile
}

/// What came out of a pretend printer with the file that was written, against the proof.
fn prints(folder: &Path, fault: &str, manual: &Path) {
    let manual = manual.to_str().expect("UTF-8");
    let to = format!("rehearse:strips?fault={fault}");
    let (code, said) = program(folder, &["print", manual, "--printer", "bench.toml", "--to", &to], None);
    assert_eq!(code, 0, "{fault}: {said}");
    let (code, said) = program(folder, &["proof", manual, "--printer", "bench.toml", "-o", "proof.png"], None);
    assert_eq!(code, 0, "{fault}: {said}");
    let came_out = pieces(&folder.join("strips"), "manual");
    assert_eq!(came_out.len(), 1, "{fault}: one strip");
    let proof = picture(&folder.join("proof.png"));
    assert_eq!((came_out[0].width(), came_out[0].height()), (proof.width(), proof.height()), "{fault}");
    let row = (0..proof.height()).find(|&y| proof.row(y) != came_out[0].row(y));
    assert_eq!(row, None, "{fault}: the proof is the paper");
}

#[test]
fn every_pretend_printer_is_recognised_and_its_file_prints_heron_dot_for_dot() {
    /// What is found out of it, besides that it prints.
    type Says = fn(&Profile) -> bool;
    let faults: [(&str, Says); 13] = [
        ("sound", |found| found.thrift == Thrift::Stripes && found.status && found.fence == Fence::Process),
        ("no-esc-dollar", |found| found.thrift == Thrift::Bands && found.raster == Raster::Rows),
        ("no-graphics", |found| found.thrift == Thrift::Feeds && found.raster == Raster::Rows),
        ("only-columns", |found| found.raster == Raster::Columns),
        ("dots-420", |found| found.dots == 420),
        ("mute", |found| !found.status && found.fence == Fence::None && found.thrift == Thrift::Stripes),
        ("small-buffer", |found| found.buffer <= 2048 && found.band_bytes <= 1024 && found.fence == Fence::Process),
        ("mirrored", |found| found.mirrored && found.thrift == Thrift::None),
        ("lowest-first", |found| found.lsb_first),
        ("half-units", |found| found.feed_per_inch == 406),
        ("short-bands", |found| found.band_bytes <= 1024),
        ("cuts-here", |found| found.cut == Cut::Partial && found.cut_command == CutCommand::Cut),
        ("no-cutter", |found| found.cut == Cut::None && found.cut_line == CutLine::Every),
    ];
    faults.par_iter().for_each(|(fault, says)| {
        let folder = tempfile::tempdir().expect("a folder");
        let found = made_ready(folder.path(), fault);
        let told = fs::read_to_string(folder.path().join("bench.toml")).expect("written");
        assert!(says(&found), "{fault}: {told}");
        let truth = Pretend::new(fault).expect("known").truth().clone();
        assert_eq!((found.dots, found.head_to_cutter), (truth.dots, truth.head_to_cutter), "{fault}: {told}");
        prints(folder.path(), fault, &heron());
    });
}

#[test]
fn a_conversation_is_kept_and_taken_up_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    // A slip is asked again; q ends with a file that works.
    let (code, said) = program(here, &["makeready", "--to", "rehearse:out"], Some("60\n80\n1 2 4, 99\nq\n"));
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("no generic printer takes paper of 60 mm") && said.contains("no 99 on the strip"), "{said}");
    assert!(said.contains("bench.toml: works; still open: right"), "{said}");
    let kept = fs::read_to_string(here.join("bench.answers.toml")).expect("kept");
    assert!(kept.contains("paper = 80") && kept.contains("printed = [\"ways\"]"), "{kept}");
    fs::remove_file(here.join("out/ways.png")).expect("it was printed");
    let (code, said) = program(here, &["makeready"], Some("1-4 6 8-11 14-17\n576\n1 2\n15\n"));
    assert_eq!(code, 0, "{said}");
    assert!(!here.join("out/ways.png").exists(), "it is not printed twice");
    let told = fs::read_to_string(here.join("bench.toml")).expect("written");
    assert!(
        told.contains("thrift = \"stripes\"") && told.contains("# seen by you: ") && told.contains("Still open: length"),
        "{told}"
    );
    // Another printer is not taken for this one.
    let (code, said) = program(here, &["makeready", "--to", "rehearse:other"], Some(""));
    assert!(code == 2 && said.contains("is of the printer at rehearse:out") && said.contains("--again"), "{said}");
}

/// A pseudo-terminal whose other end says what `answer` makes of what it gets, until the test ends.
fn terminal(answer: impl Fn(&[u8]) -> Vec<u8> + Send + 'static) -> (String, serialport::TTYPort) {
    use serialport::{SerialPort, TTYPort};
    use std::io::{Read, Write};
    let (mut master, slave) = TTYPort::pair().expect("a pseudo-terminal");
    master.set_timeout(std::time::Duration::from_millis(20)).expect("a time-out");
    let address = format!("serial:{}?flow=none", slave.name().expect("a name"));
    std::thread::spawn(move || {
        let mut room = [0; 4096];
        loop {
            match master.read(&mut room) {
                Ok(count) if count > 0 && master.write_all(&answer(&room[..count])).is_err() => return,
                Ok(_) => {}
                Err(error) if error.kind() == std::io::ErrorKind::TimedOut => {}
                Err(_) => return,
            }
        }
    });
    (address, slave)
}

/// As modems answer what is no command of theirs: with an echo, and after `ATE0` without one.
#[test]
fn a_modem_is_told_from_a_printer_and_gets_no_strip() {
    for (echoes, says) in [(true, "sends back what it gets"), (false, "that is no receipt printer")] {
        let folder = tempfile::tempdir().expect("a folder");
        let heard = std::sync::Arc::new(std::sync::Mutex::new(Vec::new()));
        let ear = std::sync::Arc::clone(&heard);
        let (address, _slave) = terminal(move |bytes| {
            ear.lock().expect("no panic").extend_from_slice(bytes);
            if echoes { bytes.to_vec() } else { b"\r\nERROR\r\n".to_vec() }
        });
        fs::write(folder.path().join("a.toml"), "paper = 80\n").expect("written");
        let (code, said) = program(folder.path(), &["makeready", "--to", &address, "--answers", "a.toml"], None);
        assert_eq!(code, 4, "{said}");
        let words = plain(&said);
        assert!(words.contains(says) && words.contains("nothing was printed"), "{said}");
        let heard = heard.lock().expect("no panic").clone();
        assert!(heard.len() < 16 && heard.starts_with(&[0x10, 4, 1]), "a question and no strip: {heard:02X?}");
    }
}

/// It answers all questions, and is off when its strip comes.
#[test]
fn a_printer_switched_off_between_question_and_strip_is_told_and_taken_up_again() {
    use std::io::{Read, Write};
    let folder = tempfile::tempdir().expect("a folder");
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
    let to = format!("tcp://{}", listener.local_addr().expect("bound"));
    let off = std::thread::spawn(move || {
        let (mut stream, _) = listener.accept().expect("asked");
        drop(listener);
        let mut printer = Pretend::new("sound").expect("known");
        let mut room = [0; 4096];
        while let Ok(count @ 1..) = stream.read(&mut room) {
            printer.take(&room[..count]);
            if stream.write_all(&printer.answers()).is_err() {
                break;
            }
        }
    });
    fs::write(folder.path().join("a.toml"), "paper = 80\n").expect("written");
    let (code, said) = program(folder.path(), &["makeready", "--to", &to, "--answers", "a.toml"], None);
    off.join().expect("no panic");
    assert_eq!(code, 4, "{said}");
    let words = plain(&said);
    assert!(words.contains("it answers; ") && words.contains("cannot be reached"), "{said}");
    let kept = fs::read_to_string(folder.path().join("bench.answers.toml")).expect("kept");
    assert!(kept.contains(&to) && !kept.contains("printed"), "no strip is called printed: {kept}");
    // A file that works, though nothing came out.
    let file = fs::read_to_string(folder.path().join("bench.toml")).expect("a file that works");
    let (profile, _) = Profile::read_toml(&file, "bench.toml").expect("a file that works");
    assert!(profile.status && profile.fence == Fence::Process, "{file}");
}

#[test]
fn it_says_where_it_did_not_look() {
    let folder = tempfile::tempdir().expect("a folder");
    let (code, said) = program(folder.path(), &["makeready"], Some("q\n"));
    assert_eq!(code, 0, "{said}");
    let words = plain(&said);
    // The network is asked by DNS-SD, or it is said why it was not: which depends on the machine.
    assert!(words.contains("DNS-SD") || words.contains(", on the network"), "{said}");
    assert!(words.contains("Which one?") && words.contains("A printer on the network that is not listed"), "{said}");
}

#[test]
fn what_is_wrong_is_one_clear_line_and_nothing_is_printed_or_lost() {
    let refused = |files: &[(&str, &str)], arguments: &[&str], code: i32, says: &[&str]| {
        let folder = tempfile::tempdir().expect("a folder");
        for (name, text) in files {
            fs::write(folder.path().join(name), text).expect("written");
        }
        let (was, said) = program(folder.path(), &[&["makeready"], arguments].concat(), None);
        assert_eq!(was, code, "{said}");
        assert!(says.iter().all(|says| plain(&said).contains(says)), "{said}");
        assert!(!folder.path().join("out").exists(), "nothing was printed");
        for (name, text) in files {
            assert_eq!(&fs::read_to_string(folder.path().join(name)).expect("there"), text, "{name} is as it was");
        }
    };
    let to = |fault: &str| format!("rehearse:out?fault={fault}");
    refused(&[("a.toml", "paper = 80\nright = [1, 12]\n")], &["--answers", "a.toml"], 3, &["a.toml:2:9", "1 and 12"]);
    refused(&[("a.toml", "paper = 80\nright = [1, ")], &["--answers", "a.toml"], 3, &["a.toml:2:"]);
    refused(&[("bench.answers.toml", "paper = ")], &[], 3, &["bench.answers.toml:1:"]);
    refused(&[("bench.toml", "base = \"58mm\"\n")], &["--to", "rehearse:out"], 3, &["bench.toml is there already", "-o"]);
    refused(
        &[("a.toml", "")],
        &["--to", &to("echo"), "--answers", "a.toml"],
        4,
        &["sends back what it gets", "nothing was printed"],
    );
    refused(&[("a.toml", "")], &["--to", &to("flood"), "--answers", "a.toml"], 4, &["without being asked"]);
    refused(&[("a.toml", "")], &["--to", &to("warp"), "--answers", "a.toml"], 2, &["the faults are sound, no-esc-dollar"]);
    refused(
        &[("a.toml", "")],
        &["--to", "tcp://127.0.0.1:1", "--answers", "a.toml"],
        4,
        &["cannot be reached", "the same command goes on"],
    );
    refused(&[], &["--to", "http://printer"], 2, &["tcp://HOST"]);
}

/// What the handbook shows of each strip: its name, whose strip, which, and the part of it, 272 dots wide: from where, how high. Rows
/// below zero count from the end.
const SHOWN: [(&str, &str, &str, i32, i32, u32); 10] = [
    ("ways-right", "sound", "ways", 0, 168, 82),
    ("ways-wrong", "no-esc-dollar", "ways", 0, 1880, 82),
    ("feeds-right", "sound", "ways", 0, 414, 276),
    ("feeds-wrong", "sound", "ways", 0, 688, 324),
    ("hooks", "sound", "edges", 304, 182, 132),
    ("ladder", "sound", "edges", 0, -95, 95),
    ("length", "sound", "chart", 0, -230, 210),
    ("type", "sound", "chart", 0, 322, 178),
    ("gain", "sound", "chart", 300, 1110, 130),
    ("lines", "sound", "chart", 150, 815, 125),
];

#[test]
fn the_handbook_shows_each_question_as_it_comes_out() {
    let handbook = Path::new(env!("CARGO_MANIFEST_DIR")).join("manuals/handbook");
    let text = fs::read_to_string(handbook.join("handbook.md")).expect("the handbook");
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    let all = "paper = 80\nright = [1, 2, 3, 4, 6, 8, 9, 10, 11, 14, 15, 16, 17]\nwidth = 576\n";
    for (fault, answers) in [("sound", all), ("no-esc-dollar", "paper = 80\n")] {
        fs::write(here.join("a.toml"), answers).expect("written");
        let to = format!("rehearse:{fault}?fault={fault}");
        let (code, said) =
            program(here, &["makeready", "--to", &to, "--answers", "a.toml", "-o", &format!("{fault}.toml")], None);
        assert_eq!(code, 0, "{said}");
    }
    for (name, fault, strip, x, y, height) in SHOWN {
        let paper = pieces(&here.join(fault), strip).remove(0);
        let y = if y < 0 { paper.height() as i32 + y } else { y };
        let part = paper.part(x, y, 272, height);
        let mut whole = Bitmap::new(272, height + 16);
        whole.put(&part, 0, 8, stripling::bitmap::Ink::Black);
        let (file, made) = (format!("strip-{name}.png"), stripling::strip::png::write(&whole, base(80).resolution));
        let kept = handbook.join(&file);
        if std::env::var_os("STRIPLING_ACCEPT_GOLDEN").is_some_and(|value| value == "1") {
            fs::write(&kept, &made).expect("written");
        }
        assert!(text.contains(&format!("\"{file}\"")), "{file} is not in the handbook");
        assert!(
            fs::read(&kept).ok() == Some(made),
            "{file} is otherwise: look at it, then accept it with STRIPLING_ACCEPT_GOLDEN=1"
        );
    }
}
