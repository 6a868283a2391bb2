//! A picture of the manual in dots, as figures and panels of a comic show it.

use std::sync::Arc;

use crate::bitmap::Bitmap;
use crate::geometry::{Rect, Size};
use crate::layout::context::Context;
use crate::lengths::Dots;
use crate::manual::document::{Permille, Screen, Treatment};
use crate::manual::source::{Level, Remark, Span};
use crate::pictures::{Error, PictureInfo, Request};

/// What is to be shown.
#[derive(Clone, Copy)]
pub struct Subject<'a> {
    pub picture: &'a str,
    pub span: Span,
    pub crop: Option<Rect<Permille>>,
    pub screen: Option<Screen>,
    pub treatment: Treatment,
}

pub struct Exposed {
    pub bitmap: Arc<Bitmap>,
    pub used: Screen,
    pub remarks: Vec<Remark>,
}

impl Subject<'_> {
    /// Width and height of the shown part, in pixels of the picture; at least 1.
    pub fn pixels(&self, info: &PictureInfo) -> Size<i64> {
        let shown = self.crop.map_or(Size::new(1000, 1000), |crop| Size::new(crop.width.max(1), crop.height.max(1)));
        let part = |pixels: u32, share: Permille| (i64::from(pixels) * i64::from(share) / 1000).max(1);
        Size::new(part(info.width, shown.width), part(info.height, shown.height))
    }

    /// Whether the picture's own dots are asked for and there are such.
    pub fn keeps_its_dots(&self, info: &PictureInfo) -> bool {
        self.screen == Some(Screen::None) && !info.vector
    }

    /// The rule for `screen = "none"`: a dot for a pixel, or as many whole dots for each as `wanted` has room for. None when the
    /// picture has more pixels than the room has dots: it is then scaled and screened like any other, and [`Subject::expose`] says so.
    pub fn own_dots(&self, info: &PictureInfo, wanted: Option<Dots>, room: Dots) -> Option<Size<i64>> {
        let Size { width, height } = self.pixels(info);
        if !self.keeps_its_dots(info) || width > i64::from(room.0) {
            return None;
        }
        let each = wanted.map_or(1, |wanted| i64::from(wanted.0.min(room.0)) / width).max(1);
        Some(Size::new(width * each, height * each))
    }

    /// # Errors
    /// When the picture cannot be used.
    pub fn expose(&self, context: &Context, size: Size<Dots>) -> Result<Exposed, Error> {
        let info = context.pictures.look(self.picture)?;
        let Size { width, height } = size;
        let Size { width: across, height: down } = self.pixels(&info);
        let whole = i64::from(width.0) >= across && i64::from(width.0) % across == 0 && i64::from(height.0) % down == 0;
        let own = self.keeps_its_dots(&info) && whole;
        let screen = if self.keeps_its_dots(&info) && !own { None } else { self.screen };
        let treatment = Treatment { pen: self.treatment.pen.or(context.style.drawing.pen()), ..self.treatment };
        let request = Request { crop: self.crop, width, height, screen, treatment, paper: context.paper };
        let screened = context.pictures.screen(self.picture, &request)?;
        let mut remarks: Vec<Remark> =
            screened.remarks.iter().map(|remark| self.remark(remark.rule(), remark.text(), None)).collect();
        if context.pictures.other_case(self.picture) {
            let message = format!(
                "the file of `{}` is written with other capitals: on other machines and servers it is not found",
                self.picture
            );
            remarks.push(self.remark("picture-name-case", &message, None));
        }
        if self.keeps_its_dots(&info) && !own {
            let message =
                format!("{} is {across} dots wide, and there is room for {}: it is scaled and screened", self.picture, width.0);
            let hint = "`screen = \"none\"` prints a dot for a pixel: make the picture narrower, or leave the key out";
            remarks.push(self.remark("own-dots-too-wide", &message, Some(hint)));
        }
        let each = if own { i64::from(width.0) / across } else { 1 };
        let bitmap = Arc::new(if each > 1 { enlarged(&screened.bitmap, each as i32) } else { screened.bitmap.clone() });
        Ok(Exposed { bitmap, used: screened.used, remarks })
    }

    fn remark(&self, rule: &'static str, message: &str, hint: Option<&str>) -> Remark {
        Remark { rule, level: Level::Warning, message: message.into(), hint: hint.map(str::to_owned), span: self.span }
    }
}

/// Every dot `each` times as wide and as high.
fn enlarged(bitmap: &Bitmap, each: i32) -> Bitmap {
    let mut large = Bitmap::new(bitmap.width() * each as u32, bitmap.height() * each as u32);
    for y in 0..bitmap.height() as i32 {
        for x in (0..bitmap.width() as i32).filter(|&x| bitmap.get(x, y)) {
            large.fill(x * each, y * each, each, each, true);
        }
    }
    large
}
