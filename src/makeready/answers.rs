//! What a person saw, as TOML: read, checked against itself, written again.

use std::collections::BTreeMap;
use std::fmt::Write;

use toml::de::DeTable;

use super::{edges, ways};
use crate::gain::DotGain;
use crate::names::nearest;
use crate::printer::Error;
use crate::printer::profile::Notice;
use crate::printer::profile::values::{Reader, Value};

/// Every key of the answers.
pub const KEYS: [&str; 18] = [
    "to", "paper", "right", "unsure", "width", "cut", "edge", "length", "type", "gain", "lines", "seconds", "printed", "ratio",
    "ruler", "dead", "code", "measured",
];

/// Stands among what was measured where a photograph answered some numbers of the ways strip and a person the others.
pub const IN_PART: &str = "right in part";

/// How lines of one dot come out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lines {
    Whole,
    BlackBreaks,
    WhiteCloses,
}

/// How much darker tones come out.
#[derive(Clone, Debug, PartialEq)]
pub enum Gain {
    /// Percent at half ink.
    Half(f64),
    /// Percent asked and percent on paper.
    Curve(Vec<[f64; 2]>),
}

impl std::fmt::Display for Gain {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Gain::Half(percent) => write!(out, "{percent}"),
            Gain::Curve(points) => {
                let points: Vec<String> = points.iter().map(|[asked, seen]| format!("[{asked}, {seen}]")).collect();
                write!(out, "[{}]", points.join(", "))
            }
        }
    }
}

/// What is known from a person or a photograph.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answers {
    pub to: Option<String>,
    /// Millimetres.
    pub paper: Option<u32>,
    /// Numbers of the ways strip.
    pub right: Option<Vec<u32>>,
    /// Numbers that a photograph could not tell and nobody answered since.
    pub unsure: Vec<u32>,
    /// Dots.
    pub width: Option<u32>,
    /// Numbers of the edges strip.
    pub cut: Option<Vec<u32>>,
    /// Millimetres from head to blade or bar.
    pub edge: Option<f64>,
    /// Millimetres that 100 mm came out as.
    pub length: Option<f64>,
    /// Points.
    pub type_size: Option<f64>,
    pub gain: Option<Gain>,
    pub lines: Option<Lines>,
    pub seconds: Option<f64>,
    /// Strips that came out already.
    pub printed: Vec<String>,
    /// Length of a row beside a column's width.
    pub ratio: Option<f64>,
    /// Millimetres between the two long lines of the strip that is photographed.
    pub ruler: Option<f64>,
    /// Columns that print nothing.
    pub dead: Option<Vec<u32>>,
    /// Dots a module of the smallest code that was read.
    pub code: Option<u32>,
    /// Keys that a photograph answered.
    pub measured: Vec<String>,
    /// Where each value stands, in bytes.
    places: BTreeMap<String, usize>,
}

impl Answers {
    /// Reads answers. `name` is the file as the user named it and stands in every place.
    ///
    /// # Errors
    /// [`Error::Profile`] with file, line and column for TOML that can't be read, for a value that can't be, and for answers that
    /// contradict each other.
    pub fn read(text: &str, name: &str) -> Result<(Answers, Vec<Notice>), Error> {
        let reader = Reader { text, name };
        let table = DeTable::parse(text).map_err(|error| {
            let span = error.span().unwrap_or(0..0);
            let hint = "answers are a TOML table: right = [1, 2, 4], one key a line".to_string();
            reader.wrong(&span, error.message().to_string(), Some(hint))
        })?;
        let mut answers = Answers::default();
        let mut notices = Vec::new();
        for (key, value) in table.get_ref() {
            let key_name: &str = key.get_ref();
            answers.places.insert(key_name.to_string(), value.span().start);
            match key_name {
                "to" => answers.to = Some(reader.string(value, "to")?.to_string()),
                "paper" => {
                    let paper = reader.integer(value, "paper", 1, 1000)? as u32;
                    if ![58, 80, 112].contains(&paper) {
                        return Err(reader.wrong(
                            &value.span(),
                            format!("no generic printer takes paper of {paper} mm"),
                            Some("paper is 58, 80 or 112".into()),
                        ));
                    }
                    answers.paper = Some(paper);
                }
                "right" => answers.right = Some(list(&reader, value, "right", 1, ways::BURSTS[2].0)?),
                "unsure" => answers.unsure = list(&reader, value, "unsure", 1, ways::BURSTS[2].0)?,
                "width" => answers.width = Some(reader.integer(value, "width", 8, 4000)? as u32),
                "cut" => answers.cut = Some(list(&reader, value, "cut", 1, 2)?),
                "edge" => answers.edge = Some(reader.number(value, "edge", 0.0, f64::from(edges::LADDER))?),
                "length" => answers.length = Some(reader.number(value, "length", 50.0, 200.0)?),
                "type" => answers.type_size = Some(reader.number(value, "type", 5.0, 10.0)?),
                "gain" => answers.gain = Some(gain(&reader, value)?),
                "ratio" => answers.ratio = Some(reader.number(value, "ratio", 0.9, 1.1)?),
                "ruler" => answers.ruler = Some(reader.number(value, "ruler", 50.0, 300.0)?),
                "dead" => answers.dead = Some(list(&reader, value, "dead", 0, 4000)?),
                "code" => answers.code = Some(reader.integer(value, "code", 1, 20)? as u32),
                "lines" => {
                    let ways =
                        [("whole", Lines::Whole), ("black-breaks", Lines::BlackBreaks), ("white-closes", Lines::WhiteCloses)];
                    answers.lines = Some(reader.choice(value, "lines", &ways)?);
                }
                "seconds" => answers.seconds = Some(reader.number(value, "seconds", 0.1, 600.0)?),
                "printed" => answers.printed = texts(&reader, value, "printed")?,
                "measured" => answers.measured = texts(&reader, value, "measured")?,
                unknown => notices.push(Notice {
                    place: reader.place(key.span().start),
                    message: format!("unknown key \"{unknown}\""),
                    hint: Some(match nearest(unknown, KEYS.iter().copied()) {
                        Some(near) => format!("did you mean \"{near}\"?"),
                        None => format!("answers are {}", KEYS.join(", ")),
                    }),
                }),
            }
        }
        answers.agree(&reader)?;
        Ok((answers, notices))
    }

