//! The ways strip: the same small picture by every way of raster and every saving, each under its number.
//!
//! Above each picture stands its number in the printer's own letters, which every printer has; in the picture it stands again in dots.
//! What is sent is made by the very encoder that will send manuals. A picture that came out right looks like that on the screen;
//! a printer that lacks a command prints letters instead, or nothing.
//!
//! Each picture bears marks at its left and right, so that a photograph can be straightened and compared with it; before the first and
//! after the last stands a frame of marks by two ways, so that a photograph shows where the strip begins and ends.

use super::marks;
use crate::bitmap::{Bitmap, Ink};
use crate::geometry::Point;
use crate::lengths::Mm;
use crate::printer::{self, Cut, CutLine, Profile, Raster, Thrift};
use crate::strip::Strip;

/// One numbered picture.
#[derive(Clone, Debug)]
pub struct Trial {
    pub number: u32,
    /// What it tries, in a maker's words.
    pub tries: &'static str,
    /// Everything from the number above it to the end of the picture; between two chunks a pause may be made.
    pub chunks: Vec<Vec<u8>>,
    /// What comes out where it is right.
    pub picture: Bitmap,
    pub marks: Vec<Mark>,
}

/// A mark of a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mark {
    pub number: usize,
    /// Quarter turns clockwise. They tell the pairs of a picture apart, 0 is the uppermost.
    pub quarters: usize,
    /// Its left upper corner, in dots of the picture.
    pub at: Point<i32>,
}

/// A frame of marks: by rows, then by columns, for each printer knows one of them.
#[derive(Clone, Debug)]
pub struct Frame {
    pub chunks: Vec<Vec<u8>>,
    pub picture: Bitmap,
    /// By rows and by columns: the same places in the picture.
    pub marks: [Vec<Mark>; 2],
}

/// Plain bands of rows.
pub const ROWS: u32 = 1;
pub const GRAPHICS: u32 = 2;
pub const COLUMNS: u32 = 3;
/// Rows with feeds of a unit a dot, and of two.
pub const FEEDS: u32 = 4;
pub const HALF_FEEDS: u32 = 5;
/// The same among columns.
pub const COLUMN_FEEDS: u32 = 6;
pub const COLUMN_HALF_FEEDS: u32 = 7;
/// Bands as wide as their dots.
pub const BANDS: u32 = 8;
/// Stripes that pass over white, among rows and alone.
pub const STRIPES: u32 = 9;
pub const COLUMN_STRIPES: u32 = 10;
/// What is sent where nothing else is safe.
pub const RESORTS: u32 = 11;
pub const LOWEST_FIRST: u32 = 12;
pub const MIRRORED: u32 = 13;
pub const DENSITY: u32 = 14;
/// One, four and sixteen thousand bytes without a pause.
pub const BURSTS: [(u32, u32); 3] = [(15, 1024), (16, 4096), (17, 16_384)];

/// How many numbers there are, and so the place of the frame after the last; the one before the first has place 0.
pub const COUNT: usize = 17;

/// Width of what stands between two marks, of most pictures, and of those that need room, in dots: the narrowest printer of the table
/// has 384.
const BODY: u32 = 160;
const NARROW: u32 = BODY + 2 * BESIDE;
const WIDE: u32 = 384;
/// Two stripes of `ESC *`, and the height of a mark.
const HEIGHT: u32 = 48;
/// A mark, and white that parts it from what stands beside it.
const BESIDE: u32 = marks::BYTE_SIDE as u32 + 8;

/// Most bytes in a raster command and in a chunk, but for those of the bursts: as little as any printer has room for.
const ROOM: u32 = 768;
/// Rows of a burst's commands: 4080 bytes, as many as manuals are sent in.
const BURST_ROWS: u32 = 85;

