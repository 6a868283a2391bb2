//! What a run costs before it is printed: paper and rolls, bytes, time, blackness, the height of the folded stack.
//!
//! Strips are added one by one and forgotten, so a thousand units take no more memory than one.

use super::profile::{Cut, Profile};
use super::roll::{Price, Roll};
use crate::bitmap::Bitmap;
use crate::lengths::{Dots, Mm};
use crate::strip::Strip;

/// The stretch over which blackness is looked at: what the head and the supply feel at once. 20 mm; common practice, no source.
pub const STRETCH: Mm = Mm::from_micrometres(20_000);

/// How long a cutter takes, in seconds. Common practice, no source.
const CUT_SECONDS: f64 = 0.4;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Job {
    /// Copies of every strip.
    pub copies: u64,
    /// The roll to count in; the profile's own if none is given.
    pub roll: Option<Roll>,
}

/// The answer. `rows`, `length`, `bytes`, `bytes_raw`, `panels` and `stack` are of one strip, the longest if they differ, `shortest` is
/// the length of the shortest; the rest is of all strips and copies.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    pub strips: u64,
    pub rows: u32,
    pub length: Mm,
    pub shortest: Mm,
    /// Paper used, with what each cut feeds from the head to the blade.
    pub paper_m: f64,
    /// Rolls to have ready. A strip is never begun on a roll that cannot finish it.
    pub rolls: u64,
    /// Metres on one roll.
    pub roll_m: f64,
    /// Whether a single strip is longer than a whole roll.
    pub longer_than_roll: bool,
    pub bytes: u64,
    /// The dots alone, packed, with no command and no blank row left out.
    pub bytes_raw: u64,
    pub black_percent: f64,
    /// Black share of the blackest [`STRETCH`].
    pub busiest_percent: f64,
    /// First row of that stretch.
    pub busiest_row: u32,
    pub seconds_mechanism: f64,
    pub seconds_link: f64,
    /// The slower of the two: the paper moves while the bytes arrive.
    pub seconds: f64,
    pub panels: u32,
    /// Height of the folded strip, pressed flat: panels times thickness of the paper.
    pub stack_mm: f64,
    pub cost: Option<Price>,
}

/// Adds up strips.
#[derive(Clone, Debug)]
pub struct Tally<'a> {
    profile: &'a Profile,
    copies: u64,
    roll: Roll,
    strips: u64,
    longest: Longest,
    /// Raster commands after which there is a pause.
    bands: u64,
    /// Rows of the shortest strip.
    shortest: u32,
    /// Rows fed in all, gaps included, of one copy of everything.
    rows_fed: u64,
    cuts: u64,
    bytes: u64,
    black: u64,
    dots: u64,
    busiest: (u64, u64, u32),
    rolls: Rolls,
}

#[derive(Clone, Copy, Debug, Default)]
struct Longest {
    rows: u32,
    bytes: u64,
    bytes_raw: u64,
    panels: u32,
}

/// Rolls as they are used up, strip by strip. Lengths in rows.
#[derive(Clone, Copy, Debug)]
struct Rolls {
    length: u64,
    begun: u64,
    left: u64,
    too_long: bool,
}

impl Rolls {
    fn use_up(&mut self, strip: u64, copies: u64) {
        if strip == 0 || copies == 0 {
            return;
        }
        if strip > self.length {
            self.too_long = true;
            self.begun += (strip * copies).div_ceil(self.length.max(1));
            self.left = 0;
            return;
        }
        let here = copies.min(self.left / strip);
        self.left -= here * strip;
        let rest = copies - here;
        if rest > 0 {
            let on_one = self.length / strip;
            let more = rest.div_ceil(on_one);
            self.begun += more;
            self.left = self.length - (rest - (more - 1) * on_one) * strip;
        }
    }
}