    /// Refuses answers that can't all be true.
    fn agree(&self, reader: &Reader) -> Result<(), Error> {
        let wrong = |key: &str, message: String, hint: &str| {
            let at = self.places.get(key).copied().unwrap_or(0);
            Err(reader.wrong(&(at..at), message, Some(hint.to_string())))
        };
        if let Some(right) = &self.right
            && let Some(contradiction) = contradiction(right, &self.unsure)
        {
            return wrong("right", contradiction.message, "look at the strip again, or print it again with --again");
        }
        // Which lines there are depends on the paper, which may be known from elsewhere.
        if let (Some(width), Some(paper)) = (self.width, self.paper) {
            let widths = edges::widths(paper);
            if !widths.contains(&width) {
                let near = widths.iter().min_by_key(|known| known.abs_diff(width)).copied().unwrap_or(width);
                return wrong("width", format!("no line of the strip is {width} dots long"), &format!("the nearest is {near}"));
            }
        }
        Ok(())
    }

    pub fn has(&self, key: &str) -> bool {
        self.places.contains_key(key)
    }

    /// What `newer` says goes before what is said here.
    pub fn written_over_by(&self, newer: &Answers) -> String {
        let mut older = self.clone();
        if newer.right.is_some() {
            older.unsure.clear();
        }
        // What is said anew is measured only if it was measured anew.
        let said = newer.values();
        let still = |key: &String| !said.contains_key(if key == IN_PART { "right" } else { key.as_str() });
        let mut measured: Vec<String> = self.measured.iter().filter(|key| still(key)).cloned().collect();
        measured.extend(newer.measured.iter().cloned());
        measured.dedup();
        let mut values = Answers { measured, ..older }.values();
        values.extend(newer.values().into_iter().filter(|(key, _)| *key != "measured"));
        let mut text = String::new();
        for key in KEYS {
            if let Some(value) = values.get(key) {
                let _ = writeln!(text, "{key} = {value}");
            }
        }
        text
    }

    /// Keys and values as TOML.
    fn values(&self) -> BTreeMap<&'static str, String> {
        let list = |numbers: &Vec<u32>| format!("[{}]", numbers.iter().map(u32::to_string).collect::<Vec<_>>().join(", "));
        let text = |text: &String| toml::Value::String(text.clone()).to_string();
        let lines = |lines: &Lines| match lines {
            Lines::Whole => "\"whole\"".to_string(),
            Lines::BlackBreaks => "\"black-breaks\"".to_string(),
            Lines::WhiteCloses => "\"white-closes\"".to_string(),
        };
        let texts =
            |all: &[String]| (!all.is_empty()).then(|| format!("[{}]", all.iter().map(text).collect::<Vec<_>>().join(", ")));
        let all = [
            ("to", self.to.as_ref().map(text)),
            ("paper", self.paper.map(|paper| paper.to_string())),
            ("right", self.right.as_ref().map(list)),
            ("unsure", (!self.unsure.is_empty()).then(|| list(&self.unsure))),
            ("width", self.width.map(|width| width.to_string())),
            ("cut", self.cut.as_ref().map(list)),
            ("edge", self.edge.map(|edge| edge.to_string())),
            ("length", self.length.map(|length| length.to_string())),
            ("type", self.type_size.map(|size| size.to_string())),
            ("gain", self.gain.as_ref().map(Gain::to_string)),
            ("lines", self.lines.as_ref().map(lines)),
            ("seconds", self.seconds.map(|seconds| seconds.to_string())),
            ("printed", texts(&self.printed)),
            ("ratio", self.ratio.map(|ratio| ratio.to_string())),
            ("ruler", self.ruler.map(|ruler| ruler.to_string())),
            ("dead", self.dead.as_ref().map(list)),
            ("code", self.code.map(|code| code.to_string())),
            ("measured", texts(&self.measured)),
        ];
        all.into_iter().filter_map(|(key, value)| Some((key, value?))).collect()
    }
}

