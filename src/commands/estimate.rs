//! `stripling estimate`: what a run takes, as a table for people or as JSON.

use std::fmt::Write;

use serde_json::{Value, json};

use super::Error;
use super::inputs;
use super::options::{Estimate as Asked, Everywhere};
use super::output::Output;
use super::progress::Progress;
use super::report::{Reporter, Trouble};
use super::savings::Savings;
use crate::prepress;
use crate::printer::{self, Estimate, Job, Profile, Roll, Tally};

pub fn run(asked: &Asked, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let job = job(asked)?;
    let press = inputs::open(&asked.manual, everywhere, reporter)?;
    if let Some(roll) = job.roll
        && (roll.width.value() - press.profile.paper_width.value()).abs() > 2.0
    {
        let trouble = Trouble::new(format!("a roll {} wide does not fit {}", roll.width, press.profile.name));
        return Err(Error::Usage(trouble.hint(format!("its paper is {} wide", press.profile.paper_width))));
    }
    let chosen = press.chosen(None)?;
    let mut tally = Tally::new(&press.profile, job);
    let progress = Progress::new(chosen.len() as u64, "strips", reporter);
    let mut savings = None;
    press.each::<_, Error>(
        &chosen,
        |unit, number| {
            let made = press.draft(unit, number)?;
            let bytes = printer::encode(&made.strip, &press.profile).len() as u64;
            Ok((made, bytes))
        },
        |(made, bytes)| {
            if savings.is_none() {
                inputs::report_holes(&made, reporter);
                savings = Some(Savings::of(&made, &press));
            }
            tally.add(&made.strip, bytes);
            progress.step(1);
            Ok(())
        },
    )?;
    progress.end();
    let estimate = tally.finish();
    notices(&estimate, &press.profile).iter().for_each(|notice| reporter.notice(notice));
    let told = match (asked.json, savings) {
        (true, savings) => {
            let mut told = as_value(&estimate);
            savings.iter().for_each(|savings| savings.tell(&mut told));
            format!("{told:#}\n")
        }
        (false, savings) => as_table(&estimate, &press.profile) + &savings.map_or(String::new(), |savings| savings.lines()),
    };
    Output::Standard.write(told.as_bytes())
}

/// What is asked, from the command line.
///
/// # Errors
/// [`Error::Usage`] when `--roll` is no roll.
pub fn job(asked: &Asked) -> Result<Job, Error> {
    let roll = asked.roll.as_deref().map(Roll::parse).transpose();
    let roll = roll.map_err(|error| Error::Usage(prepress::trouble(&error, None)))?;
    Ok(Job { copies: asked.copies, roll })
}

/// What a person should know of the answer besides its numbers.
pub fn notices(estimate: &Estimate, profile: &Profile) -> Vec<Trouble> {
    let mut notices = Vec::new();
    if estimate.longer_than_roll {
        let message = format!("a strip of {} is longer than a whole roll of {:.1} m", estimate.length, estimate.roll_m);
        notices.push(Trouble::new(message));
    }
    if estimate.busiest_percent > f64::from(profile.duty) {
        let message = format!(
            "20 mm from row {} on are {:.0} % black, over the printer's {} %",
            estimate.busiest_row, estimate.busiest_percent, profile.duty
        );
        notices.push(Trouble::new(message).hint("it may print paler or slower there: lighten the picture or use a finer screen"));
    }
    notices
}

/// The object that FORMAT.md promises, and `shortest_mm`; `cost` and `currency` are added if the printer's file gives a price.
fn as_value(estimate: &Estimate) -> Value {
    let mut told = json!({
        "strips": estimate.strips,
        "rows": estimate.rows,
        "length_mm": estimate.length.value(),
        "shortest_mm": estimate.shortest.value(),
        "paper_m": rounded(estimate.paper_m, 1000.0),
        "rolls": estimate.rolls,
        "bytes": estimate.bytes,
        "bytes_raw": estimate.bytes_raw,
        "black_percent": rounded(estimate.black_percent, 100.0),
        "busiest_percent": rounded(estimate.busiest_percent, 100.0),
        "seconds_mechanism": rounded(estimate.seconds_mechanism, 10.0),
        "seconds_link": rounded(estimate.seconds_link, 10.0),
        "seconds": rounded(estimate.seconds, 10.0),
        "panels": estimate.panels,
        "stack_mm": rounded(estimate.stack_mm, 100.0),
    });
    if let Some(cost) = &estimate.cost {
        told["cost"] = json!(rounded(cost.amount, 100.0));
        told["currency"] = json!(cost.currency);
    }
    told
}

