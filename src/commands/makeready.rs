//! `stripling makeready`: finds a printer, asks it, prints strips and asks what came out, and writes its file.
//!
//! What was learned is kept beside the file after each answer, so that it ends at any time with a file that works and the same
//! command goes on.

use std::io::{self, BufRead, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::options::Makeready;
use super::output::Output;
use super::report::{Reporter, Trouble};
use super::{Error, chart, pretend_printers, printing};
use crate::lengths::Dots;
use crate::makeready::answers::{self, Answers};
use crate::makeready::asking::{self, Heard};
use crate::makeready::look::{self, Look};
use crate::makeready::outcome::{self, Outcome};
use crate::makeready::photograph::{self, Picture, Refusal, drawn, sheet::Sheet, trials};
use crate::makeready::questions::{After, QUESTIONS, Question};
use crate::makeready::{edges, ways};
use crate::names::plainly;
use crate::prepress;
use crate::printer::{self, Profile};
use crate::send::{self, Capabilities, Settings, StripBytes, Times, nearby};
use crate::strip::{Strip, png};

/// Largest file of answers.
const LARGEST: u64 = 1 << 20;
const LARGEST_PHOTOGRAPH: u64 = 64 << 20;

/// Pause after each picture of the ways strip, so that none waits in a buffer when the next comes; a pretend printer needs less.
const PAUSE: Duration = Duration::from_millis(250);
const PRETEND_PAUSE: Duration = Duration::from_millis(12);

/// How long printers on the network have for an answer: one that shares a name waits up to half a second (RFC 6762, memory), and each may be
/// asked three times.
const PATIENCE: Duration = Duration::from_millis(1500);

/// Begins each file that this command wrote and may write again.
const MARK: &str = "written by `stripling makeready`";

pub fn run(asked: &Makeready, reporter: &Reporter) -> Result<(), Error> {
    let mut session = Session::open(asked, reporter)?;
    if !asked.photo.is_empty() {
        session.photographs(&asked.photo)?;
        // Who only reads a photograph chooses no printer.
        session.ended |= asked.to.is_none() && session.answers.to.is_none();
    }
    session.place(asked)?;
    session.questions(After::Nothing)?;
    session.ask()?;
    for strip in [After::Ways, After::Edges, After::Chart, After::Squares] {
        if session.ended || !session.may_print(strip) {
            break;
        }
        if let Err(error) = session.print(strip) {
            // What is known so far makes a file, too.
            session.close()?;
            return Err(error);
        }
        session.questions(strip)?;
    }
    session.close()
}

struct Session<'a> {
    output: PathBuf,
    kept: PathBuf,
    answers: Answers,
    heard: Heard,
    /// A person is asked; else answers come from a file.
    talks: bool,
    /// Nobody answers any more.
    ended: bool,
    reporter: &'a Reporter,
}

