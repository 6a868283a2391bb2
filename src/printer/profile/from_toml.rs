//! The user's own printer: a TOML table becomes a [`Profile`], every value checked where it stands.

use std::ops::Range;

use toml::de::DeTable;

use super::values::{Reader, Value};
use super::{Cut, CutCommand, CutLine, Error, Fence, Profile, Raster, Thrift, dots_per_inch};
use crate::gain::DotGain;
use crate::lengths::Resolution;
use crate::manual::source::Place;
use crate::names::nearest;
use crate::printer::roll::{Price, Roll};
use crate::printer::{decode, encode};

/// Every key of a printer's TOML. `base` names the generic printer whose facts stand where the file is silent.
pub const KEYS: [&str; 27] = [
    "name",
    "base",
    "dots",
    "dots_per_mm",
    "paper_mm",
    "raster",
    "band_rows",
    "band_bytes",
    "pace_ms",
    "mirrored",
    "thrift",
    "cut",
    "cut_command",
    "cut_line",
    "head_to_cutter_mm",
    "speed_mm_s",
    "dot_gain",
    "status",
    "fence",
    "density",
    "settings",
    "lsb_first",
    "feed_per_inch",
    "buffer",
    "duty",
    "baud",
    "paper",
];

/// Every key of its `[paper]` table.
pub const PAPER_KEYS: [&str; 6] = ["price", "currency", "roll", "core_mm", "thickness_mm", "phenol_free"];

/// Something in a printer's TOML that is not wrong enough to stop: an unknown key, a value that looks like a slip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    pub place: Place,
    pub message: String,
    pub hint: Option<String>,
}

/// Resolutions that heads are built with, in dots a metre. A value within half a percent of one means that one, because
/// vendors round: 7.09 and 7.1 dots/mm are both 180 dpi.
const HEADS: [u32; 5] = [7087, 8000, 11_811, 15_748, 23_622];

/// Widest strip, in dots.
const WIDEST: i64 = 4000;

impl Profile {
    /// Reads a printer's TOML. `name` is the file as the user named it and stands in every place.
    ///
    /// # Errors
    /// [`Error::Profile`] with file, line and column for TOML that cannot be read and for a value that cannot be.
    pub fn read_toml(text: &str, name: &str) -> Result<(Profile, Vec<Notice>), Error> {
        let reader = Reader { text, name };
        let table = DeTable::parse(text).map_err(|error| {
            let span = error.span().unwrap_or(0..0);
            reader.wrong(&span, error.message().to_string(), Some("a printer is a TOML table: key = value, one a line".into()))
        })?;
        reader.profile(table.get_ref())
    }
}

