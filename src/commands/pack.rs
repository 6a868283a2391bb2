//! `stripling pack`: the packing bench on a terminal, large, or as a line protocol where either side is a pipe.

use std::io::{self, BufRead, IsTerminal, Read, Write};
use std::sync::mpsc::{self, Sender};
use std::time::Duration;

use console::{Style, measure_text_width, truncate_str};

use super::Error;
use super::options::{self, Everywhere};
use super::packing::{Packing, Ready};
use super::report::{Reporter, Trouble};
use crate::packing::{Ended, Message, Say, Screen, Size, Tone, Wishes, large};
use crate::prepress;
use crate::printer::Roll;
use crate::send::{Intent, Stop, StripName};

/// Longest line of a scanner that is listened to, bytes.
const LONGEST: u64 = 4096;

pub fn run(asked: &options::Pack, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let roll = asked.roll.as_deref().map(Roll::parse).transpose();
    let packing = Packing {
        to: asked.to.clone(),
        ledger: asked.ledger.clone(),
        intent: match (asked.new_run, asked.go_on) {
            (true, _) => Intent::NewRun,
            (false, true) => Intent::GoOn,
            (false, false) => Intent::Continue,
        },
        bench: asked.bench.clone(),
        lease: Duration::from_secs(asked.lease),
        prefix: asked.prefix.clone(),
        roll: roll.map_err(|error| Error::Usage(prepress::trouble(&error, None)))?,
    };
    let stop = Stop::new();
    let ready = Ready::new(&asked.manual, everywhere, packing, stop.clone(), reporter)?;
    let wishes = Wishes::new();
    listen(wishes.tell.clone());
    let full = io::stdin().is_terminal() && io::stdout().is_terminal();
    stop.listen(|_| {}).map_err(|error| Error::Printer(Trouble::new(format!("Ctrl-C cannot be listened for: {error}"))))?;
    let ended = if full { on_screen(&ready, wishes) } else { on_lines(&ready, wishes) }?;
    closing(&ended, asked, reporter)
}

/// Lines from the scanner, on a thread of its own: it may wait for ever.
fn listen(tell: Sender<Message>) {
    std::thread::spawn(move || {
        let mut input = io::stdin().lock();
        let mut line = Vec::new();
        loop {
            line.clear();
            let read = input.by_ref().take(LONGEST).read_until(b'\n', &mut line);
            let told = match read {
                Ok(1..) => tell.send(Message::Line(String::from_utf8_lossy(&line).into_owned())),
                Ok(0) | Err(_) => {
                    let _ = tell.send(Message::End);
                    return;
                }
            };
            if told.is_err() {
                return;
            }
        }
    });
}

/// One line for each thing that is said: tone, headline, unit, detail, parted by tabs.
fn on_lines(ready: &Ready, wishes: Wishes) -> Result<Ended, Error> {
    ready.play(wishes, &mut |screen, sounds| {
        if sounds {
            // Whoever read it may be gone; the shift goes on, for strips are on their way.
            let _ = writeln!(io::stdout(), "{}", one_line(&screen.say));
            let _ = io::stdout().flush();
        }
    })
}

fn one_line(say: &Say) -> String {
    [say.tone.word(), &say.headline, &say.unit, &say.detail].map(|word| word.replace(['\t', '\n', '\r'], " ")).join("\t")
}

fn on_screen(ready: &Ready, wishes: Wishes) -> Result<Ended, Error> {
    let (bell, sounder) = mpsc::channel::<usize>();
    let sounding = std::thread::spawn(move || {
        for times in sounder {
            for _ in 0..times {
                let _ = io::stdout().write_all(b"\x07").and_then(|()| io::stdout().flush());
                std::thread::sleep(Duration::from_millis(160));
            }
        }
    });
    let draw = |text: String| {
        let mut out = io::stdout().lock();
        // A terminal that is gone ends the shift by its own signal.
        let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    };
    draw("\x1b[?1049h".to_owned());
    let mut bell = Some(bell);
    let played = ready.play(wishes, &mut |screen, sounds| {
        let (columns, rows) = size();
        draw(format!("\x1b[H{}\x1b[J", painted(screen, columns, rows).join("\x1b[K\r\n")));
        if sounds && let Some(bell) = &bell {
            let _ = bell.send(screen.say.tone.bells());
        }
    });
    bell.take();
    let _ = sounding.join();
    draw("\x1b[?1049l".to_owned());
    played
}

