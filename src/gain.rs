//! How much darker than asked a tone comes out on paper: one number, or a curve.
//!
//! Points are percent of ink asked and percent of darkness seen, in tenths. Every machine computes the same: sums, products and
//! quotients of IEEE 754 doubles, powers by `libm`.

/// Most points of a curve.
pub const MOST: usize = 16;

/// Dot gain (the term of Yule and Nielsen): what is known of how tones come out.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct DotGain {
    /// Asked and seen, in thousandths of full ink, rising in both; those past `count` are 0.
    points: [[u16; 2]; MOST],
    /// None: the number below holds.
    count: u8,
    /// How much darker than asked a mid grey comes out, in thousandths.
    half: u16,
}

impl DotGain {
    /// One number: so many thousandths darker at half ink (120 = 12 %), by the model of Yule and Nielsen everywhere else. More
    /// than 450 counts as 450.
    pub const fn at_half(thousandths: u16) -> DotGain {
        DotGain { points: [[0; 2]; MOST], count: 0, half: thousandths }
    }

    /// A curve through points of thousandths asked and seen, and through nothing and full ink.
    ///
    /// # Errors
    /// Words, when there are none or more than [`MOST`], when they do not rise in both, or do not lie between 0 and 1000.
    pub fn curve(through: &[[u16; 2]]) -> Result<DotGain, String> {
        if through.is_empty() || through.len() > MOST {
            return Err(format!("a curve has from 1 to {MOST} points"));
        }
        let mut before = [0, 0];
        for point in through {
            if point[0] <= before[0] || point[1] <= before[1] || point[0] >= 1000 || point[1] >= 1000 {
                return Err("points lie between 0 and 100 percent, and both numbers rise from each to the next".to_string());
            }
            before = *point;
        }
        let mut points = [[0; 2]; MOST];
        points[..through.len()].copy_from_slice(through);
        let mut gain = DotGain { points, count: through.len() as u8, half: 0 };
        let seen = gain.seen(0.5);
        gain.half = ((seen - 0.5).max(0.0) * 1000.0 + 0.5) as u16;
        Ok(gain)
    }

    /// The points of a curve, in thousandths; none for a number.
    pub fn points(&self) -> &[[u16; 2]] {
        &self.points[..usize::from(self.count)]
    }

    /// How much darker than asked a mid grey comes out, in thousandths. A curve that is lighter there says 0.
    pub fn half(&self) -> u16 {
        self.half
    }

    /// How dark paper is, 0 to 1, where a share of it is asked to be inked.
    pub fn seen(&self, asked: f64) -> f64 {
        match self.count {
            0 => 1.0 - libm::pow(1.0 - asked.clamp(0.0, 1.0), self.exponent()),
            _ => between(&self.rising(0, 1), asked),
        }
    }

    /// The share of ink to ask for, 0 to 1, so that paper is so dark.
    pub fn asked(&self, seen: f64) -> f64 {
        match self.count {
            0 => 1.0 - libm::pow(1.0 - seen.clamp(0.0, 1.0), 1.0 / self.exponent()),
            _ => between(&self.rising(1, 0), seen),
        }
    }

    /// The exponent of Yule and Nielsen: ink on a share `a` of the paper leaves the light `(1 - a)^n`, and at half ink that shall
    /// be `0.5 - gain`.
    pub fn exponent(&self) -> f64 {
        -libm::log2(0.5 - f64::from(self.half.min(450)) / 1000.0)
    }

    /// The points as shares, with both ends.
    fn rising(&self, x: usize, y: usize) -> Vec<[f64; 2]> {
        let share = |thousandths: u16| f64::from(thousandths) / 1000.0;
        let inner = self.points().iter().map(|point| [share(point[x]), share(point[y])]);
        std::iter::once([0.0, 0.0]).chain(inner).chain([[1.0, 1.0]]).collect()
    }
}

impl From<u16> for DotGain {
    fn from(thousandths: u16) -> DotGain {
        DotGain::at_half(thousandths)
    }
}

