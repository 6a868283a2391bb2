//! From what was asked and seen to the printer's file: every value with how it is known.

use super::answers::{self, Answers, Lines};
use super::asking::Heard;
use super::photograph::sheet::BETWEEN;
use super::{questions, ways};
use crate::printer::{Error, Fence, Profile, Raster};

/// How a value is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum By {
    Asked,
    Seen,
    /// By a photograph.
    Measured,
    Photographed,
    /// Some of it by a photograph.
    InPart,
    Guessed,
}

impl By {
    fn words(self) -> &'static str {
        match self {
            By::Asked => "asked",
            By::Seen => "seen by you",
            By::Measured => "measured in your photograph",
            By::Photographed => "seen in the photograph",
            By::InPart => "seen in the photograph and by you",
            By::Guessed => "guessed",
        }
    }
}

/// A file that works, and what stands in it.
#[derive(Clone, Debug)]
pub struct Outcome {
    pub text: String,
    pub profile: Profile,
    /// Questions that nobody has answered yet.
    pub open: Vec<&'static str>,
    /// What a person should know besides.
    pub remarks: Vec<String>,
}

/// The printer's file. `name` is the file's; `chart_mm` the length of the chart, for its speed.
///
/// # Errors
/// [`Error`] only if two answers together make no printer, such as a width that no command can say.
pub fn conclude(answers: &Answers, heard: &Heard, name: &str, chart_mm: Option<f64>) -> Result<Outcome, Error> {
    let mut file = File::default();
    let paper = answers.paper.unwrap_or(80);
    let base_name = match paper {
        ..70 => "58mm",
        70..95 => "80mm",
        _ => "112mm",
    };
    let base = Profile::named(base_name)?;
    let model = heard.identity.iter().filter(|(what, _)| matches!(*what, "maker" | "model")).map(|(_, words)| words.as_str());
    let model = model.collect::<Vec<_>>().join(" ");
    if !model.is_empty() {
        file.add("name", quoted(&model), By::Asked, "it says so of itself");
    }
    let by = if answers.paper.is_some() { By::Seen } else { By::Guessed };
    file.add("base", quoted(base_name), by, &format!("paper of {paper} mm"));
    let dots = answers.width.unwrap_or(base.dots);
    match answers.width {
        Some(width) => file.add("dots", width.to_string(), By::Seen, "the last line whose hook was whole"),
        None => file.add("dots", base.dots.to_string(), By::Guessed, "usual for this paper"),
    }
    let along = match (answers.ruler, answers.length) {
        (Some(ruler), _) => Some((f64::from(BETWEEN) / ruler, format!("the two long lines are {ruler} mm apart"))),
        (None, Some(length)) => {
            let per_mm = f64::from(base.resolution.dots_per_metre) / 1000.0 * 100.0 / length;
            Some((per_mm, format!("100 mm came out as {length} mm")))
        }
        (None, None) => None,
    };
    if let Some((per_mm, why)) = &along {
        file.add("dots_per_mm", format!("{per_mm:.3}"), By::Seen, why);
    }
    match (answers.ratio, &along) {
        (Some(ratio), Some((per_mm, _))) => {
            file.remark(&format!("across the paper it is {:.3} dots a mm: measured in your photograph", per_mm * ratio));
        }
        (Some(ratio), None) => file.remark(&format!(
            "a row is {ratio} times as long as a column is wide: measured in your photograph; a ruler gives the millimetres"
        )),
        (None, _) => {}
    }
    let remarks = ways_of(&mut file, answers, heard, dots, &base);
    file.cutter(answers);
    file.answers_it_gives(heard);
    let measured = |key: &str| answers.measured.iter().any(|known| known == key);
    match &answers.gain {
        Some(gain) if measured("gain") => file.add("dot_gain", gain.to_string(), By::Measured, "percent asked, percent on paper"),
        Some(gain) => file.add("dot_gain", gain.to_string(), By::Seen, "the patch that was as dark as the band"),
        None => {}
    }
    match answers.dead.as_deref() {
        Some([]) => file.remark("no column of the head is dead: measured in your photograph"),
        Some(dead) => {
            let dead = dead.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
            file.remark(&format!("columns that print nothing, counted from 0 at the left: {dead}: measured in your photograph"));
        }
        None => {}
    }
    if let Some(code) = answers.code {
        file.remark(&format!("the smallest code that could be read has {code} dots a module: measured in your photograph"));
    }
    let knows_density = answers.right.as_ref().is_some_and(|right| right.contains(&ways::DENSITY));
    match answers.lines {
        Some(Lines::Whole) => {
            let by = if measured("lines") { "measured in your photograph" } else { "seen by you" };
            file.remark(&format!("density: lines of one dot are whole, black and white: {by}, nothing is sent"));
        }
        Some(lines) if knows_density => {
            let (value, why) =
                if lines == Lines::BlackBreaks { ("2", "thin black lines broke") } else { ("-2", "thin white lines closed") };
            file.add("density", value.into(), By::Guessed, &format!("{why}: print the chart again and look"));
        }
        Some(_) => file.remark("density: it knows no GS ( K; try its own switches or menu"),
        None => {}
    }
    match (answers.seconds, chart_mm) {
        (Some(seconds), Some(length)) if (20.0..=400.0).contains(&(length / seconds)) => {
            file.add("speed_mm_s", format!("{:.0}", length / seconds), By::Seen, &format!("{length:.0} mm in {seconds} s"));
        }
        _ => {}
    }
    if let Some(size) = answers.type_size {
        file.remark(&format!("the smallest type that you read is {size} pt: write minimum = {size} under [type] in your style"));
    }
    let open = questions::open(answers);
    let text = file.text(name, &open);
    let (profile, _) = Profile::read_toml(&text, name)?;
    Ok(Outcome { text, profile, open, remarks })
}