fn size() -> (usize, usize) {
    let (rows, columns) = console::Term::stdout().size();
    // Narrower than this nothing is large any more; wider than this nobody reads from where boxes are packed.
    (usize::from(columns).clamp(40, 160), usize::from(rows).clamp(12, 60))
}

/// The screen, line by line, the last one the scanner's.
pub fn painted(screen: &Screen, columns: usize, rows: usize) -> Vec<String> {
    let tone = screen.say.tone;
    let (mark, style) = match tone {
        Tone::Good => ("✓", Style::new().green()),
        Tone::Plain => ("·", Style::new()),
        Tone::Ask => ("?", Style::new().yellow()),
        Tone::Wrong => ("✗", Style::new().red().bold()),
    };
    let counts = screen.counts;
    let right = format!("{} of {} in their boxes", counts.boxed, counts.all);
    let left = [screen.title.as_str(), &screen.bench].into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" · ");
    let room = columns.saturating_sub(measure_text_width(&right) + 1);
    let left = truncate_str(&left, room, "…").into_owned();
    let gap = " ".repeat(columns.saturating_sub(measure_text_width(&left) + measure_text_width(&right)));
    let mut lines = vec![format!("{left}{gap}{right}")];
    // The band says by its marks what its colour says; where something has to be done, a second one closes the frame.
    let word = format!(" {} ", tone.word().to_uppercase());
    let side = columns.saturating_sub(word.len()) / 2;
    let band = |word: &str| {
        let band = format!("{}{word}{}", mark.repeat(side), mark.repeat(columns - measure_text_width(word) - side));
        style.clone().reverse().apply_to(band).to_string()
    };
    lines.push(band(&word));
    let low = rows < 22;
    // Where the longest headline has room for it.
    let size = if columns >= 144 && rows >= 36 { Size::Huge } else { Size::Large };
    for text in [&screen.say.headline, &screen.say.unit] {
        if !low {
            lines.push(String::new());
        }
        if text.is_empty() {
            continue;
        }
        match large(text, columns, size).filter(|_| !low) {
            Some(large) => lines.extend(large.into_iter().map(|line| style.apply_to(line).to_string())),
            None => lines.push(style.clone().bold().apply_to(truncate_str(text, columns, "…")).to_string()),
        }
    }
    let framed = !low && matches!(tone, Tone::Ask | Tone::Wrong);
    lines.push(if framed { band("") } else { String::new() });
    lines.extend(wrapped(&screen.say.detail, columns).into_iter().take(3));
    lines.push("─".repeat(columns));
    for (number, printer) in screen.printers.iter().enumerate() {
        let words = if printer.words.is_empty() { String::new() } else { format!(": {}", printer.words) };
        let text = format!("printer {} {}  {}{words}", number + 1, printer.state, printer.name);
        lines.push(truncate_str(&text, columns, "…").into_owned());
    }
    let named = |what: &str, keys: &[String]| (!keys.is_empty()).then(|| format!("{what} {}", listed(keys)));
    let parts = [
        screen.next.as_ref().map(|next| format!("next {next}")),
        named("waiting", &screen.waiting),
        named("open", &screen.open),
        named("to look at", &screen.look),
    ];
    lines.extend(parts.into_iter().flatten().map(|line| truncate_str(&line, columns, "…").into_owned()));
    lines.push(truncate_str(&pace(screen), columns, "…").into_owned());
    if let Some(why) = &screen.ledger {
        lines.push(truncate_str(&format!("ledger: {why}"), columns, "…").into_owned());
    }
    lines.truncate(rows.saturating_sub(2));
    lines.push("scan> ".to_owned());
    lines
}

