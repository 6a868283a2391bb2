//! A printer as a table of facts: how wide, how dense, which commands it knows, how far its cutter stands from its head.
//!
//! Five generic printers are built in; the user's own is a TOML file of the same keys (see [`Profile::read_toml`]). A profile
//! never touches a device: what it says is used by `encode`, `decode`, `estimate` and by the talk with the printer.

mod from_toml;
pub mod values;

pub use from_toml::{KEYS, Notice, PAPER_KEYS};

use super::Error;
use super::roll::{Price, Roll};
use crate::gain::DotGain;
use crate::lengths::{Dots, Mm, Paper, Resolution};
use crate::names;

/// Which command carries the dots.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Raster {
    /// `GS v 0`: rows of bytes, printed as they come. Nearly every printer knows it.
    Rows,
    /// `GS ( L` / `GS 8 L`: rows of bytes, stored, then printed.
    Graphics,
    /// `ESC *`: stripes of 24 rows, three bytes a column. For printers that know no raster command.
    Columns,
}

/// How bytes are saved on the wire: what a printer is told depends on what it is known to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Thrift {
    /// Nothing is saved: every row at full width, in the order of the strip, one way of raster and nothing else.
    None,
    /// The same, but blank rows are fed by `ESC J`, in the unit that the printer starts with.
    Feeds,
    /// Bands that are only as wide as their dots. `ESC *` is sent where nothing else is safe (see `encode`) or where it is the way, and `ESC $` never.
    Bands,
    /// In the way of rows, stripes of `ESC *` too where they are clearly shorter; in every stripe, white is passed over by
    /// `ESC $`.
    Stripes,
}

/// What ends a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cut {
    /// Torn off by hand at the bar.
    None,
    /// A point is left standing, so the strip does not fall.
    Partial,
    Full,
}

/// How a cutter is told to cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CutCommand {
    /// `GS V 65` or `66`: the printer itself feeds to its blade and cuts.
    FeedAndCut,
    /// `GS V 0` or `1`: it cuts where the paper stands, so the rows from head to blade are fed before.
    Cut,
}

/// Where a printer without a cutter prints a line with scissors, for the hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CutLine {
    None,
    /// Where the manual asks for a cut inside the strip.
    Inside,
    /// There, and at the end of each strip: where many hang together.
    Every,
}

/// The question that a printer answers only after it has worked off everything before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fence {
    None,
    /// `GS r 1`: the paper sensor's state.
    Paper,
    /// `GS ( H`: a number of ours comes back.
    Process,
}

/// Everything that is known of a printer.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    pub name: String,
    /// Printable width, in dots.
    pub dots: u32,
    pub resolution: Resolution,
    /// Width of the paper, not all of which is printed on.
    pub paper_width: Mm,
    pub raster: Raster,
    /// Most rows in one raster command. Of the generic printers 32, which is less than 4096 bytes on each of them.
    pub band_rows: u32,
    /// Most bytes of dots in one raster command; never less than `dots`. Whichever of the two is met first ends it.
    pub band_bytes: u32,
    /// Milliseconds to wait after each band, for a printer that takes more than it can work off.
    pub pace_ms: u32,
    /// What is laid down at the left comes out at the right: strips are sent mirrored, at full width.
    pub mirrored: bool,
    pub thrift: Thrift,
    pub cut: Cut,
    pub cut_command: CutCommand,
    /// For [`Cut::None`] only.
    pub cut_line: CutLine,
    /// From the row under the head to the blade, or to the tear bar.
    pub head_to_cutter: Mm,
    /// Length printed in a second.
    pub speed: Mm,
    /// How much darker tones come out than asked.
    pub dot_gain: DotGain,
    /// Whether the printer answers `DLE EOT`.
    pub status: bool,
    pub fence: Fence,
    /// Darkness from -6 to 8, sent only when given.
    pub density: Option<i8>,
    /// The user's own set-up commands, sent after the printer is initialised; empty unless given.
    pub settings: Vec<u8>,
    /// The leftmost (or topmost) of eight dots is the lowest bit of its byte, not the highest.
    pub lsb_first: bool,
    /// Vertical motion units in an inch: what `ESC J 1` feeds. 203 is one dot at 8 dots/mm; 360 is half a dot at 180 dpi.
    pub feed_per_inch: u32,
    /// Bytes the printer takes before it must be waited for.
    pub buffer: u32,
    /// Most black, in percent, that a stretch of [`super::estimate::STRETCH`] may hold before the supply or the head suffers.
    pub duty: u32,
    /// Speed of a serial line, 8N1, for the estimate of the link's time.
    pub baud: u32,
    /// The paper that is put in.
    pub roll: Roll,
    /// What one roll costs.
    pub price: Option<Price>,
    /// Whether the paper is free of phenols (bisphenols); `None` where nobody has said.
    pub phenol_free: Option<bool>,
}

