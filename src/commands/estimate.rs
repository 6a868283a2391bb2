//! `stripling estimate`: what a run takes, before paper is spent.

use serde_json::json;

use super::options::{Estimate as Asked, Everywhere};
use super::output::Output;
use super::press::Press;
use super::progress::Progress;
use super::report::{Reporter, Trouble};
use super::{Error, shop};
use crate::printer::{self, Estimate, Job, Profile, Roll, Tally};

pub fn run(asked: &Asked, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let roll = asked.roll.as_deref().map(Roll::parse).transpose().map_err(|error| Error::Usage(shop::trouble(&error, None)))?;
    let press = Press::open(&asked.manual, everywhere, reporter)?;
    if let Some(roll) = roll
        && (roll.width.value() - press.profile.paper_width.value()).abs() > 2.0
    {
        let trouble = Trouble::new(format!("a roll {} wide does not fit {}", roll.width, press.profile.name));
        return Err(Error::Usage(trouble.hint(format!("its paper is {} wide", press.profile.paper_width))));
    }
    let chosen = press.chosen(None)?;
    let mut tally = Tally::new(&press.profile, Job { copies: asked.copies, roll });
    let progress = Progress::new(chosen.len() as u64, "strips", reporter);
    press.each(
        &chosen,
        |_, made| {
            let bytes = printer::encode(&made.strip, &press.profile).len() as u64;
            Ok((made.strip, bytes))
        },
        |_, (strip, bytes)| {
            tally.add(&strip, bytes);
            progress.step(1);
            Ok(())
        },
    )?;
    progress.end();
    let estimate = tally.finish();
    let told = if asked.json { as_json(&estimate) } else { as_table(&estimate, &press.profile, asked.copies) };
    Output::Standard.write(told.as_bytes())
}

fn rounded(value: f64, places: i32) -> f64 {
    let scale = 10f64.powi(places);
    (value * scale).round() / scale
}

fn as_json(estimate: &Estimate) -> String {
    let told = json!({
        "strips": estimate.strips,
        "rows": estimate.rows,
        "length_mm": estimate.length.value(),
        "paper_m": rounded(estimate.paper_m, 3),
        "rolls": estimate.rolls,
        "bytes": estimate.bytes,
        "bytes_raw": estimate.bytes_raw,
        "black_percent": rounded(estimate.black_percent, 2),
        "busiest_percent": rounded(estimate.busiest_percent, 2),
        "seconds_mechanism": rounded(estimate.seconds_mechanism, 1),
        "seconds_link": rounded(estimate.seconds_link, 1),
        "seconds": rounded(estimate.seconds, 1),
        "panels": estimate.panels,
        "stack_mm": rounded(estimate.stack_mm, 2),
    });
    format!("{told:#}\n")
}

fn as_table(estimate: &Estimate, profile: &Profile, copies: u64) -> String {
    let mut told = String::new();
    let mut line = |name: &str, value: String| told.push_str(&format!("{name:<17} {value}\n"));
    line("printer", profile.name.clone());
    line("one strip", format!("{:.0} mm, {} rows", estimate.length.value(), estimate.rows));
    line("panels", format!("{}, folded {:.1} mm high", estimate.panels, estimate.stack_mm));
    line("bytes", format!("{} ({:.0} % of the bare dots)", estimate.bytes, 100.0 * estimate.bytes as f64 / estimate.bytes_raw.max(1) as f64));
    line("black", format!("{:.1} % of the dots, {:.1} % in the busiest stretch", estimate.black_percent, estimate.busiest_percent));
    line("strips", match copies {
        1 => estimate.strips.to_string(),
        _ => format!("{} ({copies} copies of each)", estimate.strips),
    });
    line("paper", format!("{:.2} m of {:.1} m on a roll", estimate.paper_m, estimate.roll_m));
    line("rolls", estimate.rolls.to_string());
    line("time, mechanism", spoken(estimate.seconds_mechanism));
    line("time, link", spoken(estimate.seconds_link));
    line("time", spoken(estimate.seconds));
    if let Some(cost) = &estimate.cost {
        line("paper costs", format!("{:.2} {}", cost.amount, cost.currency).trim_end().to_string());
    }
    if estimate.longer_than_roll {
        line("", "A strip is longer than a whole roll.".into());
    }
    told
}

/// Seconds as a person says them.
fn spoken(seconds: f64) -> String {
    let whole = seconds.ceil() as u64;
    match (whole / 3600, whole / 60 % 60, whole % 60) {
        (0, 0, _) => format!("{seconds:.1} s"),
        (0, minutes, seconds) => format!("{minutes} min {seconds} s"),
        (hours, minutes, _) => format!("{hours} h {minutes} min"),
    }
}
