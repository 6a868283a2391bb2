//! The page's files, built into the program. Nothing else is ever served: no path of a request reaches the disk.

use crate::copy::HOW_TO_GET_PDF;

/// One file of the page.
pub struct File {
    /// Path in the address.
    pub path: &'static str,
    pub kind: &'static str,
    pub text: &'static str,
}

/// Stands in the page where the desk's key belongs.
pub const KEY_PLACE: &str = "{{desk key}}";

/// Stands in the page where the lasting copy is offered as PDF, or said not to be.
pub const PDF_PLACE: &str = "{{pdf}}";

/// What stands there.
pub fn pdf() -> String {
    match HOW_TO_GET_PDF {
        None => "<a href=\"/copy.pdf\" download>Save as PDF</a>".to_owned(),
        Some(how) => format!("No PDF: this program was built without. <code>{how}</code>"),
    }
}

/// The page itself, with [`KEY_PLACE`] and [`PDF_PLACE`] in it.
pub const PAGE: &str = include_str!("page/desk.html");

/// The packing page, with [`KEY_PLACE`] in it.
pub const PACKING: &str = include_str!("page/pack.html");

const SCRIPT: &str = "text/javascript; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";

macro_rules! file {
    ($name:literal, $kind:expr) => {
        File { path: concat!("/", $name), kind: $kind, text: include_str!(concat!("page/", $name)) }
    };
}

/// Faces that the page is set in: the paths in the address, which are the names of shipped files.
pub const FACES: [&str; 4] = ["/sans-regular.ttf", "/sans-bold.ttf", "/mono-regular.ttf", "/lettering-bold.otf"];

pub const FILES: [File; 32] = [
    file!("desk.css", STYLE),
    file!("strip.css", STYLE),
    file!("table.css", STYLE),
    file!("sheet.css", STYLE),
    file!("icon.svg", "image/svg+xml"),
    file!("desk.js", SCRIPT),
    file!("live.js", SCRIPT),
    file!("rows.js", SCRIPT),
    file!("strip.js", SCRIPT),
    file!("boxes.js", SCRIPT),
    file!("paste.js", SCRIPT),
    file!("table.js", SCRIPT),
    file!("stage.js", SCRIPT),
    file!("handles.js", SCRIPT),
    file!("changes.js", SCRIPT),
    file!("callouts.js", SCRIPT),
    file!("balloons.js", SCRIPT),
    file!("cropping.js", SCRIPT),
    file!("fall.js", SCRIPT),
    file!("samples.js", SCRIPT),
    file!("dots.js", SCRIPT),
    file!("turning.js", SCRIPT),
    file!("marks.js", SCRIPT),
    file!("mend.js", SCRIPT),
    file!("drop.js", SCRIPT),
    file!("docket.js", SCRIPT),
    file!("press.js", SCRIPT),
    file!("gather.js", SCRIPT),
    file!("sheet.js", SCRIPT),
    file!("keys.js", SCRIPT),
    file!("pack.css", STYLE),
    file!("pack.js", SCRIPT),
];