impl<'a> Session<'a> {
    fn open(asked: &Makeready, reporter: &'a Reporter) -> Result<Session<'a>, Error> {
        let output = asked.output.clone();
        let kept = output.with_extension("answers.toml");
        if let Ok(before) = std::fs::read_to_string(&output)
            && !before.lines().next().unwrap_or_default().contains(MARK)
        {
            let trouble = Trouble::new(format!("{} is there already, and not from this command", output.display()));
            return Err(Error::Input(trouble.hint("name another file with -o; nothing of yours is written over")));
        }
        let mut answers = Answers::default();
        if kept.exists() && !asked.again {
            answers = read(&kept, reporter)?;
        }
        if let Some(path) = &asked.answers {
            let newer = read(path, reporter)?;
            answers = merged(&answers, &newer, &path.display().to_string())?;
        }
        Ok(Session { output, kept, answers, heard: Heard::default(), talks: asked.answers.is_none(), ended: false, reporter })
    }

    /// Where the printer is: as said, as kept, or chosen by a person from what is found. Never one that was not chosen.
    fn place(&mut self, asked: &Makeready) -> Result<(), Error> {
        if let (Some(to), Some(kept)) = (&asked.to, &self.answers.to)
            && send::place(to) != send::place(kept)
        {
            let trouble = Trouble::new(format!("{} is of the printer at {kept}", self.kept.display()));
            return Err(Error::Usage(trouble.hint("name another file with -o, or begin anew with --again")));
        }
        if let Some(to) = &asked.to {
            let refused = |error: send::Error| Error::Usage(Trouble::new(error.to_string()).maybe_hint(error.hint()));
            let to = exactly(to);
            send::open(&to, settings()).map_err(refused)?;
            return self.note("to", &format!("{to:?}"));
        }
        if self.answers.to.is_some() || !self.talks || self.ended {
            return Ok(());
        }
        let found = everywhere();
        for (index, found) in found.found.iter().enumerate() {
            say(&format!("{:>3}  {}  ({})", index + 1, found.address, found.what));
        }
        if found.found.is_empty() {
            say(
                "no printer was found among devices, serial lines, USB, the system's queues, and what announces itself on the network (DNS-SD)",
            );
        }
        found.blind.iter().for_each(|words| say(&format!("     not looked at: {words}")));
        say(
            "Which one? Its number, or an address: tcp://HOST:9100, serial:/dev/ttyUSB0?baud=115200, queue:NAME. A printer on the network that is not listed prints its address when it is switched on with its feed button pressed.",
        );
        while let Some(typed) = self.line() {
            let chosen = typed.parse::<usize>().ok().and_then(|number| found.found.get(number.checked_sub(1)?));
            let address = exactly(&chosen.map_or(typed, |found| found.address.clone()));
            match send::open(&address, settings()) {
                Ok(_) => return self.note("to", &format!("{address:?}")),
                Err(error) => say(&format!("{error}. {}", error.hint().unwrap_or_default())),
            }
        }
        Ok(())
    }

    /// Asks the printer who and how it is. Nothing is printed on what turns out to be no printer.
    fn ask(&mut self) -> Result<(), Error> {
        let Some(to) = self.answers.to.clone().filter(|_| !self.ended) else { return Ok(()) };
        let line = send::line_to(&to, &settings())
            .map_err(|error| Error::Usage(Trouble::new(error.to_string()).maybe_hint(error.hint())))?;
        let Some(line) = line else { return Ok(()) };
        let failed = |why: String| {
            let hint =
                format!("nothing was printed; what is known is kept in {}, and the same command goes on", self.kept.display());
            Error::Printer(Trouble::new(format!("{to}: {why}")).hint(hint))
        };
        let mut wire = line.map_err(|error| failed(format!("it cannot be reached ({}): is it switched on?", plainly(&error))))?;
        let heard = asking::ask(wire.as_mut());
        wire.close(Duration::from_millis(300));
        self.heard = heard.map_err(|refusal| failed(refusal.to_string()))?;
        let who: Vec<String> = self.heard.identity.iter().map(|(what, words)| format!("{what} {words}")).collect();
        self.reporter.say(match (self.heard.asked, self.heard.status) {
            (false, _) => format!("{to}: nothing comes back on this way to it, so it is not asked"),
            (true, false) => format!("{to}: it does not answer"),
            (true, true) => format!("{to}: it answers{}{}", if who.is_empty() { "" } else { "; " }, who.join(", ")),
        });
        Ok(())
    }

    /// Without a person a strip waits for the answer that it is printed by.
    fn may_print(&self, strip: After) -> bool {
        let known = match strip {
            After::Edges => self.answers.has("right"),
            After::Chart | After::Squares => self.answers.has("width"),
            After::Nothing | After::Ways => true,
        };
        self.answers.to.is_some() && (known || self.talks)
    }

    fn print(&mut self, strip: After) -> Result<(), Error> {
        let name = match strip {
            After::Nothing => return Ok(()),
            After::Ways => "ways",
            After::Edges => "edges",
            After::Chart => "chart",
            After::Squares => "squares",
        };
        let Some(to) = self.answers.to.clone() else { return Ok(()) };
        if self.answers.printed.iter().any(|printed| printed == name) {
            return Ok(());
        }
        let profile = self.outcome()?.profile;
        match strip {
            After::Ways => self.print_ways(&to, &profile)?,
            After::Edges => {
                let (bytes, ends) = edges::stream(&profile, self.answers.paper.unwrap_or(80));
                let strip = StripBytes::cut_at(&bytes, &ends, 0, profile.buffer as usize / 4);
                printing::alone(&to, name, strip, &profile, printing::capabilities(&profile), self.reporter)?;
            }
            After::Squares => {
                // A printer too narrow for it does without.
                let Some(sheet) = Sheet::of(&profile) else { return Ok(()) };
                let strip = printer::as_told(Strip::new(sheet.bitmap, profile.resolution), &profile);
                let strip = printing::cut_up(&strip, &profile);
                printing::alone(&to, name, strip, &profile, printing::capabilities(&profile), self.reporter)?;
                self.reporter.say(
                    "squares: lay it flat, photograph it from above, and `stripling makeready --photo FILE.jpg` answers from it",
                );
            }
            After::Nothing | After::Chart => {
                let strip = printing::cut_up(&chart::strip(&profile), &profile);
                printing::alone(&to, name, strip, &profile, printing::capabilities(&profile), self.reporter)?;
            }
        }
        let printed: Vec<String> =
            self.answers.printed.iter().cloned().chain([name.to_string()]).map(|name| format!("{name:?}")).collect();
        self.note("printed", &format!("[{}]", printed.join(", ")))
    }

    fn print_ways(&mut self, to: &str, profile: &Profile) -> Result<(), Error> {
        let (trials, [head, foot]) = (ways::trials(profile), ways::frames(profile));
        let sheet = self.output.with_extension("ways.png");
        Output::File(sheet.clone()).write(&png::write(&ways::sheet(&trials), profile.resolution))?;
        // Line feeds bring it out of any printer.
        let pictures = trials.into_iter().flat_map(|trial| trial.chunks);
        let strip = StripBytes::of_bands(head.chunks.into_iter().chain(pictures).chain(foot.chunks).collect(), vec![0x0A; 8]);
        let pace = if to.starts_with("rehearse:") { PRETEND_PAUSE } else { PAUSE };
        // No question is put into it: a printer that lacks a command may take one for dots.
        let capabilities = Capabilities { pace, ..Capabilities::default() };
        printing::alone(to, "ways", strip, profile, capabilities, &Reporter::silent())?;
        self.reporter.say(format_args!(
            "ways: sent to {to}; {} shows what is right. A photograph answers, too: `--photo FILE.jpg`, or its name where the numbers are asked for",
            sheet.display()
        ));
        Ok(())
    }

    /// Reads photographs; what they show is an answer, and what they do not show stays a question. Which strip each shows is seen from it.
    fn photographs(&mut self, paths: &[PathBuf]) -> Result<(), Error> {
        let (mut ways, mut squares) = (Vec::new(), Vec::new());
        for (index, path) in paths.iter().enumerate() {
            let picture = Picture::read(&prepress::read(path, LARGEST_PHOTOGRAPH)?);
            let shows_ways = picture.as_ref().is_ok_and(trials::shows_ways);
            if shows_ways { &mut ways } else { &mut squares }.push((path, index + 1, picture));
        }
        let mut read = 0;
        for (all, strip) in [(ways, After::Ways), (squares, After::Squares)] {
            if all.is_empty() {
                continue;
            }
            let (mut photographs, mut pictures) = (Vec::new(), Vec::new());
            for (path, number, picture) in all {
                photographs.push(Photograph { path, drawn: self.output.with_extension(format!("photo-{number}.png")) });
                pictures.push(picture);
            }
            read += usize::from(match strip {
                After::Ways => self.ways_photographed(&photographs, &pictures)?,
                _ => self.squares_photographed(&photographs, &pictures)?,
            });
        }
        if read == 0 {
            let trouble = Trouble::new("no photograph could be read");
            return Err(Error::Input(trouble.hint(
                "nothing was changed; the strips that can be photographed are the ways and the one with the squares, and all questions can be answered without",
            )));
        }
        Ok(())
    }

    /// Whether any photograph of the ways strip could be read.
    fn ways_photographed(&mut self, photographs: &[Photograph], pictures: &[Result<Picture, Refusal>]) -> Result<bool, Error> {
        let profile = self.outcome()?.profile;
        let (trials, frames) = (ways::trials(&profile), ways::frames(&profile));
        let (seen, verdicts) = match trials::read(pictures, &trials, &frames) {
            Ok(read) => read,
            Err(refusal) => {
                self.reporter.notice(&Trouble::new(format!("{}: {refusal}", photographs[0].path.display())));
                return Ok(false);
            }
        };
        self.refused(photographs, seen.iter().map(|seen| seen.as_ref().err()));
        if seen.iter().all(Result::is_err) {
            return Ok(false);
        }
        for ((photograph, picture), seen) in photographs.iter().zip(pictures).zip(&seen) {
            let (Ok(picture), Ok(seen)) = (picture, seen) else { continue };
            self.draw(
                photograph,
                &format!("{} squares of the ways strip found", seen.found.len()),
                &drawn::over_ways(picture, seen),
            )?;
        }
        trials::told(&verdicts, &trials).iter().for_each(|line| self.reporter.say(line));
        self.photographed(&trials::answers(&verdicts, &self.answers))?;
        Ok(true)
    }

    /// Whether any photograph of the strip with the squares could be read.
    fn squares_photographed(&mut self, photographs: &[Photograph], pictures: &[Result<Picture, Refusal>]) -> Result<bool, Error> {
        let profile = self.outcome()?.profile;
        let Some(sheet) = Sheet::of(&profile) else {
            return Err(Error::Input(Trouble::new(format!("a printer of {} dots prints no strip to photograph", profile.dots))));
        };
        let (seen, reading) = photograph::read(pictures, &sheet);
        self.refused(photographs, seen.iter().map(|seen| seen.as_ref().err()));
        let Some(reading) = reading else { return Ok(false) };
        for ((photograph, picture), seen) in photographs.iter().zip(pictures).zip(&seen) {
            let (Ok(picture), Ok(seen)) = (picture, seen) else { continue };
            self.draw(photograph, &format!("{} squares found", seen.camera.used), &drawn::over(picture, seen, &reading, &sheet))?;
        }
        photograph::told(&reading, profile.dots).iter().for_each(|line| self.reporter.say(line));
        self.photographed(&photograph::answers(&reading))?;
        if self.talks && reading.ratio.is_some() && !self.answers.has("ruler") {
            say(
                "Lay a ruler along the strip with the squares. How many mm is it from the upper edge of one long line to that of the other? Enter passes over it.",
            );
            while let Some(typed) = self.line().filter(|typed| !typed.is_empty()) {
                match self.note("ruler", &typed.trim_end_matches("mm").trim().replace(',', ".")) {
                    Err(Error::Input(trouble)) => say(&format!("{}. Once more, or Enter", trouble.message())),
                    done => return done.map(|()| true),
                }
            }
        }
        Ok(true)
    }

    fn refused<'b>(&self, photographs: &[Photograph], refusals: impl Iterator<Item = Option<&'b Refusal>>) {
        for (photograph, refusal) in photographs.iter().zip(refusals) {
            if let Some(refusal) = refusal {
                self.reporter.notice(&Trouble::new(format!("{}: {refusal}", photograph.path.display())));
            }
        }
    }

