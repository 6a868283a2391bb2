//! Comics: each panel a drawing of its own, its lettering text over the picture.

use super::Writing;
use super::embedded::Embedded;
use super::figures::lettering;
use crate::geometry::Size;
use crate::manual::document::{Balloon, BalloonKind, Comic, ComicPanel, Fit, Ground, Inline, InlineKind, PanelHeight};

/// Width of a panel that has half of the column, in units of its drawing; one that has all of it is wider by the gap between two.
const HALF: i64 = 1000;
const WHOLE: i64 = 2040;
/// Size of the letters and distance of their lines.
const LETTERS: i64 = 72;
const LEADING: i64 = 84;
/// White that a balloon keeps from the frame.
const EDGE: i64 = 14;
/// Width of half a column of a strip of 80 mm and of all of it, in mm.
const STRIP: [f64; 2] = [35.0, 72.0];

/// A balloon with its place: its middle, and half its width and height with its white.
struct Placed<'b> {
    balloon: &'b Balloon,
    lines: Vec<String>,
    /// For each letter that is no white, whether it is stressed.
    stressed: Vec<bool>,
    /// Height of the letters, units.
    letters: i64,
    at: [i64; 2],
    half: [i64; 2],
}

impl Writing<'_> {
    pub(super) fn comic(&mut self, comic: &Comic) {
        let columns = comic.columns.clamp(1, 2);
        self.page.open("div", &[("class", if columns == 2 { "comic two" } else { "comic" })]);
        let mut free = 0;
        for (n, panel) in comic.panels.iter().enumerate() {
            let takes = panel.columns.clamp(1, columns);
            // A panel that has a row to itself fills it.
            let starts = takes > free;
            let next = comic.panels.get(n + 1).map_or(u8::MAX, |next| next.columns.clamp(1, columns));
            let wide = takes == columns || (starts && next > columns - takes);
            free = if wide {
                0
            } else if starts {
                columns - takes
            } else {
                free - takes
            };
            self.panel(panel, wide);
        }
        self.page.close();
    }

    fn panel(&mut self, panel: &ComicPanel, wide: bool) {
        self.page.open("figure", &[("class", if wide { "panel all" } else { "panel" })]);
        if let Some(caption) = &panel.caption {
            self.page.element("figcaption", &[], caption);
        }
        let width = if wide { WHOLE } else { HALF };
        let own = panel.picture.as_deref().map(|address| self.gallery.get(address, None).map(Embedded::size));
        let natural = match own {
            Some(Ok(Size { width: w, height: h })) => width * i64::from(h) / i64::from(w.max(1)),
            Some(Err(_)) => width / 5,
            None => width * 3 / 5,
        };
        let asked = panel.height.map(|height| match height {
            PanelHeight::Length(height) => (height.value() * width as f64 / STRIP[usize::from(wide)]) as i64,
            PanelHeight::Aspect([wide, high]) => width * i64::from(high) / i64::from(wide.max(1)),
        });
        let height = asked.unwrap_or(natural).clamp(width / 20, width * 8);
        let placed = stage(&panel.balloons, [width, height]);
        // Much to say makes a panel higher: what is said stands above the picture.
        let low = placed.iter().map(|placed| placed.at[1] + placed.half[1] + EDGE).max().unwrap_or(0);
        let whole = height.max(low);
        let lacking = matches!(own, Some(Err(_)));
        if lacking && let Some(address) = &panel.picture {
            if !panel.alt.is_empty() {
                self.page.element("p", &[("class", "alt")], &panel.alt);
            }
            let error = self.gallery.get(address, None).err().cloned();
            self.lack(address, &error.as_ref().map_or_else(String::new, |error| error.why()));
            error.into_iter().for_each(|error| self.note(error.remark(panel.picture_span)));
        }
        if !lacking || !placed.is_empty() {
            let view = format!("0 0 {width} {whole}");
            let mut attributes = vec![("viewBox", view.as_str())];
            if !panel.alt.trim().is_empty() && !lacking {
                attributes.extend([("role", "group"), ("aria-label", panel.alt.as_str())]);
            }
            self.page.open("svg", &attributes);
            self.ground(panel, [width, whole]);
            self.stage_picture(panel, [width, height], whole - height);
            // Tails first, so that none of them runs over another balloon's words.
            placed.iter().for_each(|placed| self.balloon(placed, [width, height]));
            self.page.close();
        }
        self.page.close();
    }

    fn stage_picture(&mut self, panel: &ComicPanel, [width, height]: [i64; 2], top: i64) {
        let Some(address) = panel.picture.as_deref() else { return };
        let fit = if panel.fit == Fit::Cover { "xMidYMid slice" } else { "xMidYMid" };
        let [top, width, height] = [top, width, height].map(|side| side.to_string());
        let mut room = vec![("x", "0"), ("y", &*top), ("width", &*width), ("height", &*height), ("preserveAspectRatio", fit)];
        match self.gallery.get(address, None) {
            Ok(Embedded::Pixels { address, .. }) => {
                room.extend([("href", address.as_str()), ("aria-hidden", "true")]);
                self.page.element("image", &room, "");
            }
            Ok(Embedded::Outlines(outlines)) => {
                let view = outlines.shown.join(" ");
                room.push(("viewBox", &view));
                self.page.open("svg", &room);
                self.gallery.draw(&mut self.page, address, None, outlines);
                self.page.close();
            }
            Err(_) => {}
        }
    }

    /// What is drawn behind a panel without a picture.
    fn ground(&mut self, panel: &ComicPanel, [width, height]: [i64; 2]) {
        if panel.picture.is_some() {
            return;
        }
        let mut path = String::new();
        match panel.ground {
            Ground::Plain => return,
            Ground::Dots => {
                for y in (20..height).step_by(40) {
                    (20..width).step_by(40).for_each(|x| path.push_str(&format!("M{x} {y}h0")));
                }
            }
            Ground::Hatch => (0..width + height).step_by(36).for_each(|x| path.push_str(&format!("M{x} 0l-{height} {height}"))),
            Ground::Rays => {
                let middle = [width / 2, height / 2];
                for n in 0..48 {
                    let turn = f64::from(n) * std::f64::consts::TAU / 48.0;
                    let reach = |from: f64| {
                        let along = (width + height) as f64 * from;
                        [middle[0] as f64 + libm::cos(turn) * along, middle[1] as f64 + libm::sin(turn) * along]
                            .map(|side| libm::round(side) as i64)
                    };
                    let ([x1, y1], [x2, y2]) = (reach(if n % 2 == 0 { 0.22 } else { 0.28 }), reach(1.0));
                    path.push_str(&format!("M{x1} {y1}L{x2} {y2}"));
                }
            }
        }
        let class = if panel.ground == Ground::Dots { "ground dots" } else { "ground" };
        self.page.element("path", &[("class", class), ("d", &path)], "");
    }

    fn balloon(&mut self, placed: &Placed, panel: [i64; 2]) {
        let balloon = placed.balloon;
        let [x, y] = placed.at;
        let class = match (balloon.kind, balloon.reverse) {
            (BalloonKind::Sound, _) if balloon.sound.outline => "sound outline",
            (BalloonKind::Sound, true) => "sound reverse",
            (BalloonKind::Sound, false) => "sound",
            (BalloonKind::Whisper, false) => "balloon whisper",
            (BalloonKind::Whisper, true) => "balloon whisper reverse",
            (_, true) => "balloon reverse",
            (_, false) => "balloon",
        };
        self.page.open("g", &[("class", class)]);
        if balloon.kind != BalloonKind::Sound {
            let tail = balloon.tail.map(|at| [i64::from(at.x) * panel[0] / 1000, i64::from(at.y) * panel[1] / 1000]);
            // First all of it as a line, then all of it as ground: so that tail and balloon have one outline.
            for class in ["edge", "fill"] {
                self.page.open("g", &[("class", class)]);
                self.shape(placed);
                if let Some(tip) = tail {
                    self.tail(placed, tip);
                }
                self.page.close();
            }
        }
        let size = placed.letters.to_string();
        let middle = x.to_string();
        let first = y - (placed.lines.len() as i64 - 1) * placed.letters * LEADING / LETTERS / 2 + placed.letters * 35 / 100;
        let rise = -libm::atan(f64::from(balloon.sound.rise) / 100.0).to_degrees();
        let turn = format!("rotate({} {x} {y})", libm::round(rise * 10.0) / 10.0);
        let mut attributes = vec![("text-anchor", "middle"), ("font-size", size.as_str())];
        if balloon.kind == BalloonKind::Sound {
            attributes.extend([("transform", turn.as_str()), ("paint-order", "stroke")]);
        }
        self.page.open("text", &attributes);
        let mut stressed = placed.stressed.iter().copied();
        for (n, line) in placed.lines.iter().enumerate() {
            let at = (first + n as i64 * placed.letters * LEADING / LETTERS).to_string();
            if n > 0 {
                // A reader's program reads words that are parted by lines as parted.
                self.page.text(" ");
            }
            self.page.open("tspan", &[("x", &middle), ("y", &at)]);
            for (part, stress) in parts(line, &mut stressed) {
                match stress {
                    true => self.page.element("tspan", &[("class", "stress")], &part),
                    false => self.page.text(&part),
                }
            }
            self.page.close();
        }
        self.page.close();
        self.page.close();
    }

    fn shape(&mut self, placed: &Placed) {
        let ([x, y], [a, b]) = (placed.at, placed.half);
        let shape = match placed.balloon.kind {
            BalloonKind::Shout => {
                let point = |n: i64| {
                    let turn = n as f64 * std::f64::consts::TAU / 28.0;
                    let (across, down) = if n % 2 == 0 { (a + 46, b + 40) } else { (a + 4, b + 2) };
                    let place = [x as f64 + libm::cos(turn) * across as f64, y as f64 + libm::sin(turn) * down as f64];
                    let [x, y] = place.map(|side| libm::round(side) as i64);
                    format!("{x},{y}")
                };
                let points: Vec<String> = (0..28).map(point).collect();
                return self.page.element("polygon", &[("points", &points.join(" "))], "");
            }
            _ => [x - a, y - b, a * 2, b * 2, b.min(a).min(110)].map(|side| side.to_string()),
        };
        let [left, top, width, height, round] = shape.each_ref().map(String::as_str);
        self.page.element("rect", &[("x", left), ("y", top), ("width", width), ("height", height), ("rx", round)], "");
    }

    /// From inside the balloon to what speaks; of a thought, circles on the way.
    fn tail(&mut self, placed: &Placed, tip: [i64; 2]) {
        let [x, y] = placed.at;
        let (dx, dy) = ((tip[0] - x) as f64, (tip[1] - y) as f64);
        let long = libm::hypot(dx, dy);
        if long < 1.0 {
            return;
        }
        let (ux, uy) = (dx / long, dy / long);
        // Where the way leaves the balloon.
        let [a, b] = placed.half.map(|side| side as f64);
        let out = (a / ux.abs().max(1e-9)).min(b / uy.abs().max(1e-9)).min(long);
        let at = |along: f64, aside: f64| [x as f64 + ux * along - uy * aside, y as f64 + uy * along + ux * aside];
        if placed.balloon.kind == BalloonKind::Thought {
            for (share, radius) in [(0.22, 24.0), (0.56, 17.0), (0.86, 11.0)] {
                let place = at(out + (long - out) * share, 0.0).map(|side| (libm::round(side) as i64).to_string());
                let radius = (radius as i64).to_string();
                self.page.element("circle", &[("cx", &place[0]), ("cy", &place[1]), ("r", &radius)], "");
            }
            return;
        }
        let root = (out - 30.0).max(0.0);
        let points = [at(root, 30.0), at(long, 0.0), at(root, -30.0)];
        let points: Vec<String> = points.iter().map(|at| format!("{},{}", libm::round(at[0]), libm::round(at[1]))).collect();
        self.page.element("polygon", &[("points", &points.join(" "))], "");
    }
}

