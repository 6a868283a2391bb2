//! All pictures of one manual: looked at once, screened once a size, shared between threads.
//!
//! What is kept is what a picture is (by address, until its file changes) and its dots (by content and request), never its pixels beyond the
//! last few that were decoded. Stores are bounded; what is dropped is made again, with the same dots. Decoders share a budget of memory.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

use rayon::prelude::*;
use sha2::{Digest, Sha256};

use crate::bitmap::Bitmap;
use crate::gain::DotGain;
use crate::geometry::{Rect, Size};
use crate::language::{Language, Wording};
use crate::lengths::{Dots, Paper};
use crate::manual::FolderError;
use crate::manual::document::{Background, Pen, Permille, Screen, Tone, Treatment, is_drawn_by_name};
use crate::manual::folder::{Folder, Stamp};
use crate::models::Models;

use super::budget::Budget;
use super::choice::{self, Nature};
use super::colour::{InColour, Look as ColourLook, Pixels};
use super::contrast;
use super::cut_out;
use super::error::Error;
use super::load::{self, FILE_LIMIT, Head, Need, Reduced, Remark};
use super::picture_cache::{PictureCache, lock};
use super::screens::{self, Ask, drawing};
use super::tone::{FULL, Finish, Kernel, Light, WHITE, Window};
use super::vector::{self, Drawing, Faces};
use super::{signals, signs};

/// Names a picture by what is in its file: half of its SHA-256.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ContentId(pub [u8; 16]);

/// What layout needs to know of a picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PictureInfo {
    pub id: ContentId,
    /// Upright size in pixels. Of a drawing of outlines, which has none, the proportions: the longer side is 1000 or more.
    pub width: u32,
    pub height: u32,
    /// Outlines, sharp at any size.
    pub vector: bool,
}

/// One way to set a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Request {
    /// left, top, width, height of the shown part
    pub crop: Option<Rect<Permille>>,
    pub width: Dots,
    pub height: Dots,
    /// `None`: the one that suits the picture.
    pub screen: Option<Screen>,
    pub treatment: Treatment,
    pub paper: Paper,
}

/// A picture in dots.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Screened {
    /// Exactly as large as asked for; with `Screen::None` as large as the shown part has pixels.
    pub bitmap: Bitmap,
    pub used: Screen,
    /// Whether the picture has tones, whatever screen it was given.
    pub photograph: bool,
    /// Dots for each pixel of the file, in percent, the larger of both ways; 0 for drawings of outlines.
    pub scale_percent: u32,
    /// More dots than pixels: the picture cannot be as sharp as the paper.
    pub enlarged: bool,
    /// Black dots in thousandths of all.
    pub black: u32,
    /// Thousandths of the picture whose ink will run together: after dot gain, no white is left over 8 x 8 dots where the
    /// picture asked for some.
    pub clogged: u32,
    /// Thousandths of the picture that come out as bare paper though the picture is not white there.
    pub washed_out: u32,
    pub remarks: Vec<Remark>,
}

/// Most dots of one picture.
const AREA_LIMIT: u64 = 16_000_000;
/// Most bytes kept of what pictures are, of screened ones, and of the last that were decoded: a figure may be tried in several sizes.
const KNOWN_LIMIT: usize = 16 << 20;
const DOTS_LIMIT: usize = 32 << 20;
const REDUCED_LIMIT: usize = 12 << 20;
/// Bytes that files, decoders and renderers may take at one time, together. What needs more is worked on alone.
const UNDER_WAY: u64 = 48 << 20;
/// How far photographs are sharpened, in thousandths; chosen by eye at 8 dots/mm between 400 (soft) and 1500 (brittle).
const SHARPEN: u16 = 900;
/// How far their shapes are set off, in thousandths; chosen by eye between 0 (flat) and 800 (halos).
const CLARITY: u16 = 600;

/// The pictures of one manual.
pub struct PictureSet {
    /// Of the same folder: drawings that are made from them are pictures too.
    models: Models,
    folder: Folder,
    faces: Faces,
    pictures: Mutex<PictureCache<String, Seen>>,
    dots: Mutex<PictureCache<(ContentId, Request), Arc<Screened>>>,
    reduced: Mutex<PictureCache<(ContentId, Need), Arc<Reduced>>>,
    under_way: Budget,
    /// Pictures of pixels that are not in dots yet come as empty frames of their size, and are not kept.
    hasty: AtomicBool,
}