/// The table.
pub fn as_table(estimate: &Estimate, profile: &Profile) -> String {
    let mut told = String::new();
    let mut line = |name: &str, value: String| {
        // Writing to a String cannot fail.
        let _ = writeln!(told, "{name:<12} {value}");
    };
    let plural = |count: u64, one: &str| {
        if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
    };
    line("printer", profile.name.clone());
    line("strips", estimate.strips.to_string());
    line(
        "one strip",
        match estimate.shortest == estimate.length {
            true => format!("{}, {} rows", estimate.length, estimate.rows),
            false => format!("{} to {}, at most {} rows", estimate.shortest, estimate.length, estimate.rows),
        },
    );
    let folded = format!("{}, folded {:.2} mm high", plural(u64::from(estimate.panels), "panel"), estimate.stack_mm);
    line("panels", folded);
    let rolls = plural(estimate.rolls, "roll");
    line("paper", format!("{:.2} m, {rolls} of {:.1} m", estimate.paper_m, estimate.roll_m));
    if let Some(cost) = &estimate.cost {
        line("cost", format!("{:.2} {}", cost.amount, cost.currency).trim_end().to_string());
    }
    line("bytes", format!("{} a strip, {} as plain dots", estimate.bytes, estimate.bytes_raw));
    line("black", format!("{:.1} %, busiest 20 mm {:.1} %", estimate.black_percent, estimate.busiest_percent));
    let parts = format!("mechanism {}, link {}", clock(estimate.seconds_mechanism), clock(estimate.seconds_link));
    line("time", format!("{} ({parts} at {} baud)", clock(estimate.seconds), profile.baud));
    told
}

fn rounded(value: f64, steps: f64) -> f64 {
    (value * steps).round() / steps
}

/// Seconds as a person says them: 4.2 s, 3:05 min, 1:20:00 h.
fn clock(seconds: f64) -> String {
    let whole = seconds.round() as u64;
    match whole {
        0..60 => format!("{seconds:.1} s"),
        60..3600 => format!("{}:{:02} min", whole / 60, whole % 60),
        _ => format!("{}:{:02}:{:02} h", whole / 3600, whole / 60 % 60, whole % 60),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bitmap::Bitmap;
    use crate::lengths::Resolution;
    use crate::printer::Tally;
    use crate::strip::Strip;

    fn estimate() -> (Estimate, Profile) {
        let text = "base = \"80mm\"\nduty = 30\n[paper]\nprice = 2\ncurrency = \"EUR\"\nroll = \"80x80\"\n";
        let (profile, _) = Profile::read_toml(text, "bench.toml").expect("a printer");
        let mut bitmap = Bitmap::new(576, 7880);
        bitmap.fill(0, 1000, 576, 80, true);
        let mut tally = Tally::new(&profile, Job { copies: 100, roll: None });
        tally.add(&Strip::new(bitmap, Resolution::EIGHT), 11_520);
        (tally.finish(), profile)
    }

    #[test]
    fn the_json_has_the_keys_of_the_contract() {
        let told = as_value(&estimate().0);
        let expected = json!({
            "strips": 100, "rows": 7880, "length_mm": 985.0, "shortest_mm": 985.0, "paper_m": 100.0, "rolls": 2, "bytes": 11520,
            "bytes_raw": 567_360, "black_percent": 1.02, "busiest_percent": 50.0, "seconds_mechanism": 706.7,
            "seconds_link": 100.0, "seconds": 706.7, "panels": 1, "stack_mm": 0.06, "cost": 2.44, "currency": "EUR"
        });
        assert_eq!(told, expected);
    }

    #[test]
    fn the_table_is_for_people_and_says_what_is_too_black() {
        let (estimate, profile) = estimate();
        let table = as_table(&estimate, &profile);
        for part in
            ["985 mm, 7880 rows", "100.00 m, 2 rolls of 81.9 m", "2.44 EUR", "11:47 min (mechanism 11:47 min, link 1:40 min"]
        {
            assert!(table.contains(part), "no {part:?} in\n{table}");
        }
        let notices: Vec<String> = notices(&estimate, &profile).iter().map(Trouble::to_string).collect();
        assert_eq!(notices, ["20 mm from row 920 on are 50 % black, over the printer's 30 %"]);
    }
}