/// `34 an hour, done in 50 min, 1.2 rolls to go, 2 benches`.
pub fn pace(screen: &Screen) -> String {
    let time =
        |minutes: u32| if minutes < 90 { format!("{minutes} min") } else { format!("{} h {} min", minutes / 60, minutes % 60) };
    let parts = [
        screen.per_hour.map(|hour| format!("{hour} an hour")),
        screen.minutes_left.filter(|minutes| *minutes > 0).map(|minutes| format!("done in {}", time(minutes))),
        screen.rolls_left.filter(|tenths| *tenths > 0).map(|tenths| format!("{}.{} rolls to go", tenths / 10, tenths % 10)),
        (screen.benches > 1).then(|| format!("{} benches", screen.benches)),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn listed(keys: &[String]) -> String {
    super::ledger::ranges(&keys.iter().map(|key| StripName { unit: key.clone(), copy: 1 }).collect::<Vec<_>>())
}

/// A sentence in lines of so many columns.
fn wrapped(text: &str, columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in text.split_whitespace() {
        let fits = lines.last().is_some_and(|line| measure_text_width(line) + measure_text_width(word) < columns);
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if fits => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn closing(ended: &Ended, asked: &options::Pack, reporter: &Reporter) -> Result<(), Error> {
    let counts = ended.screen.counts;
    reporter.say(format_args!("{} of {} are in their boxes", counts.boxed, counts.all));
    let named = |what: &str, keys: &[String]| {
        if !keys.is_empty() {
            reporter.say(format_args!("{what}: {}", listed(keys)));
        }
    };
    named("printed and in no box", &ended.screen.open);
    named("to be looked at", &ended.screen.look);
    named("the ledger was not there to be told what became of", &ended.untold);
    if !ended.untold.is_empty() {
        let trouble = Trouble::new(format!("the ledger {} did not answer to the end", asked.ledger.display()));
        return Err(Error::Ledger(
            trouble.hint("these strips will be called unknown: scan their units, look, and scan the strips"),
        ));
    }
    if ended.done {
        return Ok(());
    }
    reporter.say(format_args!("{} goes on where it stopped", super::print::COMMAND));
    Err(Error::Stopped)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::packing::{Counts, PrinterShown};

    fn screen() -> Screen {
        Screen {
            say: Say {
                tone: Tone::Wrong,
                headline: "WRONG STRIP".into(),
                unit: "HRN-0017".into(),
                detail: "this is the strip of HRN-0018, and in hand is HRN-0017 ".repeat(2),
            },
            title: "HRN-QS C".into(),
            bench: "anna".into(),
            printers: vec![PrinterShown {
                name: "tcp://192.0.2.7:9100".into(),
                state: "stopped",
                words: "paper end: put in a new roll".into(),
            }],
            counts: Counts { all: 40, boxed: 12, open: 1, look: 0 },
            next: Some("HRN-0019".into()),
            open: vec!["HRN-0017".into()],
            per_hour: Some(34),
            minutes_left: Some(50),
            rolls_left: Some(12),
            benches: 2,
            ..Screen::default()
        }
    }

    #[test]
    fn the_screen_fits_its_terminal_and_says_all_by_word_and_shape() {
        for (columns, rows) in [(80, 24), (40, 12), (132, 40), (160, 48)] {
            let lines = painted(&screen(), columns, rows);
            assert!(lines.len() < rows, "{} lines", lines.len());
            for line in &lines {
                assert!(measure_text_width(line) <= columns, "{} columns: {line}", measure_text_width(line));
            }
            let all = lines.join("\n");
            assert!(all.contains("✗ STOP ✗") && all.contains("12 of 40") && all.ends_with("scan> "), "{all}");
        }
        let high = |columns, rows| painted(&screen(), columns, rows).iter().filter(|line| line.contains(['█', '▀', '▄'])).count();
        assert_eq!((high(80, 24), high(160, 48), high(40, 12)), (8, 14, 0), "lines of large letters");
        let all = painted(&screen(), 80, 24).join("\n");
        for words in ["█▀▀", "34 an hour, done in 50 min, 1.2 rolls to go, 2 benches", "next HRN-0019", "paper end"] {
            assert!(all.contains(words), "{words}: {all}");
        }
    }

    #[test]
    fn a_line_of_the_protocol_has_four_fields_whatever_was_scanned() {
        let say = Say { detail: "“a\tb\n” is no key".into(), ..screen().say };
        assert_eq!(one_line(&say), "stop\tWRONG STRIP\tHRN-0017\t“a b ” is no key");
    }
}