/// A picture, and the file as it was when it was looked at.
type Seen = (Option<Stamp>, Arc<Picture>);

struct Picture {
    info: Arc<PictureInfo>,
    content: Content,
}

enum Content {
    Pixels(Head),
    Outlines(Box<Drawing>, Nature),
}

impl PictureSet {
    /// `fonts` are the font files that drawings may use, best first; usually those that type is set in.
    pub fn open(folder: Folder, fonts: &'static [&'static [u8]]) -> PictureSet {
        PictureSet {
            models: Models::open(folder.clone()),
            folder,
            faces: Faces::new(fonts),
            pictures: Mutex::new(PictureCache::new(KNOWN_LIMIT)),
            dots: Mutex::new(PictureCache::new(DOTS_LIMIT)),
            reduced: Mutex::new(PictureCache::new(REDUCED_LIMIT)),
            under_way: Budget::new(UNDER_WAY),
            hasty: AtomicBool::new(false),
        }
    }

    /// The models of the same folder.
    pub fn models(&self) -> &Models {
        &self.models
    }

    /// What the picture at `address` (a path in the folder, `sign:NAME` or a signal) is. A file that changed since is read again. Of pictures of pixels
    /// only the header is understood: one that is broken further on is found out when it is screened.
    ///
    /// # Errors
    /// When it cannot be read or is no usable picture.
    pub fn look(&self, address: &str) -> Result<Arc<PictureInfo>, Error> {
        self.picture(address).map(|picture| Arc::clone(&picture.info))
    }

    /// How high a drawing of outlines says that it is, in CSS pixels; none for pixels and for what cannot be used.
    pub fn written_height(&self, address: &str) -> Option<u32> {
        match &self.picture(address).ok()?.content {
            Content::Outlines(drawing, ..) => Some(drawing.written_height),
            Content::Pixels(..) => None,
        }
    }

    /// Looks at many pictures at once, on as many threads as there are; the answers stand in the order of the addresses.
    pub fn look_all(&self, addresses: &[&str]) -> Vec<Result<Arc<PictureInfo>, Error>> {
        addresses.par_iter().map(|address| self.look(address)).collect()
    }

    /// Width and height of a picture that cannot be used, where its file still says them.
    pub fn proportions(&self, address: &str) -> Option<Size<u32>> {
        let bytes = self.folder.read(address, FILE_LIMIT).ok()?;
        load::size(&bytes).filter(|size| size.width > 0 && size.height > 0)
    }

    /// Whether the file is found by other capitals only than the address has.
    pub fn other_case(&self, address: &str) -> bool {
        !address.contains(':') && self.folder.find(address).is_ok_and(|found| found.other_case)
    }

    /// The picture in dots.
    ///
    /// # Errors
    /// As [`PictureSet::look`]; and when the crop is empty or the size is none or too large.
    pub fn screen(&self, address: &str, request: &Request) -> Result<Arc<Screened>, Error> {
        let picture = self.picture(address)?;
        // The pen of a style is no matter where nothing is drawn with it: who asks without one is given what is there.
        let pen = if request.screen == Some(Screen::Drawing) { request.treatment.pen } else { Pen::default() };
        let request = &Request { treatment: Treatment { pen, ..request.treatment }, ..*request };
        let key = (picture.info.id, *request);
        if let Some(known) = lock(&self.dots).get(&key) {
            return Ok(Arc::clone(known));
        }
        if self.hasty.load(Ordering::Relaxed) && matches!(picture.content, Content::Pixels(_)) {
            return Ok(Arc::new(unfinished(request)));
        }
        let screened = Arc::new(self.expose(address, &picture, request)?);
        lock(&self.dots).put(key, Arc::clone(&screened), screened.bitmap.data().len());
        Ok(screened)
    }

    /// From now on pictures of pixels that were not screened before come as empty frames, at once: for a first look at many photographs.
    pub fn hurry(&self, hasty: bool) {
        self.hasty.store(hasty, Ordering::Relaxed);
    }

    /// The shown part of the picture in its own colours, at most so many pixels wide and one and a half times as high; a drawing as its
    /// outlines, or in pixels where it is more than outlines or more than `largest` bytes of them. Signals say their words in a language.
    ///
    /// # Errors
    /// As [`PictureSet::look`]; and when the crop is empty or its file is broken.
    pub fn in_colour(&self, address: &str, crop: Option<Rect<Permille>>, look: ColourLook) -> Result<InColour, Error> {
        let ColourLook { most, largest, wording } = look;
        let picture = match signals::is_signal(address) {
            true => Arc::new(self.open_signal(address, wording)?),
            false => self.picture(address)?,
        };
        let info = &picture.info;
        let window = window(info, crop).ok_or_else(|| Error::Crop { address: address.into() })?;
        if let Content::Outlines(drawing, _) = &picture.content
            && let Some(outlines) = drawing.outlines(window, f64::from(most), largest)
        {
            return Ok(InColour::Outlines(outlines));
        }
        let own = f64::from(most) / window.width;
        let shrunk = own.min(f64::from(most) * 1.5 / window.height);
        let shrunk = if info.vector { shrunk } else { shrunk.min(1.0) };
        let side = |length: f64| (libm::round(length * shrunk) as u32).max(1);
        let (width, height) = (side(window.width), side(window.height));
        match &picture.content {
            Content::Outlines(drawing, _) => {
                let _share = self.under_way.take(u64::from(width) * u64::from(height) * 8);
                let rgb = drawing.colour(window, width, height, address)?;
                Ok(InColour::Pixels(Pixels { width, height, rgb, drawing: true, profile: None }))
            }
            Content::Pixels(head) => {
                let least = least(info, &window, width, height);
                let reduced = self.reduced(address, info, head, Need { least, colour: true })?;
                let drawing = choice::of_pixels(&reduced.light).drawing;
                let rgb = reduced.colour_of(reduced.window(window), width, height).unwrap_or_default();
                Ok(InColour::Pixels(Pixels { width, height, rgb, drawing, profile: head.wide_profile().map(<[u8]>::to_vec) }))
            }
        }
    }

    fn picture(&self, address: &str) -> Result<Arc<Picture>, Error> {
        let named = is_drawn_by_name(address);
        let stamp = if named { None } else { self.folder.stamp(address).ok() };
        if let Some((known, picture)) = lock(&self.pictures).get(address)
            && *known == stamp
            && (stamp.is_some() || named)
        {
            return Ok(Arc::clone(picture));
        }
        let picture = Arc::new(match address.strip_prefix("sign:") {
            Some(name) => self.open_sign(name)?,
            None if named => self.open_signal(address, Language::English.wording())?,
            None => self.open_file(address)?,
        });
        let bytes = match &picture.content {
            Content::Pixels(_) => 1 << 10,
            Content::Outlines(..) => 1 << 16,
        };
        lock(&self.pictures).put(address.to_string(), (stamp, Arc::clone(&picture)), bytes);
        Ok(picture)
    }

    fn read(&self, address: &str) -> Result<Vec<u8>, Error> {
        self.folder.read(address, FILE_LIMIT).map_err(|error| match error {
            FolderError::NotGathered => Error::NotGathered { address: address.into() },
            error => Error::Unreadable { address: address.into(), reason: error.to_string(), hint: error.hint() },
        })
    }

    fn open_file(&self, address: &str) -> Result<Picture, Error> {
        let _share = self.under_way.take(self.folder.stamp(address).map_or(0, |stamp| stamp.length));
        let bytes = self.read(address)?;
        if load::is_drawing(&bytes) {
            return self.outlines(&bytes, address);
        }
        let head = load::head(&bytes, address)?;
        let info = PictureInfo { id: ContentId::of(&bytes), width: head.width, height: head.height, vector: false };
        Ok(Picture { info: Arc::new(info), content: Content::Pixels(head) })
    }

    /// A picture of pixels, no larger than it is needed. The file was looked at before; one that changed since is an error, for its size and its
    /// name in the store are no longer true.
    fn reduced(&self, address: &str, info: &PictureInfo, head: &Head, need: Need) -> Result<Arc<Reduced>, Error> {
        let key = (info.id, need);
        if let Some(known) = lock(&self.reduced).get(&key) {
            return Ok(Arc::clone(known));
        }
        let length = self.folder.stamp(address).map_or(0, |stamp| stamp.length);
        let share = self.under_way.take(length + head.work(&need));
        let bytes = self.read(address)?;
        if ContentId::of(&bytes) != info.id {
            return Err(Error::Unreadable {
                address: address.into(),
                reason: "it was changed while it was read".into(),
                hint: None,
            });
        }
        let reduced = Arc::new(load::decode(&bytes, address, head, &need)?);
        drop(share);
        let size = reduced.light.light.len() * 2 + reduced.colour.as_ref().map_or(0, |colour| colour.len() * 3);
        lock(&self.reduced).put(key, Arc::clone(&reduced), size);
        Ok(reduced)
    }

    fn open_sign(&self, name: &str) -> Result<Picture, Error> {
        let sign = signs::find(name)?;
        self.outlines(sign.svg.as_bytes(), name)
    }

    /// Of outlines, for whoever shows a signal as a picture among others; the layout draws it in dots.
    fn open_signal(&self, address: &str, wording: Wording) -> Result<Picture, Error> {
        self.outlines(signals::svg(address, wording)?.as_bytes(), address)
    }

    fn outlines(&self, bytes: &[u8], address: &str) -> Result<Picture, Error> {
        let drawing = vector::read(bytes, address, &self.faces)?;
        let nature = choice::of_outlines(drawing.paints, || {
            let (longest, all) = (drawing.width.max(drawing.height), Window::whole(drawing.width, drawing.height));
            let side = |length: u32| (u64::from(length) * 96 / u64::from(longest)).max(1) as u32;
            Ok(drawing.render(all, side(drawing.width), side(drawing.height), address)?.light)
        })?;
        let info = PictureInfo { id: ContentId::of(bytes), width: drawing.width, height: drawing.height, vector: true };
        Ok(Picture { info: Arc::new(info), content: Content::Outlines(Box::new(drawing), nature) })
    }

    fn expose(&self, address: &str, picture: &Picture, request: &Request) -> Result<Screened, Error> {
        let info = &picture.info;
        let window = window(info, request.crop).ok_or_else(|| Error::Crop { address: address.into() })?;
        let (mut width, mut height) = (request.width.0, request.height.0);
        let as_it_is = request.screen == Some(Screen::None) && !info.vector;
        if as_it_is {
            (width, height) = (libm::round(window.width) as i32, libm::round(window.height) as i32);
        }
        let area = u64::from(width.max(0) as u32) * u64::from(height.max(0) as u32);
        if width < 1 || height < 1 || area > AREA_LIMIT {
            return Err(Error::Room { address: address.into(), width, height });
        }
        let (width, height) = (width as u32, height as u32);
        let gain = request.paper.dot_gain;
        let mut thing = None;
        let (light, fine, nature, mut remarks) = match &picture.content {
            Content::Pixels(head) if as_it_is => {
                let reduced = self.reduced(address, info, head, Need::ALL)?;
                let nature = Nature { drawing: true, screen: Screen::None };
                (reduced.light.cut(reduced.window(window)), 1, nature, reduced.remarks.clone())
            }
            Content::Pixels(head) => {
                let drawn = request.screen == Some(Screen::Drawing);
                let fine = if drawn { drawing::FINE as u32 } else { 1 };
                let least = least(info, &window, width * fine, height * fine);
                let alone = request.treatment.background == Background::White;
                let reduced = self.reduced(address, info, head, Need { least, colour: alone || drawn })?;
                let nature = choice::of_pixels(&reduced.light);
                let kernel = if nature.drawing { Kernel::Area } else { Kernel::Lanczos };
                let part = reduced.window(window);
                // Lines are drawn where colours part, also those that are equally light.
                let apart = reduced.colour.as_ref().filter(|_| drawn).and_then(|colour| {
                    let tenths = contrast::mixture(colour, reduced.light.width as usize)?;
                    Some(contrast::mixed(colour, reduced.light.width, reduced.light.height, tenths))
                });
                let mut light = apart.as_ref().unwrap_or(&reduced.light).scaled(part, width * fine, height * fine, kernel);
                let mut remarks = reduced.remarks.clone();
                // A drawing that is to be drawn again has no light to be evened.
                if request.treatment.tone == Tone::Flat && (!nature.drawing || fine > 1) {
                    light = light.evened();
                }
                if alone {
                    thing =
                        reduced.colour_of(part, width, height).and_then(|colour| cut_out::cut_out(&colour, width as usize).ok());
                    match &thing {
                        Some(thing) => light.whiten(thing, width, fine),
                        None => remarks.push(Remark::BackgroundKept),
                    }
                }
                (light, fine, nature, remarks)
            }
            Content::Outlines(drawing, nature) => {
                let fine = screens::method(request.screen.unwrap_or(nature.screen)).fine;
                let coverage = nature.screen == Screen::Line && !fine;
                let samples = area * u64::from(if coverage { 1 } else { vector::fineness(area).unwrap_or(1).pow(2) });
                // Four bytes a sample for the renderer, two for what becomes of them.
                let _share = self.under_way.take(samples * 6);
                let sample = match coverage {
                    true => drawing.coverage(window, width, height, address)?,
                    false => drawing.render(window, width, height, address)?,
                };
                (sample.light, sample.fine, *nature, drawing.remarks.clone())
            }
        };
        let used = request.screen.unwrap_or(nature.screen);
        let untouched = nature.drawing || request.treatment.tone == Tone::AsIs;
        let method = screens::method(used);
        // A screen that knows what dots spill pays for one number of dot gain itself; a curve, which tells tones and no dots, is paid for before.
        let (gain_before, spread) = match method.spread && gain.points().is_empty() {
            true => (DotGain::at_half(0), screens::spread(gain)),
            false => (gain, 0),
        };
        let plain = if fine == 1 { None } else { Some(light.scaled(light.window(), width, height, Kernel::Area)) };
        let plain = plain.as_ref().unwrap_or(&light);
        let shares = match used {
            Screen::Photo if untouched => {
                let shares = plain.finished(Finish { sharpen: SHARPEN / 3, clarity: 0, stretch: false, dot_gain: gain_before });
                let drawn = nature.drawing && request.screen.is_none() && !info.vector;
                if drawn { screens::line::drawn_through(&shares) } else { shares }
            }
            Screen::Photo => plain.finished(Finish { sharpen: SHARPEN, clarity: CLARITY, stretch: true, dot_gain: gain_before }),
            Screen::Halftone if untouched => {
                light.finished(Finish { sharpen: 0, clarity: 0, stretch: false, dot_gain: gain_before })
            }
            Screen::Halftone => {
                light.finished(Finish { sharpen: SHARPEN / 2, clarity: CLARITY, stretch: true, dot_gain: gain_before })
            }
            Screen::Line | Screen::Ink | Screen::Drawing | Screen::None => plain.shares(),
        };
        let fine = shares.width / width;
        let bitmap = if used == Screen::Drawing {
            let samples = [width * drawing::FINE as u32, height * drawing::FINE as u32];
            let _share = self.under_way.take(u64::from(samples[0]) * u64::from(samples[1]) * drawing::BYTES);
            let scaled = (light.width != samples[0]).then(|| light.scaled(light.window(), samples[0], samples[1], Kernel::Area));
            let roots = scaled.as_ref().unwrap_or(&light).roots();
            drawing::screen(&roots, samples[0] as usize, FULL, request.treatment.pen, thing.as_deref())
        } else {
            (method.run)(&Ask { shares: &shares, fine, resolution: request.paper.resolution, spread })
        };
        let scale = |dots: u32, pixels: f64| libm::ceil(f64::from(dots) * 100.0 / pixels) as u32;
        let scale_percent = if info.vector { 0 } else { scale(width, window.width).max(scale(height, window.height)) };
        // A drawing is not meant to have the tones of its picture.
        let lost = if used == Screen::Drawing { Lost::default() } else { Lost::between(&bitmap, plain, gain) };
        if bitmap.black() == 0 && request.crop.is_none() && remarks.is_empty() {
            remarks.push(Remark::Blank);
        }
        Ok(Screened {
            black: (bitmap.black() * 1000 / area) as u32,
            bitmap,
            used,
            photograph: matches!(nature.screen, Screen::Photo | Screen::Halftone),
            scale_percent,
            enlarged: scale_percent > 100,
            clogged: lost.clogged,
            washed_out: lost.washed_out,
            remarks,
        })
    }
}