/// Balloons where the writer put them, inside the frame, each below those before that it would lie on.
fn stage(balloons: &[Balloon], [width, height]: [i64; 2]) -> Vec<Placed<'_>> {
    let mut placed: Vec<Placed> = Vec::new();
    for balloon in balloons {
        let sound = balloon.kind == BalloonKind::Sound;
        let letters = if sound { LETTERS * i64::from(balloon.sound.size) / 100 } else { LETTERS };
        let mut own = Vec::new();
        lettering(&balloon.words, &mut own);
        if own.iter().all(|line| line.trim().is_empty()) {
            own = vec![balloon.text.clone()];
        }
        let mut stressed = Vec::new();
        stress(&balloon.words, false, &mut stressed);
        let lines = broken(&own, letters, width * 84 / 100);
        let widest = lines.iter().map(|line| measure(line, letters)).max().unwrap_or(0);
        let (side, above) = if sound { (0, 0) } else { (letters * 55 / 100, letters * 45 / 100) };
        let half = [widest / 2 + side, lines.len() as i64 * letters * LEADING / LETTERS / 2 + above];
        let mut at = [i64::from(balloon.at.x) * width / 1000, i64::from(balloon.at.y) * height / 1000];
        at[0] = at[0].clamp((half[0] + EDGE).min(width / 2), (width - half[0] - EDGE).max(width / 2));
        at[1] = at[1].clamp(half[1] + EDGE, (height - half[1] - EDGE).max(half[1] + EDGE));
        for before in &placed {
            let apart = |axis: usize| (at[axis] - before.at[axis]).abs() >= half[axis] + before.half[axis] + EDGE;
            if !apart(0) && !apart(1) {
                at[1] = before.at[1] + before.half[1] + half[1] + EDGE;
            }
        }
        placed.push(Placed { balloon, lines, stressed, letters, at, half });
    }
    placed
}