/// One generic printer, as facts that can stand in a constant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Generic {
    pub name: &'static str,
    pub dots: u32,
    pub dots_per_metre: u32,
    pub paper_um: i64,
    pub cut: Cut,
    pub head_to_cutter_um: i64,
    pub speed_mm_s: i64,
    pub feed_per_inch: u32,
    pub roll_diameter_um: i64,
    pub notes: &'static str,
}

/// The printers that need no file. Widths: vendors' command references; common practice. The rest are the usual values of
/// the trade, with no source: a maker's own TOML says better. That a printer answers is nothing that its paper tells: none of these is
/// asked a question.
pub const BUILT_IN: [Generic; 5] = [
    Generic {
        name: "58mm",
        dots: 384,
        dots_per_metre: 8000,
        paper_um: 57_500,
        cut: Cut::None,
        head_to_cutter_um: 8_000,
        speed_mm_s: 60,
        feed_per_inch: 203,
        roll_diameter_um: 50_000,
        notes: "48 mm printable, torn by hand",
    },
    Generic {
        name: "58mm-wide",
        dots: 420,
        dots_per_metre: 8000,
        paper_um: 57_500,
        cut: Cut::Partial,
        head_to_cutter_um: 12_000,
        speed_mm_s: 100,
        feed_per_inch: 203,
        roll_diameter_um: 80_000,
        notes: "52.5 mm printable, not a multiple of 8 dots",
    },
    Generic {
        name: "80mm",
        dots: 576,
        dots_per_metre: 8000,
        paper_um: 79_500,
        cut: Cut::Partial,
        head_to_cutter_um: 15_000,
        speed_mm_s: 150,
        feed_per_inch: 203,
        roll_diameter_um: 80_000,
        notes: "72 mm printable; the default",
    },
    Generic {
        name: "80mm-180",
        dots: 512,
        dots_per_metre: 7087,
        paper_um: 79_500,
        cut: Cut::Partial,
        head_to_cutter_um: 15_000,
        speed_mm_s: 150,
        feed_per_inch: 360,
        roll_diameter_um: 80_000,
        notes: "72.2 mm printable, motion unit 1/360 in",
    },
    Generic {
        name: "112mm",
        dots: 832,
        dots_per_metre: 8000,
        paper_um: 111_500,
        cut: Cut::Partial,
        head_to_cutter_um: 15_000,
        speed_mm_s: 100,
        feed_per_inch: 203,
        roll_diameter_um: 80_000,
        notes: "104 mm printable",
    },
];

/// The name of the printer that is meant when none is named.
pub const DEFAULT: &str = "80mm";

impl Profile {
    /// A generic printer by its name.
    ///
    /// # Errors
    /// [`Error::UnknownPrinter`], with the nearest name.
    pub fn named(name: &str) -> Result<Profile, Error> {
        match BUILT_IN.iter().find(|generic| generic.name == name) {
            Some(generic) => Ok(Profile::from_generic(generic)),
            None => {
                let nearest = names::nearest(name, BUILT_IN.iter().map(|generic| generic.name));
                Err(Error::UnknownPrinter { name: name.to_string(), nearest })
            }
        }
    }

    /// The generic printer whose paper is nearest to a nominal width such as a manual's `paper = "80 mm"`.
    ///
    /// `None` when no generic printer takes paper within 3 mm of it. Of two printers of one width the first of the table wins.
    pub fn for_paper(width: Mm) -> Option<Profile> {
        let distance = |generic: &Generic| (generic.paper_um - width.micrometres()).abs();
        let nearest = BUILT_IN.iter().min_by_key(|generic| (distance(generic), generic.name != DEFAULT))?;
        (distance(nearest) <= 3_000).then(|| Profile::from_generic(nearest))
    }