/// What stands for a picture until it is screened: its outline.
fn unfinished(request: &Request) -> Screened {
    let (width, height) = (request.width.0.clamp(1, 4_000), request.height.0.clamp(1, 4_000));
    let mut bitmap = Bitmap::new(width as u32, height as u32);
    bitmap.fill(0, 0, width, height, true);
    bitmap.fill(1, 1, width - 2, height - 2, false);
    Screened {
        bitmap,
        used: request.screen.unwrap_or(Screen::Photo),
        photograph: true,
        scale_percent: 100,
        enlarged: false,
        black: 0,
        clogged: 0,
        washed_out: 0,
        remarks: Vec::new(),
    }
}

/// The shown part in pixels; `None` when there is none of it.
fn window(info: &PictureInfo, crop: Option<Rect<Permille>>) -> Option<Window> {
    let (across, down) = (f64::from(info.width), f64::from(info.height));
    let Rect { x: left, y: top, width, height } = crop.unwrap_or(Rect::new(0, 0, 1000, 1000));
    let end = |start: Permille, length: Permille| start.saturating_add(length).clamp(0, 1000);
    let (right, bottom) = (end(left, width), end(top, height));
    let (left, top) = (left.clamp(0, 1000), top.clamp(0, 1000));
    if right <= left || bottom <= top {
        return None;
    }
    let part = |whole: f64, permille: Permille| whole * f64::from(permille) / 1000.0;
    Some(Window {
        left: part(across, left),
        top: part(down, top),
        width: part(across, right - left),
        height: part(down, bottom - top),
    })
}