    /// Writes what was read over a photograph.
    fn draw(&self, photograph: &Photograph, found: &str, drawn: &image::RgbImage) -> Result<(), Error> {
        let mut png = Vec::new();
        let encoder = image::codecs::png::PngEncoder::new(&mut png);
        drawn.write_with_encoder(encoder).map_err(|error| Error::Input(Trouble::new(error.to_string())))?;
        Output::File(photograph.drawn.clone()).write(&png)?;
        let Photograph { path, drawn } = photograph;
        self.reporter.say(format_args!("{}: {found}; {} shows what was read", path.display(), drawn.display()));
        Ok(())
    }

    /// Takes what photographs answer and keeps it.
    fn photographed(&mut self, text: &str) -> Result<(), Error> {
        let (newer, _) = Answers::read(text, "the photograph")
            .map_err(|error| Error::Input(Trouble::new(error.to_string()).maybe_hint(error.hint())))?;
        self.answers = merged(&self.answers, &newer, "the photograph")?;
        self.keep()
    }

    fn questions(&mut self, after: After) -> Result<(), Error> {
        for question in QUESTIONS.iter().filter(|question| question.after == after) {
            if self.talks && !self.ended && question.is_open(&self.answers) {
                self.question(question)?;
            }
        }
        Ok(())
    }