    fn from_generic(generic: &Generic) -> Profile {
        Profile {
            name: generic.name.to_string(),
            dots: generic.dots,
            resolution: Resolution { dots_per_metre: generic.dots_per_metre },
            paper_width: Mm::from_micrometres(generic.paper_um),
            raster: Raster::Rows,
            band_rows: 32,
            band_bytes: 4096,
            pace_ms: 0,
            mirrored: false,
            thrift: Thrift::None,
            cut: generic.cut,
            cut_command: CutCommand::FeedAndCut,
            cut_line: CutLine::Inside,
            head_to_cutter: Mm::from_micrometres(generic.head_to_cutter_um),
            speed: Mm::from_micrometres(generic.speed_mm_s * 1000),
            dot_gain: DotGain::at_half(120),
            status: false,
            fence: Fence::None,
            density: None,
            settings: Vec::new(),
            lsb_first: false,
            feed_per_inch: generic.feed_per_inch,
            buffer: 4096,
            duty: 40,
            baud: 115_200,
            roll: Roll { diameter: Mm::from_micrometres(generic.roll_diameter_um), ..Roll::default() },
            price: None,
            phenol_free: None,
        }
    }

    /// What layout and pictures need to know.
    pub fn paper(&self) -> Paper {
        Paper { width: Dots(self.dots as i32), resolution: self.resolution, dot_gain: self.dot_gain }
    }

    /// Bytes in a row of dots.
    pub fn stride(&self) -> usize {
        self.dots.div_ceil(8) as usize
    }

    /// Most rows that one raster command of this many bytes a row may hold.
    pub fn rows_of(&self, stride: u32) -> u32 {
        self.band_rows.min(self.band_bytes / stride.max(1)).max(1)
    }

    /// Rows between the head and the blade or tear bar: what a cut feeds past.
    pub fn gap_rows(&self) -> u32 {
        self.resolution.dots(self.head_to_cutter).count()
    }

    /// Dots in an inch as the trade counts them: 203 at 8 dots/mm, 180 at 180 dpi.
    pub fn dots_per_inch(&self) -> u32 {
        dots_per_inch(self.resolution)
    }

    /// Motion units that move the paper by exactly one dot. A profile is read only if this is a whole number.
    pub fn units_per_dot(&self) -> u32 {
        (self.feed_per_inch / self.dots_per_inch()).max(1)
    }
}

fn dots_per_inch(resolution: Resolution) -> u32 {
    (u64::from(resolution.dots_per_metre) * 254 / 10_000) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printable_widths_are_the_trades() {
        // 80 mm: 576 dots = 72 mm; 58 mm: 384 dots = 48 mm (vendors' command references; common practice).
        for (name, dots, mm) in [("80mm", 576, 72.0), ("58mm", 384, 48.0), ("58mm-wide", 420, 52.5), ("112mm", 832, 104.0)] {
            let profile = Profile::named(name).expect("built in");
            assert_eq!(profile.dots, dots);
            assert_eq!(profile.resolution.mm(Dots(dots as i32)), Mm::new(mm));
        }
    }

    #[test]
    fn resolution_in_the_units_of_the_trade() {
        // 203.2 dpi = 8 dots/mm exactly (arithmetic); FORMAT.md: 180 dpi = 7.09 dots/mm, motion unit 1/360 in.
        let eight = Profile::named("80mm").expect("built in");
        assert_eq!((eight.resolution.dots_per_metre, eight.dots_per_inch(), eight.units_per_dot()), (8000, 203, 1));
        let coarse = Profile::named("80mm-180").expect("built in");
        assert_eq!((coarse.resolution.dots_per_metre, coarse.dots_per_inch(), coarse.units_per_dot()), (7087, 180, 2));
    }

    #[test]
    fn paper_picks_the_generic_printer_of_that_width() {
        for (mm, name) in [(80.0, "80mm"), (79.5, "80mm"), (58.0, "58mm"), (57.0, "58mm"), (112.0, "112mm"), (110.0, "112mm")] {
            assert_eq!(Profile::for_paper(Mm::new(mm)).map(|profile| profile.name), Some(name.to_string()));
        }
        assert_eq!(Profile::for_paper(Mm::new(210.0)), None);
    }

    #[test]
    fn a_misspelt_printer_is_told_the_nearest() {
        let error = Profile::named("80-mm").expect_err("no such printer");
        assert_eq!(error.hint().as_deref(), Some("did you mean \"80mm\"?"));
    }
}