/// Ways of raster by the number that shows them, the one to be taken first: its raster and that one's name in a printer's file.
const WAYS: [(u32, Raster, &str); 5] = [
    (ways::LOWEST_FIRST, Raster::Rows, "rows"),
    (ways::MIRRORED, Raster::Rows, "rows"),
    (ways::ROWS, Raster::Rows, "rows"),
    (ways::GRAPHICS, Raster::Graphics, "graphics"),
    (ways::COLUMNS, Raster::Columns, "columns"),
];

/// Raster, thrift, feeds, buffer: what the ways strip showed.
fn ways_of(file: &mut File, answers: &Answers, heard: &Heard, dots: u32, base: &Profile) -> Vec<String> {
    let Some(right) = &answers.right else {
        file.add("raster", quoted("rows"), By::Guessed, "nearly every printer knows GS v 0");
        return Vec::new();
    };
    let has = |number: u32| right.contains(&number);
    let seen = |key: &str| answers.measured.iter().any(|known| known == key);
    let by = match () {
        () if seen("right") => By::Photographed,
        () if seen(answers::IN_PART) => By::InPart,
        () => By::Seen,
    };
    // The first that came out; rows that are told otherwise come out only where plain ones do not.
    let came_out = WAYS.iter().find(|(number, ..)| has(*number));
    let Some(&(number, raster, name)) = came_out else {
        let may_be = WAYS.iter().any(|(number, ..)| answers.unsure.contains(number));
        if may_be {
            file.add("raster", quoted("rows"), By::Guessed, "nobody has answered yet which way came out right");
            return Vec::new();
        }
        file.add("raster", quoted("rows"), By::Guessed, "no way came out right");
        let words = "no way came out right: is it a receipt printer, and are the speed of its line and its cable right?";
        return vec![words.to_string()];
    };
    file.add("raster", quoted(name), by, &format!("{number} came out right"));
    if has(ways::LOWEST_FIRST) {
        file.add("lsb_first", "true".into(), by, "12 came out right and 1 did not");
    }
    if has(ways::MIRRORED) {
        file.add("mirrored", "true".into(), by, "13 came out right and 1 did not");
    }
    // Feeds count in a unit that only feeding shows, among whichever dots came out right.
    let whole = has(ways::FEEDS) || has(ways::COLUMN_FEEDS);
    let half = has(ways::HALF_FEEDS) || has(ways::COLUMN_HALF_FEEDS);
    let plain = has(ways::ROWS) || !matches!(raster, Raster::Rows);
    if whole || half {
        let unit = base.dots_per_inch() * if half { 2 } else { 1 };
        let numbers = if half { "5 or 7" } else { "4 or 6" };
        if answers.length.is_none_or(|length| (length - 100.0).abs() < 0.5) {
            file.add("feed_per_inch", unit.to_string(), by, &format!("{numbers} came out right"));
        }
    }
    // What is cut up finely is hard to hold back from a small buffer.
    let room = !has(ways::ROWS) || has(ways::BURSTS[2].0);
    // Detours of the savings need ESC *, ESC \ and short GS ( L too.
    let detours = room && raster == Raster::Rows && has(ways::BANDS) && has(ways::COLUMNS) && has(ways::RESORTS);
    let thrift = match () {
        () if detours && has(ways::STRIPES) => "stripes",
        () if detours => "bands",
        () if plain && (whole || half) => "feeds",
        () => "none",
    };
    let list = |numbers: &[u32]| numbers.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    file.add("thrift", quoted(thrift), by, &format!("right: {}", list(right)));
    if !answers.unsure.is_empty() {
        file.remark(&format!("numbers of the ways strip that nobody has answered yet: {}", list(&answers.unsure)));
    }
    let mut remarks = Vec::new();
    if has(ways::ROWS) {
        let good = ways::BURSTS.iter().take_while(|(number, _)| has(*number)).last().map_or(512, |(_, bytes)| *bytes);
        if good < ways::BURSTS[2].1 {
            let (number, next) = ways::BURSTS.iter().find(|(number, _)| !has(*number)).copied().unwrap_or((0, 0));
            match answers.unsure.contains(&number) {
                true => file.add(
                    "buffer",
                    good.to_string(),
                    by,
                    "so many bytes without a pause came out; of more nobody has answered yet",
                ),
                false => file.add("buffer", good.to_string(), by, &format!("{next} bytes without a pause did not come out")),
            }
            let band = dots.max(good / 2).min(4096);
            file.add(
                "band_bytes",
                band.to_string(),
                By::Guessed,
                "half the buffer, and at least a byte for each dot of the width",
            );
            if heard.fence.is_none() && !answers.unsure.contains(&number) {
                let rows = (band / dots.div_ceil(8)).max(1);
                // As long as the mechanism needs for a band, and half as long again.
                let pace = f64::from(rows) * 1500.0 / (f64::from(base.resolution.dots_per_metre) / 1000.0 * base.speed.value());
                file.add(
                    "pace_ms",
                    format!("{:.0}", pace.ceil()),
                    By::Guessed,
                    "it can't say when it has room, so each band gets its time",
                );
                remarks.push("it loses bytes that come too fast and can't say when it has room: flow control, if it has any, is better than a pause".into());
            }
        } else {
            file.remark(&format!("buffer: 16384 bytes without a pause came out: {}", by.words()));
        }
    }
    remarks
}