impl Reader<'_> {
    fn profile(&self, table: &DeTable<'_>) -> Result<(Profile, Vec<Notice>), Error> {
        let mut notices = Vec::new();
        let mut profile = Profile::named(super::DEFAULT)?;
        if let Some(value) = table.get("base") {
            let base = self.string(value, "base")?;
            profile = Profile::named(base).map_err(|error| self.wrong(&value.span(), error.to_string(), error.hint()))?;
        }
        profile.name = self.name.to_string();
        for (key, value) in table {
            let key_name: &str = key.get_ref();
            match key_name {
                "base" => {}
                "name" => profile.name = self.string(value, "name")?.to_string(),
                "dots" => profile.dots = self.dots(value)?,
                "dots_per_mm" => profile.resolution = self.resolution(value)?,
                "paper_mm" => profile.paper_width = self.length(value, "paper_mm", 10.0, 500.0)?,
                "raster" => {
                    let ways = [("rows", Raster::Rows), ("graphics", Raster::Graphics), ("columns", Raster::Columns)];
                    profile.raster = self.choice(value, "raster", &ways)?;
                }
                "band_rows" => profile.band_rows = self.integer(value, "band_rows", 1, 2000)? as u32,
                "band_bytes" => profile.band_bytes = self.integer(value, "band_bytes", 64, 16 * 1024 * 1024)? as u32,
                "pace_ms" => profile.pace_ms = self.integer(value, "pace_ms", 0, 10_000)? as u32,
                "mirrored" => profile.mirrored = self.boolean(value, "mirrored")?,
                "thrift" => {
                    let ways = [
                        ("none", Thrift::None),
                        ("feeds", Thrift::Feeds),
                        ("bands", Thrift::Bands),
                        ("stripes", Thrift::Stripes),
                    ];
                    profile.thrift = self.choice(value, "thrift", &ways)?;
                }
                "cut" => {
                    let ways = [("none", Cut::None), ("partial", Cut::Partial), ("full", Cut::Full)];
                    profile.cut = self.choice(value, "cut", &ways)?;
                }
                "cut_command" => {
                    let ways = [("feed-and-cut", CutCommand::FeedAndCut), ("cut", CutCommand::Cut)];
                    profile.cut_command = self.choice(value, "cut_command", &ways)?;
                }
                "cut_line" => {
                    let ways = [("none", CutLine::None), ("inside", CutLine::Inside), ("every", CutLine::Every)];
                    profile.cut_line = self.choice(value, "cut_line", &ways)?;
                }
                "head_to_cutter_mm" => profile.head_to_cutter = self.length(value, "head_to_cutter_mm", 0.0, 100.0)?,
                "speed_mm_s" => profile.speed = self.length(value, "speed_mm_s", 1.0, 1000.0)?,
                "dot_gain" => profile.dot_gain = self.dot_gain(value, &mut notices)?,
                "status" => profile.status = self.boolean(value, "status")?,
                "fence" => {
                    let ways = [("none", Fence::None), ("paper", Fence::Paper), ("process", Fence::Process)];
                    profile.fence = self.choice(value, "fence", &ways)?;
                }
                "density" => profile.density = Some(self.integer(value, "density", -6, 8)? as i8),
                "settings" => profile.settings = self.settings(value)?,
                "lsb_first" => profile.lsb_first = self.boolean(value, "lsb_first")?,
                "feed_per_inch" => profile.feed_per_inch = self.integer(value, "feed_per_inch", 50, 6000)? as u32,
                "buffer" => profile.buffer = self.integer(value, "buffer", 64, 64 * 1024 * 1024)? as u32,
                "duty" => profile.duty = self.integer(value, "duty", 1, 100)? as u32,
                "baud" => profile.baud = self.integer(value, "baud", 300, 10_000_000)? as u32,
                "paper" => self.paper(value, &mut profile, &mut notices)?,
                unknown => notices.push(self.unknown(unknown, key.span(), &KEYS, "a printer")),
            }
        }
        self.motion(table, &mut profile)?;
        self.together(table, &mut profile)?;
        Ok((profile, notices))
    }

    /// Feeds must place dots exactly, so a dot is a whole number of motion units, and 24 of them fit `ESC 3`.
    fn motion(&self, table: &DeTable<'_>, profile: &mut Profile) -> Result<(), Error> {
        let per_inch = dots_per_inch(profile.resolution);
        let Some(value) = table.get("feed_per_inch") else {
            if table.contains_key("dots_per_mm") {
                profile.feed_per_inch = if per_inch == 180 { 360 } else { per_inch };
            }
            return Ok(());
        };
        if !profile.feed_per_inch.is_multiple_of(per_inch) || profile.feed_per_inch / per_inch > 10 {
            let message = format!("feed_per_inch = {} cannot feed by whole dots", profile.feed_per_inch);
            let hint =
                format!("at this resolution it is {per_inch}, {} or another multiple up to {}", per_inch * 2, per_inch * 10);
            return Err(self.wrong(&value.span(), message, Some(hint)));
        }
        Ok(())
    }

    /// What two keys say together.
    fn together(&self, table: &DeTable<'_>, profile: &mut Profile) -> Result<(), Error> {
        let saves = matches!(profile.thrift, Thrift::Bands | Thrift::Stripes);
        if let Some(value) = table.get("thrift").filter(|_| profile.mirrored && saves) {
            let hint = "take thrift = \"none\" or \"feeds\": a narrower band would come out at the other edge".to_string();
            return Err(self.wrong(&value.span(), "a mirrored strip is sent at full width".into(), Some(hint)));
        }
        match table.get("band_bytes").filter(|_| profile.band_bytes < profile.dots) {
            Some(value) => {
                let message = format!("band_bytes = {} is less than one row may need", profile.band_bytes);
                let hint = format!("it is at least as many as dots: {}", profile.dots);
                Err(self.wrong(&value.span(), message, Some(hint)))
            }
            None => Ok(()),
        }
    }

    fn paper(&self, value: Value, profile: &mut Profile, notices: &mut Vec<Notice>) -> Result<(), Error> {
        let Some(table) = value.get_ref().as_table() else {
            return Err(self.kind(value, "paper", "a table, [paper]"));
        };
        let mut currency = String::new();
        let mut amount = None;
        for (key, value) in table {
            match key.get_ref().as_ref() {
                "price" => amount = Some(self.number(value, "price", 0.0, 1_000_000.0)?),
                "currency" => currency = self.string(value, "currency")?.to_string(),
                "roll" => {
                    let text = self.string(value, "roll")?;
                    let roll = Roll::parse(text).map_err(|error| self.wrong(&value.span(), error.to_string(), error.hint()))?;
                    profile.roll = Roll { thickness: profile.roll.thickness, ..roll };
                }
                "phenol_free" => profile.phenol_free = Some(self.boolean(value, "phenol_free")?),
                "core_mm" | "thickness_mm" => {}
                unknown => notices.push(self.unknown(unknown, key.span(), &PAPER_KEYS, "[paper]")),
            }
        }
        if let Some(value) = table.get("core_mm") {
            profile.roll.core = self.length(value, "core_mm", 1.0, 100.0)?;
            if profile.roll.core >= profile.roll.diameter {
                let hint = format!("the roll measures {}", profile.roll.diameter);
                return Err(self.wrong(&value.span(), "the core is as thick as the whole roll".into(), Some(hint)));
            }
        }
        if let Some(value) = table.get("thickness_mm") {
            profile.roll.thickness = self.length(value, "thickness_mm", 0.02, 1.0)?;
        }
        profile.price = amount.map(|amount| Price { amount, currency });
        Ok(())
    }

    fn unknown(&self, key: &str, span: Range<usize>, known: &[&'static str], of: &str) -> Notice {
        let hint = match nearest(key, known.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("{of} knows {}", known.join(", ")),
        };
        Notice { place: self.place(span.start), message: format!("unknown key \"{key}\""), hint: Some(hint) }
    }

    fn dots(&self, value: Value) -> Result<u32, Error> {
        let dots = self.integer(value, "dots", 8, WIDEST)? as u32;
        if !encode::width_is_sayable(dots) {
            let message = format!("a strip {dots} dots wide cannot be told to a printer safely");
            let hint = format!("its width spells a status question inside a command; take {} dots", dots - 8);
            return Err(self.wrong(&value.span(), message, Some(hint)));
        }
        Ok(dots)
    }

    fn resolution(&self, value: Value) -> Result<Resolution, Error> {
        let per_mm = self.number(value, "dots_per_mm", 3.0, 48.0)?;
        let exact = (per_mm * 1000.0).round() as u32;
        let head = HEADS.iter().copied().find(|&head| exact.abs_diff(head) * 200 <= head);
        Ok(Resolution { dots_per_metre: head.unwrap_or(exact) })
    }

    /// Percent at half ink, or points of percent asked and percent on paper.
    fn dot_gain(&self, value: Value, notices: &mut Vec<Notice>) -> Result<DotGain, Error> {
        if let Some(points) = value.get_ref().as_array() {
            let hint =
                || Some("write points as [[10, 16], [25, 38], [50, 64], [75, 86]]: percent asked, percent on paper".to_string());
            let mut through = Vec::new();
            for point in points {
                let pair = point.get_ref().as_array().filter(|pair| pair.len() == 2);
                let Some(pair) = pair else {
                    return Err(self.wrong(&point.span(), "a point of dot_gain is two numbers".into(), hint()));
                };
                let mut numbers = [0u16; 2];
                for (number, value) in numbers.iter_mut().zip(pair.iter()) {
                    *number = (self.number(value, "dot_gain", 0.0, 100.0)? * 10.0).round() as u16;
                }
                through.push(numbers);
            }
            return DotGain::curve(&through)
                .map_err(|why| self.wrong(&value.span(), format!("dot_gain is no curve: {why}"), hint()));
        }
        let percent = self.number(value, "dot_gain", 0.0, 40.0)?;
        if percent > 0.0 && percent < 1.0 {
            notices.push(Notice {
                place: self.place(value.span().start),
                message: format!("dot_gain = {percent} is less than one percent"),
                hint: Some(format!("dot_gain is in percent; did you mean {}?", (percent * 100.0).round())),
            });
        }
        Ok(DotGain::at_half((percent * 10.0).round() as u16))
    }

    /// Bytes in hexadecimal. They may set the printer up; they may not print, feed, cut or leave a command open.
    fn settings(&self, value: Value) -> Result<Vec<u8>, Error> {
        let text = self.string(value, "settings")?;
        let hint = Some("write the bytes of the command in hexadecimal: \"1B 37 07 78 02\"".to_string());
        let digits: Vec<u8> = text.bytes().filter(|byte| !byte.is_ascii_whitespace()).collect();
        let bytes: Option<Vec<u8>> = digits
            .chunks(2)
            .map(|pair| {
                std::str::from_utf8(pair).ok().filter(|pair| pair.len() == 2).and_then(|pair| u8::from_str_radix(pair, 16).ok())
            })
            .collect();
        let Some(bytes) = bytes else {
            return Err(self.wrong(&value.span(), "settings are no pairs of hexadecimal digits".into(), hint));
        };
        if bytes.len() > 4096 {
            return Err(self.wrong(&value.span(), "settings are longer than 4096 bytes".into(), None));
        }
        if encode::spells_real_time(&bytes) {
            let message = "settings hold a real-time command (10 04, 10 05 or 10 14)".to_string();
            return Err(self.wrong(&value.span(), message, Some("the printer is asked by `status` and `fence`".into())));
        }
        let seen = decode::decode(&bytes, &Profile::named(super::DEFAULT)?);
        if let Some(fault) = seen.errors.first() {
            let message = format!("settings, byte {}: {}", fault.offset, fault.message);
            return Err(self.wrong(&value.span(), message, hint));
        }
        if seen.bitmap.height() > 0 || !seen.cuts.is_empty() {
            return Err(self.wrong(&value.span(), "settings may set the printer up, not print, feed or cut".into(), hint));
        }
        // A band is only as wide as its dots reach: centred, each would begin at another place.
        let band = [0x1D, 0x76, 0x30, 0x00, 0x01, 0x00, 0x01, 0x00, 0xFF];
        let to_the_left = [0x1B, 0x61, 0x00];
        let printer = Profile::named(super::DEFAULT)?;
        let as_set = decode::decode(&[&bytes[..], &band].concat(), &printer).bitmap;
        if as_set != decode::decode(&[&bytes[..], &to_the_left, &band].concat(), &printer).bitmap {
            let message = "settings may not centre what is printed or put it to the right".into();
            return Err(self.wrong(&value.span(), message, Some("leave ESC a (1B 61) out".into())));
        }
        Ok(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lengths::Mm;

    fn read(text: &str) -> Result<(Profile, Vec<Notice>), Error> {
        Profile::read_toml(text, "bench.toml")
    }

    #[test]
    fn every_key_is_read() {
        let text = "name = \"Bench\"\nbase = \"58mm\"\ndots = 432\ndots_per_mm = 7.09\npaper_mm = 60\nraster = \"columns\"\n\
                    band_rows = 48\nband_bytes = 2048\npace_ms = 20\nmirrored = false\nthrift = \"bands\"\ncut = \"full\"\ncut_command = \"cut\"\ncut_line = \"every\"\nhead_to_cutter_mm = 9.5\nspeed_mm_s = 90\ndot_gain = 14.5\nstatus = true\n\
                    fence = \"process\"\ndensity = -2\nsettings = \"1B37 0978 02\"\nlsb_first = true\nbuffer = 8192\nduty = 25\n\
                    baud = 19200\n[paper]\nprice = 1.8\ncurrency = \"EUR\"\nroll = \"57x50\"\ncore_mm = 13\nthickness_mm = 0.055\nphenol_free = true\n";
        let (profile, notices) = read(text).expect("a whole profile");
        assert_eq!(notices, []);
        let expected = Profile {
            name: "Bench".into(),
            dots: 432,
            resolution: Resolution { dots_per_metre: 7087 },
            paper_width: Mm::new(60.0),
            raster: Raster::Columns,
            band_rows: 48,
            band_bytes: 2048,
            pace_ms: 20,
            mirrored: false,
            thrift: Thrift::Bands,
            cut: Cut::Full,
            cut_command: CutCommand::Cut,
            cut_line: CutLine::Every,
            head_to_cutter: Mm::new(9.5),
            speed: Mm::new(90.0),
            dot_gain: DotGain::at_half(145),
            status: true,
            fence: Fence::Process,
            density: Some(-2),
            settings: vec![0x1B, 0x37, 0x09, 0x78, 0x02],
            lsb_first: true,
            feed_per_inch: 360,
            buffer: 8192,
            duty: 25,
            baud: 19_200,
            roll: Roll { width: Mm::new(57.0), diameter: Mm::new(50.0), core: Mm::new(13.0), thickness: Mm::new(0.055) },
            price: Some(Price { amount: 1.8, currency: "EUR".into() }),
            phenol_free: Some(true),
        };
        assert_eq!(profile, expected);
    }

    #[test]
    fn an_unknown_key_is_a_notice_with_the_nearest_key() {
        let (_, notices) =
            read("dots = 576\nhead_to_cuter_mm = 3\ntrift = \"bands\"\n[paper]\npricee = 2\n").expect("only notices");
        let seen: Vec<_> =
            notices.iter().map(|notice| (notice.place.to_string(), notice.hint.clone().unwrap_or_default())).collect();
        assert_eq!(
            seen,
            [
                ("bench.toml:2:1".to_string(), "did you mean \"head_to_cutter_mm\"?".to_string()),
                ("bench.toml:5:1".to_string(), "did you mean \"price\"?".to_string()),
                ("bench.toml:3:1".to_string(), "did you mean \"thrift\"?".to_string())
            ]
        );
    }

    #[test]
    fn a_bad_value_is_an_error_where_it_stands() {
        for (text, at, part) in [
            ("dots = \"576\"", "1:8", "whole number"),
            ("\n\ndots = 4", "3:8", "from 8 to"),
            ("\"é\" = 1\ndots = 0x410", "2:8", "safely"),
            ("raster = \"raster\"", "1:10", "none of \"rows\", \"graphics\", \"columns\""),
            ("thrift = \"stripe\"", "1:10", "none of \"none\", \"feeds\", \"bands\", \"stripes\""),
            ("density = 9", "1:11", "-6 to 8"),
            ("dots = 5\ndots = 6", "2:1", "duplicate"),
            ("cut = ", "1:7", ""),
            ("settings = \"1B 4\"", "1:12", "hexadecimal"),
            ("settings = \"10 04 01\"", "1:12", "real-time"),
            ("settings = \"1D 4C 08 00 1B 61 31\"", "1:12", "centre"),
            ("settings = \"1D 28 4B 02 00 31\"", "1:12", "byte 0"),
            ("settings = \"1B 4A 20\"", "1:12", "not print, feed or cut"),
            ("feed_per_inch = 300", "1:17", "whole dots"),
            ("[paper]\nroll = \"80 mm\"", "2:8", "no roll"),
            ("[paper]\nroll = \"80x80\"\ncore_mm = 80", "3:11", "core"),
            ("mirrored = true\nthrift = \"bands\"", "2:10", "full width"),
            ("band_bytes = 500", "1:14", "less than one row"),
            ("dots = 8\nband_bytes = 8", "2:14", "from 64"),
            ("cut_command = \"GS V\"", "1:15", "none of \"feed-and-cut\", \"cut\""),
            ("dot_gain = [[10, 16], [25]]", "1:23", "two numbers"),
            ("dot_gain = [[50, 64], [25, 38]]", "1:12", "rise"),
            ("dot_gain = [[50, \"x\"]]", "1:18", "a number"),
            ("dots_per_mm = nan", "1:15", "from 3 to 48"),
        ] {
            let error = read(text).expect_err(text);
            let place = error.place().expect("a place").to_string();
            assert_eq!(place, format!("bench.toml:{at}"), "{text:?}: {error}");
            assert!(error.to_string().contains(part), "{text:?}: {error}");
        }
    }

    #[test]
    fn a_dot_gain_is_a_curve_where_it_was_measured() {
        let (profile, notices) = read("dot_gain = [[10, 16], [25, 38.5], [50, 64], [75, 86]]").expect("a curve");
        assert_eq!(notices, []);
        assert_eq!(profile.dot_gain.points(), [[100, 160], [250, 385], [500, 640], [750, 860]]);
        assert_eq!(profile.dot_gain.half(), 140);
    }

    #[test]
    fn a_dot_gain_written_as_a_fraction_is_asked_about() {
        let (_, notices) = read("dot_gain = 0.12").expect("allowed");
        assert_eq!(notices[0].hint.as_deref(), Some("dot_gain is in percent; did you mean 12?"));
    }
}