    fn question(&mut self, question: &Question) -> Result<(), Error> {
        say(&question.asked(&self.answers));
        loop {
            let Some(typed) = self.line() else { return Ok(()) };
            if typed.is_empty() {
                return Ok(());
            }
            if question.after == After::Ways && is_photograph(&typed) {
                match self.photographs(&[PathBuf::from(&typed)]) {
                    Err(Error::Input(trouble)) => {
                        say(&format!("{}. Numbers, or another photograph, or Enter to pass over it", trouble.message()));
                    }
                    Err(other) => return Err(other),
                    Ok(()) if question.is_open(&self.answers) => say(&question.asked(&self.answers)),
                    Ok(()) => return Ok(()),
                }
                continue;
            }
            match self.note(question.key, &question.answered(&typed, &self.answers)) {
                Err(Error::Input(trouble)) => say(&format!(
                    "{}. {}",
                    trouble.message(),
                    trouble.hint_text().unwrap_or("once more, or Enter to pass over it")
                )),
                done => return done,
            }
        }
    }

    /// A line that a person typed; none when nobody answers any more, or "q".
    fn line(&mut self) -> Option<String> {
        if self.ended {
            return None;
        }
        let _ = write!(io::stderr(), "> ").and_then(|()| io::stderr().flush());
        let mut line = String::new();
        let read = io::stdin().lock().read_line(&mut line);
        let line = line.trim().to_string();
        if !matches!(read, Ok(1..)) || line == "q" {
            self.ended = true;
            return None;
        }
        Some(line)
    }