#[derive(Default)]
struct File {
    lines: Vec<(String, String)>,
}

impl File {
    fn add(&mut self, key: &str, value: String, by: By, why: &str) {
        let by = by.words();
        self.lines.push((format!("{key} = {value}"), format!("{by}: {why}")));
    }

    fn remark(&mut self, words: &str) {
        self.lines.push((String::new(), words.to_string()));
    }

    fn cutter(&mut self, answers: &Answers) {
        match answers.cut.as_deref() {
            None => {}
            Some([]) => {
                self.add("cut", quoted("none"), By::Seen, "it cut nothing by itself");
                self.add("cut_line", quoted("every"), By::Guessed, "a line with scissors between strips that hang together");
            }
            Some(cuts) if cuts.contains(&1) => {
                self.add("cut", quoted("partial"), By::Guessed, "it cuts; whether a point is left standing is its own");
                self.add("cut_command", quoted("feed-and-cut"), By::Seen, "it cut below the line with the 1");
            }
            Some(_) => {
                self.add("cut", quoted("partial"), By::Guessed, "it cuts; whether a point is left standing is its own");
                self.add("cut_command", quoted("cut"), By::Seen, "it cut inside the ladder only");
            }
        }
        if let Some(edge) = answers.edge {
            self.add("head_to_cutter_mm", edge.to_string(), By::Seen, "the lowest rung above the edge");
        }
    }

    fn answers_it_gives(&mut self, heard: &Heard) {
        if !heard.asked {
            self.remark("status, fence: nothing comes back on this way to it, so it was not asked");
            return;
        }
        let why = if heard.status { "it answers DLE EOT" } else { "it does not answer DLE EOT" };
        self.add("status", heard.status.to_string(), By::Asked, why);
        let (fence, why) = match heard.fence {
            Some(Fence::Process) => ("process", "it answers GS ( H"),
            Some(Fence::Paper) => ("paper", "it answers GS r, and not GS ( H"),
            _ => ("none", "it answers neither GS ( H nor GS r"),
        };
        self.add("fence", quoted(fence), By::Asked, why);
        for (what, words) in heard.identity.iter().filter(|(what, _)| !matches!(*what, "maker" | "model")) {
            self.remark(&format!("{what}: {words} (asked)"));
        }
    }

    fn text(&self, name: &str, open: &[&str]) -> String {
        let wide = self.lines.iter().map(|(line, _)| line.chars().count()).max().unwrap_or(0).min(40);
        let mut text =
            format!("# {name}, written by `stripling makeready`. What is not here is as the generic printer has it.\n");
        for (line, why) in &self.lines {
            match line.as_str() {
                "" => text += &format!("# {why}\n"),
                line => text += &format!("{line:<wide$}   # {why}\n"),
            }
        }
        if !open.is_empty() {
            text += &format!("# Still open: {}. The same command goes on.\n", open.join(", "));
        }
        text
    }
}