impl std::fmt::Debug for DotGain {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.count {
            0 => write!(out, "{}", self.half),
            _ => write!(out, "{:?}", self.points()),
        }
    }
}

/// A monotone curve through rising points: cubic pieces whose slopes are harmonic means of those beside them, so that it never
/// turns back between two points (Fritsch and Butland 1984, "A method for constructing local monotone piecewise cubic interpolants").
fn between(points: &[[f64; 2]], x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    let last = points.len() - 2;
    let at = points.windows(2).position(|pair| x <= pair[1][0]).unwrap_or(last);
    let steep = |at: usize| (points[at + 1][1] - points[at][1]) / (points[at + 1][0] - points[at][0]);
    let slope = |node: usize| match node {
        0 => steep(0),
        node if node > last => steep(last),
        node => {
            let (left, right) = (points[node][0] - points[node - 1][0], points[node + 1][0] - points[node][0]);
            let weight = (left + 2.0 * right) / (3.0 * (left + right));
            let (before, after) = (steep(node - 1), steep(node));
            before * after / (weight * after + (1.0 - weight) * before)
        }
    };
    let [[x0, y0], [x1, y1]] = [points[at], points[at + 1]];
    let width = x1 - x0;
    let t = (x - x0) / width;
    let (t2, t3) = (t * t, t * t * t);
    y0 * (2.0 * t3 - 3.0 * t2 + 1.0)
        + y1 * (3.0 * t2 - 2.0 * t3)
        + width * slope(at) * (t3 - 2.0 * t2 + t)
        + width * slope(at + 1) * (t3 - t2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_met_at_half_ink() {
        for gain in [0u16, 60, 120, 250, 400, 999] {
            let seen = DotGain::at_half(gain).seen(0.5);
            assert!((seen - 0.5 - f64::from(gain.min(450)) / 1000.0).abs() < 1e-12, "{gain}: {seen}");
        }
    }

    #[test]
    fn a_curve_goes_through_its_points_rises_and_leads_back() {
        // FORMAT.md, "Making a printer ready": [[10, 16], [25, 38], [50, 64], [75, 86]].
        let curve = DotGain::curve(&[[100, 160], [250, 380], [500, 640], [750, 860]]).expect("a curve");
        assert_eq!(curve.half(), 140);
        for [asked, seen] in [[0.0, 0.0], [0.1, 0.16], [0.25, 0.38], [0.5, 0.64], [0.75, 0.86], [1.0, 1.0]] {
            assert!((curve.seen(asked) - seen).abs() < 1e-12 && (curve.asked(seen) - asked).abs() < 1e-12, "{asked}");
        }
        for step in 0..1000 {
            let (a, b) = (f64::from(step) / 1000.0, f64::from(step + 1) / 1000.0);
            assert!(curve.seen(a) < curve.seen(b) && curve.asked(a) < curve.asked(b), "{a}");
            assert!((curve.seen(curve.asked(a)) - a).abs() < 0.004, "{a}");
        }
        // A straight line stays one, and flat steps beside steep ones do not overshoot.
        let straight = DotGain::curve(&[[200, 200], [700, 700]]).expect("a curve");
        assert!((0..=100).all(|step| (straight.seen(f64::from(step) / 100.0) - f64::from(step) / 100.0).abs() < 1e-12));
        let uneven = DotGain::curve(&[[100, 500], [800, 510], [900, 990]]).expect("a curve");
        assert!((0..1000).all(|step| uneven.seen(f64::from(step) / 1000.0) <= uneven.seen(f64::from(step + 1) / 1000.0)));
    }

    #[test]
    fn points_that_make_no_curve_are_refused() {
        for wrong in [&[][..], &[[500, 400], [400, 600]], &[[500, 500], [600, 500]], &[[0, 10]], &[[10, 1000]], &[[1; 2]; 17]] {
            assert!(DotGain::curve(wrong).is_err(), "{wrong:?}");
        }
    }
}