impl<'a> Tally<'a> {
    pub fn new(profile: &'a Profile, job: Job) -> Tally<'a> {
        let roll = job.roll.unwrap_or(profile.roll);
        let length = (roll.metres() * f64::from(profile.resolution.dots_per_metre)) as u64;
        Tally {
            profile,
            copies: job.copies,
            roll,
            strips: 0,
            longest: Longest::default(),
            bands: 0,
            shortest: u32::MAX,
            rows_fed: 0,
            cuts: 0,
            bytes: 0,
            black: 0,
            dots: 0,
            busiest: (0, 1, 0),
            rolls: Rolls { length, begun: 0, left: 0, too_long: false },
        }
    }

    /// Adds one strip, of which `bytes` are sent.
    pub fn add(&mut self, strip: &Strip, bytes: u64) {
        let rows = strip.bitmap.height();
        let inside = strip.cuts.iter().filter(|&&cut| cut > 0 && cut < rows).count() as u64;
        let cuts = if self.profile.cut == Cut::None { 0 } else { inside + 1 };
        let fed = u64::from(rows) + u64::from(self.profile.gap_rows()) * cuts.max(1);
        if self.strips == 0 || rows > self.longest.rows {
            let panels = strip.panels.len().max(1) as u32;
            self.longest = Longest { rows, bytes, bytes_raw: strip.bitmap.data().len() as u64, panels };
        }
        self.bands += u64::from(rows.div_ceil(self.profile.rows_of(self.profile.stride() as u32)));
        self.shortest = self.shortest.min(rows);
        self.strips += self.copies;
        self.rows_fed += fed;
        self.cuts += cuts;
        self.bytes += bytes;
        self.black += strip.bitmap.black();
        self.dots += u64::from(rows) * u64::from(strip.bitmap.width());
        let (black, dots, row) = busiest(&strip.bitmap, self.profile.resolution.dots(STRETCH).count());
        if u128::from(black) * u128::from(self.busiest.1) > u128::from(self.busiest.0) * u128::from(dots) {
            self.busiest = (black, dots, row);
        }
        self.rolls.use_up(fed, self.copies);
    }

    pub fn finish(self) -> Estimate {
        let copies = self.copies as f64;
        let metres = |rows: u64| rows as f64 / f64::from(self.profile.resolution.dots_per_metre);
        let paper_m = metres(self.rows_fed) * copies;
        let moving = metres(self.rows_fed) * 1000.0 / self.profile.speed.value();
        let seconds_mechanism = (moving + self.cuts as f64 * CUT_SECONDS) * copies;
        // Eight bits, a start and a stop (8N1): ten bits a byte.
        let pauses = self.bands as f64 * copies * f64::from(self.profile.pace_ms) / 1000.0;
        let seconds_link = self.bytes as f64 * copies / (f64::from(self.profile.baud) / 10.0) + pauses;
        let percent = |part: u64, whole: u64| if whole == 0 { 0.0 } else { part as f64 * 100.0 / whole as f64 };
        let roll_m = self.roll.metres();
        Estimate {
            strips: self.strips,
            rows: self.longest.rows,
            length: self.profile.resolution.mm(Dots(self.longest.rows as i32)),
            shortest: self.profile.resolution.mm(Dots(self.shortest.min(self.longest.rows) as i32)),
            paper_m,
            rolls: self.rolls.begun,
            roll_m,
            longer_than_roll: self.rolls.too_long,
            bytes: self.longest.bytes,
            bytes_raw: self.longest.bytes_raw,
            black_percent: percent(self.black, self.dots),
            busiest_percent: percent(self.busiest.0, self.busiest.1),
            busiest_row: self.busiest.2,
            seconds_mechanism,
            seconds_link,
            seconds: seconds_mechanism.max(seconds_link),
            panels: self.longest.panels,
            stack_mm: f64::from(self.longest.panels) * self.roll.thickness.value(),
            cost: self
                .profile
                .price
                .as_ref()
                .map(|price| Price { amount: price.amount * paper_m / roll_m, currency: price.currency.clone() }),
        }
    }
}

/// The blackest run of `stretch` rows (or all rows, of a shorter strip): its black dots, all its dots, its first row.
pub fn busiest(bitmap: &Bitmap, stretch: u32) -> (u64, u64, u32) {
    let stretch = stretch.clamp(1, bitmap.height().max(1));
    let black: Vec<u32> = (0..bitmap.height()).map(|y| bitmap.row(y).iter().map(|byte| byte.count_ones()).sum()).collect();
    let mut sum: u64 = black.iter().take(stretch as usize).map(|&row| u64::from(row)).sum();
    let mut best = (sum, 0);
    for (row, (&leaves, &enters)) in black.iter().zip(black.iter().skip(stretch as usize)).enumerate() {
        sum = sum + u64::from(enters) - u64::from(leaves);
        if sum > best.0 {
            best = (sum, row as u32 + 1);
        }
    }
    (best.0, u64::from(stretch) * u64::from(bitmap.width()), best.1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lengths::Resolution;

    #[test]
    fn a_strip_of_a_metre_on_paper_time_and_money() {
        let mut profile = Profile::named("80mm").expect("built in");
        profile.price = Some(Price { amount: 2.0, currency: "EUR".into() });
        let mut bitmap = Bitmap::new(576, 8000 - 120);
        bitmap.fill(0, 1000, 576, 80, true);
        let strip = Strip::new(bitmap, Resolution::EIGHT);
        let mut tally = Tally::new(&profile, Job { copies: 100, roll: None });
        tally.add(&strip, 115_200);
        let estimate = tally.finish();
        assert_eq!((estimate.strips, estimate.rows, estimate.length), (100, 7880, Mm::new(985.0)));
        assert_eq!(estimate.paper_m, 100.0, "985 mm and 15 mm from head to blade, a hundred times");
        assert_eq!(estimate.rolls, 2, "81 whole strips on the first roll of 81.9 m");
        assert_eq!(format!("{:.3}", estimate.seconds_mechanism), format!("{:.3}", 100.0 * (1000.0 / 150.0 + CUT_SECONDS)));
        // 115200 baud, 8N1 = 11520 bytes/s (arithmetic).
        assert_eq!(estimate.seconds_link, 1000.0);
        assert_eq!(estimate.seconds, 1000.0);
        assert_eq!(
            (estimate.busiest_percent, estimate.busiest_row),
            (50.0, 920),
            "80 of 160 rows, first window that holds them all"
        );
        assert_eq!(format!("{:.3}", estimate.black_percent), format!("{:.3}", 80.0 / 78.8));
        assert_eq!(estimate.cost.map(|cost| format!("{:.2} {}", cost.amount, cost.currency)), Some("2.44 EUR".into()));
    }

    #[test]
    fn a_mix_of_strips_says_its_shortest_and_its_longest() {
        let profile = Profile::named("80mm").expect("built in");
        let mut tally = Tally::new(&profile, Job { copies: 1, roll: None });
        for rows in [1600, 800, 1200] {
            tally.add(&Strip::new(Bitmap::new(576, rows), Resolution::EIGHT), 1);
        }
        let estimate = tally.finish();
        assert_eq!((estimate.shortest, estimate.length), (Mm::new(100.0), Mm::new(200.0)), "8 dots/mm");
    }

    #[test]
    fn no_strip_is_begun_on_a_roll_that_cannot_finish_it() {
        let mut rolls = Rolls { length: 100, begun: 0, left: 0, too_long: false };
        for (strip, copies, begun, left) in [(30, 1, 1, 70), (30, 3, 2, 70), (80, 1, 3, 20), (20, 1, 3, 0), (100, 2, 5, 0)] {
            rolls.use_up(strip, copies);
            assert_eq!((rolls.begun, rolls.left), (begun, left), "after {copies} of {strip}");
        }
        rolls.use_up(250, 1);
        assert!(rolls.too_long);
        assert_eq!(rolls.begun, 8);
    }
}