/// All of them, as sent to a printer of which only the paper is known.
pub fn trials(base: &Profile) -> Vec<Trial> {
    let plain = |dots: u32, raster: Raster| plain(base, dots, raster);
    let rows = plain(NARROW, Raster::Rows);
    let halves = |profile: Profile| Profile { feed_per_inch: profile.feed_per_inch * 2, ..profile };
    let thrift = |thrift, profile: Profile| Profile { thrift, ..profile };
    let small = |number| marked(number, &cell(number, BODY, HEIGHT), &[0]);
    let columns = |dots| plain(dots, Raster::Columns);
    let mut trials = vec![
        trial(ROWS, "GS v 0, all rows at full width", &rows, small(ROWS)),
        trial(GRAPHICS, "GS ( L", &plain(NARROW, Raster::Graphics), small(GRAPHICS)),
        trial(COLUMNS, "ESC *", &columns(NARROW), small(COLUMNS)),
        trial(FEEDS, "ESC J, a unit a dot", &thrift(Thrift::Feeds, rows.clone()), gaps(FEEDS)),
        trial(HALF_FEEDS, "ESC J, two units a dot", &halves(thrift(Thrift::Feeds, rows.clone())), gaps(HALF_FEEDS)),
        trial(COLUMN_FEEDS, "ESC J among ESC *, a unit a dot", &columns(NARROW), gaps(COLUMN_FEEDS)),
        trial(COLUMN_HALF_FEEDS, "ESC J among ESC *, two units a dot", &halves(columns(NARROW)), gaps(COLUMN_HALF_FEEDS)),
        trial(BANDS, "GS P, and bands as wide as their dots", &thrift(Thrift::Bands, plain(WIDE, Raster::Rows)), wide(BANDS)),
        trial(STRIPES, "ESC $ among GS v 0", &thrift(Thrift::Stripes, plain(WIDE, Raster::Rows)), two_ends(STRIPES)),
        trial(COLUMN_STRIPES, "ESC $ among ESC *", &thrift(Thrift::Stripes, columns(WIDE)), two_ends(COLUMN_STRIPES)),
        resorts(&thrift(Thrift::Bands, rows.clone())),
        trial(LOWEST_FIRST, "the lowest bit first", &Profile { lsb_first: true, ..rows.clone() }, small(LOWEST_FIRST)),
        trial(MIRRORED, "mirrored", &Profile { mirrored: true, ..rows.clone() }, small(MIRRORED)),
        darkened(&rows),
    ];
    for ((number, bytes), (width, tops)) in
        BURSTS.into_iter().zip([(168, &[0][..]), (NARROW, &[0, 72]), (WIDE, &[0, 98, 196, 293])])
    {
        let profile = Profile { band_rows: BURST_ROWS, band_bytes: 4096, ..plain(width, Raster::Rows) };
        let tries = "so many bytes without a pause: 1024, 4096, 16384";
        let body = cell(number, width - 2 * BESIDE, bytes / profile.stride() as u32);
        let trial = trial(number, tries, &profile, marked(number, &body, tops));
        // Its number comes first; then all at once.
        let (number, burst) = trial.chunks.split_at(1);
        trials.push(Trial { chunks: vec![number.concat(), burst.concat()], ..trial });
    }
    trials
}

/// What comes before the first picture and after the last.
pub fn frames(base: &Profile) -> [Frame; 2] {
    [0, COUNT + 1].map(|place| {
        let mut picture = Bitmap::new(NARROW, HEIGHT);
        // A line that holds both ends together.
        picture.fill(BESIDE as i32, 22, BODY as i32, 4, true);
        let (mut chunks, mut both) = (Vec::new(), [Vec::new(), Vec::new()]);
        if place > 0 {
            // A printer that lost bytes still waits for the rest of a picture; another takes no notice of zeros (common practice, no source).
            chunks.extend(vec![vec![0; ROOM as usize]; (4096 / ROOM + 1) as usize]);
        }
        for (quarters, raster) in [Raster::Rows, Raster::Columns].into_iter().enumerate() {
            let mut one = picture.clone();
            both[quarters] = pair(&mut one, place, quarters, 0);
            let profile = plain(base, NARROW, raster);
            // What stands in a line that was begun is brought out first.
            chunks.push(vec![0x1B, 0x40, 0x0A]);
            chunks.extend(sent(&Strip::new(one, profile.resolution), &profile));
        }
        Frame { chunks, picture, marks: both }
    })
}

/// The printer of which only the paper is known, so many dots wide.
fn plain(base: &Profile, dots: u32, raster: Raster) -> Profile {
    Profile {
        dots,
        raster,
        thrift: Thrift::None,
        cut: Cut::None,
        cut_line: CutLine::None,
        head_to_cutter: Mm::default(),
        mirrored: false,
        lsb_first: false,
        density: None,
        settings: Vec::new(),
        feed_per_inch: base.dots_per_inch(),
        band_bytes: ROOM,
        ..base.clone()
    }
}