/// How many pixels the whole picture has at least, for the shown part of it to be so many dots large.
fn least(info: &PictureInfo, shown: &Window, width: u32, height: u32) -> Size<u32> {
    let whole = |dots: u32, all: u32, part: f64| libm::ceil(f64::from(dots) * f64::from(all) / part) as u32;
    Size::new(whole(width, info.width, shown.width), whole(height, info.height, shown.height))
}

/// Where the paper will not show what the picture holds, in thousandths of its 8 x 8 fields.
#[derive(Default)]
struct Lost {
    clogged: u32,
    washed_out: u32,
}

impl Lost {
    /// A field is clogged when the picture asks for light there (more than 2 %), but so few white dots stand in it that dot gain
    /// closes them; washed out when the picture is not white (less than 95 %), but no dot is black.
    fn between(bitmap: &Bitmap, light: &Light, dot_gain: DotGain) -> Lost {
        const FIELD: u32 = 8;
        let closed = FIELD * FIELD * u32::from(dot_gain.half()) / 4000;
        let (mut clogged, mut washed_out, mut fields) = (0u64, 0u64, 0u64);
        for top in (0..bitmap.height()).step_by(FIELD as usize) {
            for left in (0..bitmap.width()).step_by(FIELD as usize) {
                let (right, bottom) = ((left + FIELD).min(bitmap.width()), (top + FIELD).min(bitmap.height()));
                let (mut asked, mut white) = (0u64, 0u32);
                for y in top..bottom {
                    for x in left..right {
                        asked += u64::from(light.light[(y * light.width + x) as usize]);
                        white += u32::from(!bitmap.get(x as i32, y as i32));
                    }
                }
                let dots = (right - left) * (bottom - top);
                let permille = asked * 1000 / u64::from(dots) / u64::from(WHITE);
                fields += 1;
                clogged += u64::from(permille > 20 && white <= closed);
                washed_out += u64::from(permille < 950 && white == dots);
            }
        }
        let share = |count: u64| (count * 1000 / fields.max(1)) as u32;
        Lost { clogged: share(clogged), washed_out: share(washed_out) }
    }
}

impl ContentId {
    fn of(bytes: &[u8]) -> ContentId {
        let digest = Sha256::digest(bytes);
        ContentId(std::array::from_fn(|index| digest[index]))
    }
}
