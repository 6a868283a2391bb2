//! From a strip to the bytes that print it, each dot at its place. Never asks the printer anything and never waits.
//!
//! # The stream
//! `ESC @`, the user's settings and density if given, the strip, a cut where the strip is cut, and at the end a feed to the
//! cutter with the cut, or a feed to the tear bar.
//!
//! A printer of which nothing is known ([`Thrift::None`], the default) gets every row in the order of the strip, in bands of full
//! width and one way of raster ([`plain`]); the rows to the tear bar are blank rows of that raster too, for nothing says how far
//! its feeds go. With [`Thrift::Feeds`] blank rows are fed. All below is for printers whose file asks for more: `GS P`, where the
//! feed's unit can be said in a byte, then the pieces that `plan` chose, feeds for blank rows and bands of raster for the rest.
//!
//! # Thrift
//! White is not sent where it can be helped, because a serial line is slower than the paper. A band is only as wide as its dots
//! reach, and a new one is begun where that saves more than a start. In the way of rows, where 24 rows are clearly shorter as a
//! stripe of `columns` whose white gaps are passed over by `ESC $`, they go as one, if [`Thrift::Stripes`] allows it. A band
//! never begins right of the margin and no dot is ever doubled by the printer: printers differ there.
//!
//! # Real-time commands
//! A printer acts on `10 04 n`, `10 05 n` and `10 14 n` wherever they stand, in picture data too (vendors' command
//! references). So no stream made here holds the byte 10 followed by 04, 05 or 14, neither inside a command nor across two:
//! - Every command begins with `1B`, `1D` or `0A`, so a command's last byte can't complete the pair with the next one.
//! - A pair across the ends of two rows is parted by starting a new band between them.
//! - A band height that would spell the pair in the command's header is lowered.
//! - A row that holds the pair inside itself can't be sent as rows. In the `graphics` way it is sent as `slices`: graphics in
//!   column order, three rows high, whose bytes have only their top three bits and so are never 10. In the other ways it is
//!   covered by a `columns` stripe of 24 rows that begins at an offset where no column holds the pair; between two columns
//!   the pair is parted by starting `ESC *` anew. A stripe sent for thrift alone begins only where no column holds the pair.
//! - A width or a place that would spell the pair in a header is gone round: the next wider band, the place one dot before.
//! - If every offset is bad, the columns that hold the pair are printed twice over, once with their outer and once with their
//!   middle byte, with `ESC \ -1` between. That asks of the printer that it adds dots when it is moved back within a line.
//!   Text, drawings and dithers up to a mid grey need none of it; a light grey (single dots four to eight apart) needs it in
//!   about one column of two hundred. A printer that replaces instead of adding loses a dot or two there, one that does not
//!   move back shifts the rest of those 24 rows by a dot.
//! - Where stripes can't be fitted (a piece of strip shorter than 24 rows, 3 mm, or pairs so dense that the rows left over
//!   between the last stripe and a cut hold one too) those few rows are sent as slices in every way.
//!
//! # What is asked of the printer
//! `ESC J` and `ESC 3` count in vertical motion units. Where the profile says 203 (8 dots/mm) the unit is set by `GS P`, so
//! that one unit is one dot; where it says more than a byte holds (360), and with thrift "feeds", it must be what the printer
//! starts with. `ESC $` counts
//! in horizontal units and is sent only where `GS P` has made them dots. A raster narrower than the head is printed from the
//! left margin, so a profile's settings may not centre. A stripe of `ESC *` advances by its 24 rows, never less: a line head
//! can't go back. `columns` prints dots in stripes of 24 by the head's own pitch (m = 33), the same dots in the same places
//! as the raster ways. Rows that fill no stripe, because a cut follows within 24 rows and no blank rows are near, go as
//! `GS v 0` in that way too.

mod columns;
mod cut_line;
mod graphics;
mod piece;
pub mod plain;
mod plan;
mod rows;
mod slices;
mod stripe_price;