/// What the screen shows beside the numbers that are asked for.
pub fn sheet(trials: &[Trial]) -> Bitmap {
    let gap = 16;
    let height = trials.iter().map(|trial| trial.picture.height() + gap).sum::<u32>() + gap;
    let mut sheet = Bitmap::new(WIDE + 2 * gap, height);
    let mut y = gap;
    for trial in trials {
        sheet.put(&trial.picture, gap as i32, y as i32, Ink::Black);
        y += trial.picture.height() + gap;
    }
    sheet
}

fn trial(number: u32, tries: &'static str, profile: &Profile, (picture, marks): (Bitmap, Vec<Mark>)) -> Trial {
    let strip = printer::as_told(Strip::new(picture, profile.resolution), profile);
    let chunks = [vec![heading(number)], sent(&strip, profile)].concat();
    Trial { number, tries, chunks, picture: strip.bitmap, marks }
}

/// A picture with marks beside it, a pair from each of these rows on.
fn marked(number: u32, body: &Bitmap, tops: &[i32]) -> (Bitmap, Vec<Mark>) {
    let mut picture = Bitmap::new(body.width() + 2 * BESIDE, body.height());
    picture.put(body, BESIDE as i32, 0, Ink::Black);
    let marks = tops.iter().enumerate().flat_map(|(quarters, &top)| pair(&mut picture, number as usize, quarters, top)).collect();
    (picture, marks)
}

/// Draws a mark at the left edge of a picture and one at the right. `place`: the picture's on the strip, which is its number.
fn pair(picture: &mut Bitmap, place: usize, quarters: usize, top: i32) -> Vec<Mark> {
    let right = picture.width() as i32 - marks::BYTE_SIDE;
    let draw = |(side, x)| {
        let number = marks::SQUARES + 2 * place + side;
        marks::draw_turned(picture, number, quarters, marks::BYTE_CELL, x, top);
        Mark { number, quarters, at: Point::new(x, top) }
    };
    [0, right].into_iter().enumerate().map(draw).collect()
}

/// A strip's commands, put together to chunks of no more than a printer has room for.
fn sent(strip: &Strip, profile: &Profile) -> Vec<Vec<u8>> {
    let bands = printer::encode_in_bands(strip, profile);
    let mut chunks: Vec<Vec<u8>> = Vec::new();
    let mut from = 0;
    for end in bands.ends {
        let piece = &bands.bytes[from..end];
        match chunks.last_mut() {
            Some(chunk) if chunk.len() + piece.len() <= ROOM as usize => chunk.extend(piece),
            _ => chunks.push(piece.to_vec()),
        }
        from = end;
    }
    chunks
}

/// The number in the printer's own letters, away from the marks above and below it.
fn heading(number: u32) -> Vec<u8> {
    [&[0x1B, 0x40][..], format!("       - {number}\n").as_bytes()].concat()
}

/// Half the picture, `GS ( K` for the darkness that it has anyway, the other half: letters between them betray a printer that lacks it.
fn darkened(rows: &Profile) -> Trial {
    let (picture, marks) = marked(DENSITY, &cell(DENSITY, BODY, HEIGHT), &[0]);
    let half = |top| {
        let part = picture.part(0, top, NARROW, HEIGHT / 2);
        printer::encode(&Strip::new(part, rows.resolution), rows).split_off(2)
    };
    let chunks = vec![heading(DENSITY), half(0), vec![0x1D, 0x28, 0x4B, 2, 0, 0x31, 0], half(HEIGHT as i32 / 2)];
    Trial { number: DENSITY, tries: "GS ( K", chunks, picture, marks }
}