/// A TOML text; what a printer says of itself is no text to trust.
fn quoted(words: &str) -> String {
    let calm: String = words.chars().filter(|letter| !letter.is_control() && !matches!(letter, '"' | '\\')).collect();
    format!("\"{calm}\"")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::printer::{Cut, CutCommand, CutLine, Thrift};

    fn concluded(answers: &str, heard: &Heard) -> Outcome {
        let (answers, _) = Answers::read(answers, "a.toml").expect("answers");
        conclude(&answers, heard, "bench.toml", Some(500.0)).expect("a printer")
    }

    fn asked(fence: Option<Fence>) -> Heard {
        let identity = vec![("maker", "Reed \"b\"\n\u{1B}ed".to_string())];
        Heard { asked: true, status: fence.is_some(), fence, identity }
    }

    #[test]
    fn with_nothing_known_there_is_a_file_that_works_and_says_what_is_open() {
        let outcome = concluded("", &Heard::default());
        assert_eq!(outcome.profile, Profile { name: "bench.toml".into(), ..Profile::named("80mm").expect("built in") });
        assert_eq!(outcome.open.len(), questions::QUESTIONS.len());
        assert!(outcome.text.contains("Still open: paper, right"), "{}", outcome.text);
    }

    #[test]
    fn each_value_says_how_it_is_known() {
        let all = "paper = 80\nright = [1, 2, 3, 4, 6, 8, 9, 10, 11, 14, 15, 16, 17]\nwidth = 576\ncut = [1, 2]\nedge = 14\nlength = 100\n\
                   gain = 15\nlines = \"black-breaks\"\nseconds = 4\ntype = 6.5\n";
        let outcome = concluded(all, &asked(Some(Fence::Process)));
        let profile = &outcome.profile;
        assert_eq!((profile.name.as_str(), profile.thrift, profile.feed_per_inch), ("Reed bed", Thrift::Stripes, 203));
        assert_eq!((profile.status, profile.fence, profile.density), (true, Fence::Process, Some(2)));
        assert_eq!(
            (profile.cut, profile.cut_command, profile.head_to_cutter.value()),
            (Cut::Partial, CutCommand::FeedAndCut, 14.0)
        );
        assert_eq!((profile.dot_gain.half(), profile.speed.value()), (150, 125.0));
        let unknown =
            outcome.text.lines().filter(|line| line.contains(" = ")).find(|line| {
                !["# asked: ", "# seen by you: ", "# guessed: ", "# the smallest"].iter().any(|by| line.contains(by))
            });
        assert_eq!(unknown, None);
        assert!(outcome.open.is_empty(), "{:?}", outcome.open);
    }

    #[test]
    fn what_did_not_come_out_is_not_sent() {
        let thrift = |right: &str| concluded(&format!("right = {right}"), &Heard::default()).profile.thrift;
        assert_eq!(thrift("[1, 3, 4, 6, 8, 11, 15, 16, 17]"), Thrift::Bands);
        assert_eq!(thrift("[1, 3, 4, 6, 8, 11, 15]"), Thrift::Feeds, "a small buffer");
        assert_eq!(thrift("[1, 3, 4, 6, 8, 15, 16, 17]"), Thrift::Feeds, "no GS ( L for what else is unsafe");
        assert_eq!(thrift("[1, 3]"), Thrift::None);
        assert_eq!(thrift("[12]"), Thrift::None);
        assert_eq!(concluded("right = [3, 7]", &Heard::default()).profile.feed_per_inch, 406);
        let outcome = concluded("right = []", &Heard::default());
        assert!(outcome.remarks[0].contains("no way came out right"));
        let torn = concluded("cut = []", &Heard::default()).profile;
        assert_eq!((torn.cut, torn.cut_line), (Cut::None, CutLine::Every));
        assert_eq!(concluded("cut = [2]", &Heard::default()).profile.cut_command, CutCommand::Cut);
    }

    #[test]
    fn a_small_buffer_is_kept_from_running_over_by_proof_or_by_time() {
        let with = concluded("right = [1, 4, 15]", &asked(Some(Fence::Paper))).profile;
        assert_eq!((with.buffer, with.band_bytes, with.pace_ms), (1024, 576, 0));
        // 8 rows of 72 bytes are 1 mm; at 150 mm/s that is 6.7 ms, half as long again 10 (arithmetic).
        let without = concluded("right = [1, 4, 15]", &asked(None)).profile;
        assert_eq!((without.buffer, without.band_bytes, without.pace_ms), (1024, 576, 10));
    }
}