    /// Takes an answer and keeps it.
    fn note(&mut self, key: &str, value: &str) -> Result<(), Error> {
        let paper = self.answers.paper.filter(|_| key != "paper").map_or(String::new(), |paper| format!("paper = {paper}\n"));
        let part = if key == "right" && !self.answers.unsure.is_empty() { answers::IN_PART } else { "" };
        let measured = if part.is_empty() { String::new() } else { format!("measured = [{part:?}]\n") };
        let text = format!("{paper}{key} = {value}\n{measured}");
        let (newer, _) = Answers::read(&text, "your answer")
            .map_err(|error| Error::Input(Trouble::new(error.to_string()).maybe_hint(error.hint())))?;
        self.answers = merged(&self.answers, &newer, "your answer")?;
        self.keep()
    }

    fn keep(&self) -> Result<(), Error> {
        let text = format!(
            "# What is known of the printer of {}.\n{}",
            self.output.display(),
            self.answers.written_over_by(&Answers::default())
        );
        Output::File(self.kept.clone()).write(text.as_bytes())
    }

    fn outcome(&self) -> Result<Outcome, Error> {
        let name = self.output.file_name().map_or_else(|| "bench.toml".into(), |name| name.to_string_lossy());
        let chart_mm = |profile: &Profile| {
            let rows = chart::strip(profile).bitmap.height();
            profile.resolution.mm(Dots(rows as i32)).value()
        };
        let length = match self.answers.seconds {
            Some(_) => Some(chart_mm(&outcome::conclude(&self.answers, &self.heard, &name, None).map_err(unusable)?.profile)),
            None => None,
        };
        outcome::conclude(&self.answers, &self.heard, &name, length).map_err(unusable)
    }

