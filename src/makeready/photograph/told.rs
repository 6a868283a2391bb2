//! A reading in words, and as answers.

use std::fmt::Write;

use super::measure::{Line, Ratio, Reading};

/// A black line that is thinner somewhere is broken, and a white one closed; dots.
const BREAKS: f64 = 0.35;
const CLOSES: f64 = 0.25;

/// What was measured, how sure it is, and what could not be.
pub fn told(reading: &Reading, dots: u32) -> Vec<String> {
    let mut told = Vec::new();
    told.push(match reading.ratio {
        Some(Ratio { value, spread }) => format!(
            "a row is {value:.4} times as long as a column is wide, within {:.2} %; a ruler must say how many mm that is",
            2.0 * spread * 100.0
        ),
        None => "rows beside columns: not sure enough; photograph from straight above, the whole strip".to_string(),
    });
    match &reading.no_tones {
        Some(why) => told.push(format!("dot gain: not measured, {why}")),
        None => {
            let points: Vec<String> =
                reading.tones.iter().map(|tone| format!("{:.0} becomes {:.0}", tone.asked * 100.0, tone.seen * 100.0)).collect();
            let spread = reading.tones.iter().map(|tone| tone.spread * 100.0).fold(0.0, f64::max);
            told.push(format!(
                "dot gain, percent: {}; two patches of one grey differ by {:.1} at most. A telephone that heightens contrast moves these",
                points.join(", "),
                2.0 * spread
            ));
        }
    }
    let list = |columns: &[u32]| columns.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    told.push(match &reading.dead {
        Some(dead) if dead.is_empty() => format!("all {dots} columns print"),
        Some(dead) => format!("columns that print nothing: {}", list(dead)),
        None if reading.unsure.is_empty() => "dead columns: not all are in the photographs".to_string(),
        None => format!("dead columns: not sure of {}", list(&reading.unsure)),
    });
    if !reading.weak.is_empty() {
        told.push(format!("columns that print weakly: {}", list(&reading.weak)));
    }
    if let (Some(least), Some(first), Some(last)) =
        (reading.density.iter().copied().reduce(f64::min), reading.density.first(), reading.density.last())
    {
        told.push(format!(
            "solid black from left to right: {:.0} % of the darkest at the left, {:.0} % at the right, {:.0} % at the least",
            first * 100.0,
            last * 100.0,
            least * 100.0
        ));
    }
    for (black, name) in [(true, "black lines"), (false, "white lines in black")] {
        let widths: Vec<String> = reading
            .lines
            .iter()
            .filter(|line| line.black == black)
            .map(|line| format!("{} as {:.1} {}", line.width, line.came_out, if line.along { "along" } else { "across" }))
            .collect();
        if !widths.is_empty() {
            told.push(format!("{name}, dots: {}", widths.join(", ")));
        }
    }
    for (module, read) in &reading.codes {
        told.push(format!("code of {module} dots a module: {}", if *read { "read" } else { "not read" }));
    }
    told
}

/// What was measured as TOML of answers. What is not sure is not there.
pub fn answers(reading: &Reading) -> String {
    let (mut text, mut measured) = (String::new(), Vec::new());
    let mut add = |key: &'static str, value: String| {
        let _ = writeln!(text, "{key} = {value}");
        measured.push(format!("{key:?}"));
    };
    if let Some(ratio) = reading.ratio {
        add("ratio", format!("{:.4}", ratio.value));
    }
    if let Some(curve) = curve(reading) {
        add("gain", curve);
    }
    if let Some(lines) = lines(&reading.lines) {
        add("lines", format!("{lines:?}"));
    }
    if let Some(dead) = &reading.dead {
        add("dead", format!("{dead:?}"));
    }
    if let Some(module) = reading.codes.iter().filter(|(_, read)| *read).map(|(module, _)| module).min() {
        add("code", module.to_string());
    }
    if !measured.is_empty() {
        text += &format!("measured = [{}]\n", measured.join(", "));
    }
    text
}

/// Points that rise, in percent; a tone that is full already says nothing.
fn curve(reading: &Reading) -> Option<String> {
    let mut points: Vec<[f64; 2]> = Vec::new();
    for tone in &reading.tones {
        let point = [tone.asked, tone.seen].map(|share| (share * 1000.0).round() / 10.0);
        let before = points.last().copied().unwrap_or([0.0; 2]);
        if point[0] > before[0] && point[1] > before[1] && point[0] < 100.0 && point[1] < 99.5 {
            points.push(point);
        }
    }
    let points: Vec<String> = points.iter().map(|[asked, seen]| format!("[{asked}, {seen}]")).collect();
    (points.len() >= 3).then(|| format!("[{}]", points.join(", ")))
}

/// How lines of one dot come out, if all four were seen.
fn lines(lines: &[Line]) -> Option<&'static str> {
    let one: Vec<&Line> = lines.iter().filter(|line| line.width == 1).collect();
    let worst = |black: bool| one.iter().filter(|line| line.black == black).map(|line| line.thinnest).reduce(f64::min);
    match (one.len(), worst(true)?, worst(false)?) {
        (4, black, _) if black < BREAKS => Some("black-breaks"),
        (4, _, white) if white < CLOSES => Some("white-closes"),
        (4, ..) => Some("whole"),
        _ => None,
    }
}