/// The picture, eight rows higher than its marks, then eight rows that go as slices, enough to be missed where they are not, then 24
/// rows with columns that are printed twice over (see `printer::encode`).
fn resorts(bands: &Profile) -> Trial {
    const WIDTH: u32 = 192;
    const SLICE: u32 = 8;
    let mut twice = Bitmap::new(WIDTH, 24);
    // A row and columns whose bytes are 10 04, with no room to begin elsewhere.
    for x in [3, 13] {
        twice.set(x, 0, true);
    }
    for (x, y) in (0..8).flat_map(|step| [(2 + step * 11, 3), (2 + step * 11, 13)]) {
        twice.set(x, y, true);
    }
    twice.fill(104, 8, 84, 14, true);
    // Each row spells it, so that none goes with the rows of a band.
    let mut slice = Bitmap::new(WIDTH, SLICE);
    slice.fill(104, 0, 84, SLICE as i32, true);
    for x in [3, 13] {
        slice.fill(x, 0, 1, SLICE as i32, true);
    }
    let (first, marks) = marked(RESORTS, &cell(RESORTS, BODY, HEIGHT + 8), &[0]);
    let mut picture = Bitmap::new(NARROW, first.height() + SLICE + 24);
    let mut chunks = vec![heading(RESORTS)];
    let mut y = 0;
    for part in [first, slice, twice] {
        picture.put(&part, 0, y, Ink::Black);
        y += part.height() as i32;
        let profile = Profile { dots: part.width(), ..bands.clone() };
        chunks.extend(sent(&Strip::new(part, bands.resolution), &profile));
    }
    Trial { number: RESORTS, tries: "ESC \\ and short GS ( L", chunks, picture, marks }
}

/// The small picture: a ruled square with a diagonal, the number across the seam of two bands, a counter of rows, and a block at the
/// right; a narrow one holds counter and number alone. It is nothing like its mirror, and no row of it is like the next.
fn cell(number: u32, width: u32, height: u32) -> Bitmap {
    let mut cell = Bitmap::new(width, height);
    let (w, h) = (width as i32, height as i32);
    // A saw of eight rows to the tooth.
    let mut saw = |x: i32| (0..h).for_each(|row| cell.fill(x, row, 2 + (row % 8) * 2, 1, true));
    if width < BODY {
        saw(0);
        number_at(&mut cell, number, 22, h / 2 - 10, 20);
        return cell;
    }
    saw(112);
    // Ruled.
    let side = h.min(48);
    for (x, y, across, down) in [(0, 0, side, 2), (0, h - 2, side, 2), (0, 0, 3, h), (side - 3, 0, 3, h)] {
        cell.fill(x, y, across, down, true);
    }
    for row in 0..h {
        cell.fill((row * (side - 2) / h).min(side - 2), row, 2, 1, true);
    }
    number_at(&mut cell, number, 58, (h / 2 - 13).max(0), h.min(26));
    cell.fill(w - 28, 0, 28, h, true);
    cell.fill(w - 20, 4, 8, h - 8, false);
    cell.fill(w - 12, h / 2, 12, 2, false);
    cell
}

/// The picture in a strip that is wider.
fn wide(number: u32) -> (Bitmap, Vec<Mark>) {
    let (small, marks) = marked(number, &cell(number, BODY, HEIGHT), &[0]);
    let mut wide = Bitmap::new(WIDE, HEIGHT);
    wide.put(&small, 0, 0, Ink::Black);
    (wide, marks)
}

/// The picture without its block, and that at the far right, with much white between.
fn two_ends(number: u32) -> (Bitmap, Vec<Mark>) {
    let mut body = Bitmap::new(WIDE - 2 * BESIDE, HEIGHT);
    body.put(&cell(number, BODY, HEIGHT).part(0, 0, 130, HEIGHT), 0, 0, Ink::Black);
    marked(number, &body, &[0])
}

/// The picture, then three bars: from the first to the second there are dots at the left of every row, from the second to the third
/// white that is fed. Both ways are as long. Beside the third stands another pair of marks.
fn gaps(number: u32) -> (Bitmap, Vec<Mark>) {
    let (gap, bar) = (48, 24);
    let top = HEIGHT as i32;
    let last = top + 2 * (gap + bar);
    let mut body = Bitmap::new(BODY, last as u32 + HEIGHT);
    body.put(&cell(number, BODY, HEIGHT), 0, 0, Ink::Black);
    body.fill(0, top, 8, gap + 2 * bar, true);
    for step in 0..3 {
        body.fill(0, top + step * (gap + bar), BODY as i32, bar, true);
    }
    marked(number, &body, &[0, last])
}

/// Strokes of a digit, by the seven segments a to g (common practice).
const SEGMENTS: [u8; 10] =
    [0b011_1111, 0b000_0110, 0b101_1011, 0b100_1111, 0b110_0110, 0b110_1101, 0b111_1101, 0b000_0111, 0b111_1111, 0b110_1111];