    fn close(self) -> Result<(), Error> {
        let outcome = self.outcome()?;
        Output::File(self.output.clone()).write(outcome.text.as_bytes())?;
        self.keep()?;
        for remark in &outcome.remarks {
            self.reporter.notice(&Trouble::new(remark.clone()));
        }
        if outcome.open.is_empty() {
            self.reporter.say(format_args!("{}: ready; --printer {} uses it", self.output.display(), self.output.display()));
        } else {
            let open = outcome.open.join(", ");
            self.reporter.say(format_args!("{}: works; still open: {open}; the same command goes on", self.output.display()));
        }
        Ok(())
    }
}

/// A photograph, and where what was read from it is shown.
struct Photograph<'a> {
    path: &'a Path,
    drawn: PathBuf,
}

/// Whether a person typed the name of a picture.
fn is_photograph(typed: &str) -> bool {
    let ending = Path::new(typed).extension().map(|ending| ending.to_string_lossy().to_lowercase());
    ending.is_some_and(|ending| ["jpg", "jpeg", "png"].contains(&ending.as_str()))
}

fn read(path: &Path, reporter: &Reporter) -> Result<Answers, Error> {
    let name = path.display().to_string();
    let bytes = prepress::read(path, LARGEST)?;
    let text = String::from_utf8(bytes).map_err(|_| Error::Input(Trouble::new(format!("{name} is not UTF-8 text"))))?;
    let (answers, notices) = Answers::read(&text, &name).map_err(|error| Error::Input(prepress::trouble(&error, Some(&text))))?;
    for notice in notices {
        reporter.notice(&Trouble::new(notice.message).at(Some(notice.place)).text(&text).maybe_hint(notice.hint));
    }
    Ok(answers)
}

/// The newer before the older, if both together can be true.
fn merged(older: &Answers, newer: &Answers, name: &str) -> Result<Answers, Error> {
    let text = older.written_over_by(newer);
    let (answers, _) =
        Answers::read(&text, name).map_err(|error| Error::Input(Trouble::new(error.to_string()).maybe_hint(error.hint())))?;
    Ok(answers)
}

fn unusable(error: crate::printer::Error) -> Error {
    Error::Input(Trouble::new(format!("these answers make no printer: {error}")).maybe_hint(error.hint()))
}

fn settings() -> Settings {
    let times = Times { connect: Duration::from_secs(3), ..Times::default() };
    // A sound pretend printer is never printed on with these.
    let none: send::PretendPrinter = Box::new(|_| Err("nothing is printed by this".to_string()));
    Settings { times, continuing: true, pretend: Some(none), devices: Some(pretend_printers::devices()), ..Settings::default() }
}

/// A pretend printer for these strips has its own letters, as all that have a fault, or none.
fn exactly(to: &str) -> String {
    match to.strip_prefix("rehearse:") {
        Some(folder) if !folder.contains('?') => format!("{to}?fault=sound"),
        _ => to.to_string(),
    }
}

/// All places at once: devices and serial lines, USB, the system's queues, and the network by DNS-SD.
fn everywhere() -> Look {
    let (here, others) = std::thread::scope(|scope| {
        let others = [
            scope.spawn(|| match send::usb_printers() {
                Ok(plugged) => Look {
                    found: plugged.iter().map(|one| look::Found { address: one.address(), what: one.name.clone() }).collect(),
                    blind: Vec::new(),
                },
                Err(error) => Look { found: Vec::new(), blind: vec![format!("USB: {}", plainly(&error))] },
            }),
            scope.spawn(|| look::queues(send::queue_names())),
            scope.spawn(|| look::network(nearby::printers(PATIENCE))),
        ];
        (look::on_this_machine(Path::new("/dev"), Path::new("/sys")), others.map(|place| place.join().unwrap_or_default()))
    });
    let mut all = here;
    for look in others {
        all.found.extend(look.found);
        all.blind.extend(look.blind);
    }
    all
}

/// A line of the conversation.
fn say(words: &str) {
    let _ = writeln!(io::stderr(), "{words}");
}