use super::profile::{Cut, CutCommand, Profile, Raster, Thrift};
use crate::bitmap::Bitmap;
use crate::strip::Strip;
use piece::{Band, Piece};

/// A strip as bytes, with the places where it may be interrupted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bands {
    pub bytes: Vec<u8>,
    /// Offsets, rising, after which a whole command has ended and no line is half filled: a status question may be put there.
    /// The last one is the length of `bytes`.
    pub ends: Vec<usize>,
    /// The end of the last command that puts dots on paper, one of `ends`; only feeds and cuts follow. Zero for a blank strip.
    pub dots_end: usize,
}

/// The bytes that print `strip`, as this printer can be told it: [`plain::as_told`].
///
/// # Panics
/// When the strip is not as wide as the printer prints: it was painted for another one.
pub fn encode(strip: &Strip, profile: &Profile) -> Vec<u8> {
    encode_in_bands(strip, profile).bytes
}

/// What brings a printer that stands between two commands back to its start, and the paper under its head out: `ESC @`, then its own
/// way to end a strip.
pub fn ejecting(profile: &Profile) -> Vec<u8> {
    let mut stream = Stream { bytes: vec![0x1B, 0x40], ends: Vec::new(), dots_end: 0 };
    stream.cut(profile);
    stream.bytes
}

/// The bytes that print `strip`, and where they may be interrupted.
///
/// # Panics
/// When the strip is not as wide as the printer prints: it was painted for another one.
pub fn encode_in_bands(strip: &Strip, profile: &Profile) -> Bands {
    assert_eq!(strip.bitmap.width(), profile.dots, "the strip was painted for another printer");
    let mut stream = Stream { bytes: Vec::with_capacity(strip.bitmap.data().len() / 2 + 64), ends: Vec::new(), dots_end: 0 };
    let told = plain::changes(strip, profile).then(|| plain::as_told(strip.clone(), profile));
    let strip = told.as_ref().unwrap_or(strip);
    let mirrored = profile.mirrored.then(|| Strip { bitmap: strip.bitmap.mirrored(), ..strip.clone() });
    let strip = mirrored.as_ref().unwrap_or(strip);
    stream.open(profile);
    for (top, bottom) in plain::regions(strip, profile) {
        stream.region(strip, profile, top, bottom);
        if bottom < strip.bitmap.height() {
            stream.cut(profile);
        }
    }
    stream.cut(profile);
    Bands { bytes: stream.bytes, ends: stream.ends, dots_end: stream.dots_end }
}

/// Whether a printer would act on something inside these bytes: 10 followed by 04, 05 or 14.
pub fn spells_real_time(bytes: &[u8]) -> bool {
    // Folding without a way out lets the compiler look at many bytes at once.
    bytes.iter().zip(bytes.iter().skip(1)).fold(false, |found, (&a, &b)| found | is_pair(a, b))
}

fn is_pair(a: u8, b: u8) -> bool {
    (a == 0x10) & ((b == 0x04) | (b == 0x05) | (b == 0x14))
}

/// Whether a width can stand in the headers of all raster commands without spelling a real-time command.
pub fn width_is_sayable(dots: u32) -> bool {
    [dots, dots + slices::HEAD, dots.div_ceil(8)].iter().all(|&number| !spells_real_time(&number.to_le_bytes()))
}

/// The byte as it is sent: turned round for printers that want the lowest bit first.
fn sent(byte: u8, lsb_first: bool) -> u8 {
    if lsb_first { byte.reverse_bits() } else { byte }
}

/// Motion units across and down that `GS P` can say, so that a unit across is a dot and a dot is whole units down.
fn units_per_inch(profile: &Profile) -> Option<[u8; 2]> {
    Some([u8::try_from(profile.dots_per_inch()).ok()?, u8::try_from(profile.feed_per_inch).ok()?])
}

/// Whether the strip is sent plainly, as [`plain`] says.
fn is_plain(profile: &Profile) -> bool {
    matches!(profile.thrift, Thrift::None | Thrift::Feeds)
}