/// For each letter of a balloon's words that is no white, as [`lettering`] gives them, whether it is stressed.
fn stress(inlines: &[Inline], on: bool, out: &mut Vec<bool>) {
    for inline in inlines {
        let on = on || matches!(inline.kind, InlineKind::Strong(_) | InlineKind::Emphasis(_));
        let letters = match &inline.kind {
            InlineKind::Text(text) | InlineKind::Key(text) => text.as_str(),
            InlineKind::Picture(picture) => picture.alt.as_str(),
            _ => "",
        };
        out.extend(letters.chars().filter(|letter| !letter.is_whitespace()).map(|_| on));
        inline.inner().into_iter().for_each(|inner| stress(inner, on, out));
    }
}

/// A line in stretches that are stressed or not; white goes with the letter before it.
fn parts(line: &str, stressed: &mut impl Iterator<Item = bool>) -> Vec<(String, bool)> {
    let mut parts: Vec<(String, bool)> = Vec::new();
    for letter in line.chars() {
        let own = if letter.is_whitespace() { None } else { stressed.next() };
        match parts.last_mut() {
            Some((part, on)) if own.is_none_or(|own| own == *on) => part.push(letter),
            _ => parts.push((letter.to_string(), own.unwrap_or(false))),
        }
    }
    parts
}