/// Numbers of the ways strip that can't all be as they are said to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Contradiction {
    pub numbers: Vec<u32>,
    pub message: String,
}

/// The first contradiction among numbers that came out right; a number that is not sure contradicts none.
pub fn contradiction(right: &[u32], unsure: &[u32]) -> Option<Contradiction> {
    let has = |number: u32| right.contains(&number);
    let lacks = |number: u32| !has(number) && !unsure.contains(&number);
    let between = |numbers: &[u32], message: String| Some(Contradiction { numbers: numbers.to_vec(), message });
    let apart: [&[u32]; 3] = [
        &[ways::ROWS, ways::LOWEST_FIRST, ways::MIRRORED],
        &[ways::FEEDS, ways::HALF_FEEDS],
        &[ways::COLUMN_FEEDS, ways::COLUMN_HALF_FEEDS],
    ];
    for group in apart {
        let both: Vec<u32> = group.iter().copied().filter(|number| has(*number)).collect();
        if both.len() > 1 {
            let named = both.iter().map(u32::to_string).collect::<Vec<_>>().join(" and ");
            return between(&both, format!("{named} can't all have come out right: each undoes the other"));
        }
    }
    for (one, other) in [(ways::FEEDS, ways::COLUMN_HALF_FEEDS), (ways::HALF_FEEDS, ways::COLUMN_FEEDS)] {
        if has(one) && has(other) {
            return between(&[one, other], "a printer feeds in one unit: 4 goes with 6, and 5 with 7".into());
        }
    }
    let on_rows = [ways::FEEDS, ways::HALF_FEEDS, ways::BANDS, ways::DENSITY];
    let bursts = ways::BURSTS.map(|(number, _)| number);
    for number in on_rows.into_iter().chain(bursts) {
        if has(number) && lacks(ways::ROWS) {
            let message = format!("{number} is right and 1 is not, but {number} holds the same rows as 1");
            return between(&[number, ways::ROWS], message);
        }
    }
    for pair in bursts.windows(2) {
        if has(pair[1]) && lacks(pair[0]) {
            let message = format!("{} is right and {} is not, but {} is longer", pair[1], pair[0], pair[1]);
            return between(&[pair[1], pair[0]], message);
        }
    }
    None
}

/// One number, or a curve's points.
fn gain(reader: &Reader, value: Value) -> Result<Gain, Error> {
    let Some(points) = value.get_ref().as_array() else {
        return Ok(Gain::Half(reader.number(value, "gain", 0.0, 40.0)?));
    };
    let wrong = |why: String| {
        reader.wrong(&value.span(), format!("gain is no curve: {why}"), Some("such as [[25, 38], [50, 64], [75, 86]]".into()))
    };
    let (mut all, mut thousandths) = (Vec::new(), Vec::new());
    for point in points {
        let Some([asked, seen]) = point.get_ref().as_array().map(|pair| &pair[..]) else {
            return Err(wrong("a point is two numbers".into()));
        };
        let pair = [reader.number(asked, "gain", 0.0, 100.0)?, reader.number(seen, "gain", 0.0, 100.0)?];
        thousandths.push(pair.map(|percent| (percent * 10.0).round() as u16));
        all.push(pair);
    }
    DotGain::curve(&thousandths).map_err(wrong)?;
    Ok(Gain::Curve(all))
}

fn texts(reader: &Reader, value: Value, key: &str) -> Result<Vec<String>, Error> {
    let texts = value.get_ref().as_array().ok_or_else(|| reader.kind(value, key, "a list of texts"))?;
    texts.iter().map(|text| Ok(reader.string(text, key)?.to_string())).collect()
}