/// A number in strokes of three and four dots, `height` high from `y`.
pub fn number_at(bitmap: &mut Bitmap, number: u32, mut x: i32, y: i32, height: i32) {
    let (wide, half) = (height * 5 / 8, height / 2);
    for digit in number.to_string().bytes() {
        let strokes = [
            (0, 0, wide, 3),
            (wide - 4, 0, 4, half),
            (wide - 4, half, 4, height - half),
            (0, height - 3, wide, 3),
            (0, half, 4, height - half),
            (0, 0, 4, half),
            (0, half - 1, wide, 3),
        ];
        for (segment, (dx, dy, across, down)) in strokes.into_iter().enumerate() {
            if SEGMENTS[usize::from(digit - b'0')] >> segment & 1 == 1 {
                bitmap.fill(x + dx, y + dy, across, down, true);
            }
        }
        x += wide + 5;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::printer::decode;

    #[test]
    fn each_trial_holds_the_command_it_tries_and_comes_out_as_its_picture() {
        let base = Profile::named("80mm").expect("built in");
        for trial in trials(&base) {
            let mut sound = base.clone();
            let halves = [HALF_FEEDS, COLUMN_HALF_FEEDS].contains(&trial.number);
            (sound.lsb_first, sound.mirrored) = (trial.number == LOWEST_FIRST, false);
            sound.feed_per_inch = if halves { 406 } else { 203 };
            let seen = decode(&trial.chunks.concat(), &sound);
            let has = |name: &str| seen.commands.contains_key(name);
            let wanted: &[&str] = match trial.number {
                GRAPHICS => &["GS ( L"],
                COLUMNS => &["ESC *"],
                FEEDS | HALF_FEEDS => &["GS v 0", "ESC J"],
                COLUMN_FEEDS | COLUMN_HALF_FEEDS => &["ESC *", "ESC J"],
                BANDS => &["GS v 0", "GS P"],
                STRIPES | COLUMN_STRIPES => &["ESC *", "ESC $"],
                RESORTS => &["ESC \\", "GS ( L"],
                DENSITY => &["GS v 0", "GS ( K"],
                _ => &["GS v 0"],
            };
            assert!(wanted.iter().all(|name| has(name)), "{}: {:?}", trial.number, seen.commands);
            if ![BANDS, STRIPES, RESORTS].contains(&trial.number) {
                assert!(!has("GS v 0") || !has("ESC *"), "{}: one way at a time", trial.number);
            }
            if trial.number == MIRRORED {
                continue;
            }
            let most = trial.chunks.iter().map(Vec::len).max();
            assert!(trial.number >= BURSTS[0].0 || most.is_some_and(|most| most < 1024), "{}: {most:?}", trial.number);
            let height = trial.picture.height();
            let tail = seen.bitmap.part(0, (seen.bitmap.height() - height) as i32, trial.picture.width(), height);
            assert_eq!(tail, trial.picture, "{}", trial.number);
        }
    }

    #[test]
    fn no_two_pictures_are_alike_nor_their_own_mirror() {
        let trials = trials(&Profile::named("58mm").expect("built in"));
        for (index, one) in trials.iter().enumerate() {
            assert_ne!(one.picture, one.picture.mirrored(), "{}", one.number);
            assert!(trials[..index].iter().all(|other| other.picture != one.picture), "{}", one.number);
            assert_eq!(one.number as usize, index + 1, "numbers count");
        }
    }

    /// Where a command is lacked, its dots are taken for commands: none of them may open a drawer or wait for more than there is.
    #[test]
    fn no_dots_of_a_raster_lead_a_command() {
        let base = Profile::named("80mm").expect("built in");
        for trial in trials(&base).into_iter().filter(|trial| [ROWS, GRAPHICS, LOWEST_FIRST, MIRRORED].contains(&trial.number)) {
            let leads = |byte: &&u8| matches!(byte, 0x10 | 0x1B | 0x1C | 0x1D);
            for row in 0..trial.picture.height() {
                let sent: Vec<u8> = match trial.number {
                    LOWEST_FIRST => trial.picture.row(row).iter().map(|byte| byte.reverse_bits()).collect(),
                    MIRRORED => trial.picture.mirrored().row(row).to_vec(),
                    _ => trial.picture.row(row).to_vec(),
                };
                assert_eq!(sent.iter().find(leads), None, "{}, row {row}", trial.number);
            }
        }
    }
}