/// Lines of about the same width, about twice as wide together as high, none wider than there is room.
fn broken(own: &[String], letters: i64, most: i64) -> Vec<String> {
    let mut lines = Vec::new();
    for text in own {
        let all = measure(text, letters);
        let wanted = (all * letters * 3).isqrt().max(letters * 5).min(most);
        let count = (all + wanted - 1) / wanted.max(1);
        // Even lines look better than a short last one.
        let even = if count > 1 { (all / count + letters).min(most) } else { most };
        let mut line = String::new();
        for word in text.split_whitespace() {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if !line.is_empty() && measure(&longer, letters) > even {
                lines.push(std::mem::take(&mut line));
                line.push_str(word);
            } else {
                line = longer;
            }
            // What has no spaces is parted where it must be.
            while measure(&line, letters) > most {
                let mut part = String::new();
                let fits = line.chars().take_while(|&letter| {
                    part.push(letter);
                    measure(&part, letters) <= most
                });
                let count = fits.count().max(1);
                let at = line.char_indices().nth(count).map_or(line.len(), |(at, _)| at);
                let rest = line.split_off(at);
                lines.push(std::mem::replace(&mut line, rest));
                if line.is_empty() {
                    break;
                }
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
    }
    lines
}

/// About how wide bold letters are: a reader's faces are not known, so a little more than most need.
fn measure(text: &str, letters: i64) -> i64 {
    let share = |letter: char| match letter {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '!' | '|' | '\'' | '’' => 38,
        't' | 'f' | 'r' | '(' | ')' | ' ' | '-' => 46,
        'm' | 'w' | 'M' | 'W' | '—' | '…' => 104,
        letter if letter.is_ascii_digit() => 70,
        // Ideographs, kana and syllables are square.
        letter if matches!(u32::from(letter), 0x1100..=0x11FF | 0x2E80..=0xD7FF | 0xF900..=0xFAFF | 0xFF00..=0xFF60) => 102,
        letter if letter.is_uppercase() => 80,
        _ => 67,
    };
    text.chars().map(share).sum::<i64>() * letters / 100
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::manual::source::Span;

    #[test]
    fn stress_stays_with_its_letters_wherever_lines_end() {
        let text = |text: &str| Inline { span: Span::default(), kind: InlineKind::Text(text.to_owned()) };
        let words =
            [text("I said "), Inline { span: Span::default(), kind: InlineKind::Strong(vec![text("no  poking")]) }, text("!")];
        let mut flags = Vec::new();
        stress(&words, false, &mut flags);
        let mut flags = flags.into_iter();
        let said: Vec<Vec<(String, bool)>> = ["I said no", "poking!"].iter().map(|line| parts(line, &mut flags)).collect();
        let part = |text: &str, on: bool| (text.to_owned(), on);
        assert_eq!(said, [vec![part("I said ", false), part("no", true)], vec![part("poking", true), part("!", false)]]);
        assert_eq!(flags.next(), None);
    }

    #[test]
    fn no_word_is_lost_and_no_line_is_too_wide() {
        for text in [
            "Tea?",
            "I told you not to poke it while it dips, and now look",
            "漢字ばかりの長い長い長い長い長い長い長い長い文",
            &"x".repeat(90),
        ] {
            let lines = broken(&[text.to_owned()], LETTERS, 840);
            let kept: String = lines.concat().split_whitespace().collect();
            assert_eq!(kept, text.split_whitespace().collect::<String>());
            assert!(lines.iter().all(|line| measure(line, LETTERS) <= 840), "{lines:?}");
        }
    }
}