/// Whether stripes pass over white by `ESC $`, which counts in units across.
fn passes_white(profile: &Profile) -> bool {
    profile.thrift == Thrift::Stripes && units_per_inch(profile).is_some()
}

struct Stream {
    bytes: Vec<u8>,
    ends: Vec<usize>,
    dots_end: usize,
}

impl Stream {
    fn open(&mut self, profile: &Profile) {
        self.bytes.extend([0x1B, 0x40]);
        self.bytes.extend(&profile.settings);
        if let Some(density) = profile.density {
            self.bytes.extend([0x1D, 0x28, 0x4B, 0x02, 0x00, 0x31, density as u8]);
        }
        if let Some([across, down]) = units_per_inch(profile).filter(|_| !is_plain(profile)) {
            self.bytes.extend([0x1D, 0x50, across, down]);
        }
        self.end();
    }

    /// Rows `top..bottom` of the strip.
    fn region(&mut self, strip: &Strip, profile: &Profile, top: u32, bottom: u32) {
        let mut spaced = false;
        let mut row = top;
        let pieces = if is_plain(profile) {
            plain::cover(&strip.bitmap, profile, top, bottom)
        } else {
            plan::plan(&strip.bitmap, profile, top, bottom)
        };
        for piece in pieces {
            let from = row;
            row += piece.rows();
            match piece {
                Piece::Feed { rows } => {
                    self.feed(profile, rows);
                    continue;
                }
                Piece::Band(band) => self.band(&strip.bitmap, profile, band),
                Piece::Slice { top, rows } => slices::write(self, &strip.bitmap, profile, top, rows),
                Piece::Stripe { top } => {
                    if !spaced {
                        self.bytes.extend([0x1B, 0x33, (columns::ROWS * profile.units_per_dot()) as u8]);
                        spaced = true;
                    }
                    columns::write(self, &strip.bitmap, profile, top);
                }
            }
            // Plainly sent, white is raster too.
            if !is_plain(profile) || (from..row).any(|y| !strip.bitmap.row_is_blank(y)) {
                self.dots_end = self.bytes.len();
            }
        }
    }

    fn band(&mut self, bitmap: &Bitmap, profile: &Profile, band: Band) {
        match profile.raster {
            Raster::Graphics => graphics::write(self, bitmap, profile, band),
            Raster::Rows | Raster::Columns => rows::write(self, bitmap, profile, band),
        }
    }

    /// Moves the paper by whole rows: `ESC J`, as often as its byte needs.
    fn feed(&mut self, profile: &Profile, mut rows: u32) {
        let units = profile.units_per_dot();
        while rows > 0 {
            let step = rows.min(255 / units);
            self.bytes.extend([0x1B, 0x4A, (step * units) as u8]);
            self.end();
            rows -= step;
        }
    }

    fn cut(&mut self, profile: &Profile) {
        let byte = |partial: u8| if profile.cut == Cut::Partial { partial } else { partial - 1 };
        match (profile.cut, profile.cut_command) {
            (Cut::None, _) => self.gap(profile),
            (_, CutCommand::Cut) => {
                self.gap(profile);
                self.bytes.extend([0x1D, 0x56, byte(1)]);
            }
            (_, CutCommand::FeedAndCut) => self.bytes.extend([0x1D, 0x56, byte(0x42), 0x00]),
        }
        self.end();
    }

    /// Moves the last row to the blade or the tear bar. Nothing says in which unit an unknown printer feeds, so it gets white rows.
    fn gap(&mut self, profile: &Profile) {
        if profile.thrift != Thrift::None || profile.raster == Raster::Columns {
            return self.feed(profile, profile.gap_rows());
        }
        let blank = Bitmap::new(profile.dots, profile.gap_rows());
        self.band(&blank, profile, Band { top: 0, rows: blank.height(), stride: blank.stride() as u32 });
    }

    fn end(&mut self) {
        if self.ends.last() != Some(&self.bytes.len()) {
            self.ends.push(self.bytes.len());
        }
    }
}
