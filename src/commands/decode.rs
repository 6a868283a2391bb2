//! `stripling decode`: what a printer would do with these bytes, told and shown.

use std::fmt::Write;
use std::path::Path;

use serde_json::json;

use super::options::{Decode, Everywhere};
use super::output::{Output, Writes};
use super::report::{Reporter, Trouble};
use super::{Error, inputs, proof};
use crate::lengths::Dots;
use crate::prepress;
use crate::printer::{self, Profile, Seen};
use crate::strip::{Panel, Strip};

/// Largest file of bytes.
const LARGEST: u64 = 128 << 20;

pub fn run(asked: &Decode, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let profile = inputs::printer(everywhere, reporter)?;
    let picture_to_standard = asked.output.as_deref() == Some(Path::new("-"));
    if picture_to_standard && asked.json {
        let trouble = Trouble::new("the picture and the JSON cannot both go to standard output");
        return Err(Error::Usage(trouble.hint("name a file with -o FILE.png")));
    }
    let bytes = prepress::read(&asked.bytes, LARGEST)?;
    if bytes.is_empty() {
        let trouble = Trouble::new(format!("{} holds no bytes", asked.bytes.display()));
        return Err(Error::Input(trouble.hint("make them with `stripling encode MANUAL -o FILE.bin`")));
    }
    let mut seen = printer::decode(&bytes, &profile);
    drop(bytes);
    let told = if asked.json { as_json(&seen, &profile) } else { as_table(&seen, &profile) };
    for fault in &seen.errors {
        reporter.error(&Trouble::new(format!("byte {}: {}", fault.offset, fault.message)));
    }
    if seen.fault_count > seen.errors.len() as u64 {
        let more = seen.fault_count - seen.errors.len() as u64;
        reporter.error(&Trouble::new(format!("and {more} more of the kind")));
    }
    if seen.rows > seen.bitmap.height() {
        let message = format!("the paper is {} rows long: only the first {} are shown", seen.rows, seen.bitmap.height());
        reporter.notice(&Trouble::new(message));
    }
    if let Some(output) = &asked.output {
        let strip = as_strip(std::mem::take(&mut seen.bitmap), &seen.cuts, &profile);
        let output = Output::choose(Some(output), None)?;
        let inputs: Vec<_> = everywhere.files().chain([asked.bytes.clone()]).collect();
        output.spares(Writes::Picture, &inputs)?;
        output.write(&proof::picture(&strip, asked.look, &profile)?)?;
    }
    if !picture_to_standard {
        Output::Standard.write(told.as_bytes())?;
    }
    if seen.fault_count > 0 { Err(Error::Found) } else { Ok(()) }
}

fn as_strip(bitmap: crate::bitmap::Bitmap, cuts: &[u32], profile: &Profile) -> Strip {
    let height = bitmap.height();
    Strip {
        bitmap,
        resolution: profile.resolution,
        panels: vec![Panel { top: 0, bottom: height }],
        cuts: cuts.iter().copied().filter(|&row| row > 0 && row < height).collect(),
    }
}

fn as_json(seen: &Seen, profile: &Profile) -> String {
    let errors: Vec<_> = seen.errors.iter().map(|fault| json!({ "offset": fault.offset, "message": fault.message })).collect();
    let told = json!({
        "dots": seen.bitmap.width(),
        "rows": seen.rows,
        "length_mm": length(seen, profile),
        "cuts": seen.cuts,
        "commands": seen.commands,
        "bytes": seen.bytes,
        "errors": errors,
    });
    format!("{told:#}\n")
}

fn as_table(seen: &Seen, profile: &Profile) -> String {
    let mut told = String::new();
    let mut line = |name: &str, value: String| {
        // Writing to a String cannot fail.
        let _ = writeln!(told, "{name:<10} {value}");
    };
    line("printer", profile.name.clone());
    line("bytes", seen.bytes.to_string());
    line("paper", format!("{} dots x {} rows, {} mm", seen.bitmap.width(), seen.rows, length(seen, profile)));
    line(
        "cuts",
        if seen.cuts.is_empty() { "none".into() } else { seen.cuts.iter().map(u32::to_string).collect::<Vec<_>>().join(", ") },
    );
    for (name, count) in &seen.commands {
        line(name, count.to_string());
    }
    told
}

fn length(seen: &Seen, profile: &Profile) -> f64 {
    profile.resolution.mm(Dots(i32::try_from(seen.rows).unwrap_or(i32::MAX))).value()
}