/// Numbers of a strip.
fn list(reader: &Reader, value: Value, key: &str, least: u32, most: u32) -> Result<Vec<u32>, Error> {
    let Some(numbers) = value.get_ref().as_array() else {
        return Err(reader.kind(value, key, "a list of numbers, such as [1, 2]"));
    };
    let mut all = Vec::new();
    for number in numbers {
        let number = match reader.integer(number, key, i64::MIN, i64::MAX) {
            Ok(read) if (i64::from(least)..=i64::from(most)).contains(&read) => read as u32,
            Ok(read) => {
                let message = format!("there is no {read} on the strip");
                return Err(reader.wrong(&number.span(), message, Some(format!("its numbers go from {least} to {most}"))));
            }
            Err(error) => return Err(error),
        };
        if !all.contains(&number) {
            all.push(number);
        }
    }
    all.sort_unstable();
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_are_read_and_written_again() {
        let text = "to = \"tcp://192.0.2.7:9100\"\npaper = 58\nright = [4, 1]\nunsure = [12]\nwidth = 420\ncut = []\nedge = 11.5\nlength = 99.5\n\
                    type = 6.5\ngain = [[25, 38.5], [50, 64]]\nlines = \"black-breaks\"\nseconds = 4.2\nprinted = [\"ways\"]\nratio = 0.99\n\
                    ruler = 130.5\ndead = [0, 17]\ncode = 3\nmeasured = [\"gain\"]\n";
        let (answers, notices) = Answers::read(text, "a.toml").expect("answers");
        assert_eq!((notices.len(), answers.right.as_deref()), (0, Some(&[1, 4][..])));
        let written = Answers::default().written_over_by(&answers);
        let (again, _) = Answers::read(&written, "a.toml").expect("answers");
        assert_eq!(again.values(), answers.values());
        assert_eq!(written, text.replace("[4, 1]", "[1, 4]"));
    }

    #[test]
    fn what_is_said_anew_is_measured_only_if_it_was_measured_anew() {
        let read = |text: &str| Answers::read(text, "a.toml").expect("answers").0;
        let photographs = read("right = [1, 2]\nunsure = [5]\ngain = 12\ncode = 2\nmeasured = [\"gain\", \"code\", \"right\"]\n");
        let over = |newer: &str| photographs.written_over_by(&read(newer));
        assert_eq!(over("gain = 15\n"), "right = [1, 2]\nunsure = [5]\ngain = 15\ncode = 2\nmeasured = [\"code\", \"right\"]\n");
        // A list of numbers is whole unless it says what is not sure.
        assert_eq!(over("right = [1, 2, 5]\n"), "right = [1, 2, 5]\ngain = 12\ncode = 2\nmeasured = [\"gain\", \"code\"]\n");
        assert_eq!(
            over("right = [1]\nunsure = [2]\nmeasured = [\"right\"]\n"),
            "right = [1]\nunsure = [2]\ngain = 12\ncode = 2\nmeasured = [\"gain\", \"code\", \"right\"]\n"
        );
        // What is not sure contradicts nothing.
        read("right = [4]\nunsure = [1]\n");
        assert!(Answers::read("right = [4]\nunsure = [2]\n", "a.toml").is_err());
    }

    #[test]
    fn answers_that_cannot_all_be_true_are_refused_where_they_stand() {
        for (text, at, part) in [
            ("right = [1, 12]", "1:9", "1 and 12 can't all"),
            ("paper = 80\nright = [1, 4, 5]", "2:9", "undoes the other"),
            ("right = [1, 4, 7]", "1:9", "one unit"),
            ("right = [2, 4]", "1:9", "same rows as 1"),
            ("right = [1, 15, 17]", "1:9", "longer"),
            ("right = [1, 18]", "1:13", "no 18 on the strip"),
            ("right = 1", "1:9", "list"),
            ("paper = 60", "1:9", "60 mm"),
            ("paper = 58\nwidth = 421", "2:9", "421 dots long"),
            ("edge = 90", "1:8", "from 0 to 40"),
            ("gain = [[50, 60], [40, 70]]", "1:8", "no curve"),
            ("ruler = 10", "1:9", "from 50 to 300"),
            ("lines = \"thin\"", "1:9", "none of"),
            ("right = [1, ", "1:13", ""),
        ] {
            let error = Answers::read(text, "a.toml").expect_err(text);
            let place = error.place().expect("a place").to_string();
            assert!(place == format!("a.toml:{at}") || part.is_empty(), "{text:?}: {place}: {error}");
            assert!(error.to_string().contains(part), "{text:?}: {error}");
        }
        let (_, notices) = Answers::read("rihgt = [1]", "a.toml").expect("a notice");
        assert_eq!(notices[0].hint.as_deref(), Some("did you mean \"right\"?"));
    }
}
