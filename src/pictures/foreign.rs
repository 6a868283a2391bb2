//! Kinds of files that stand in a picture's place and are not read, told by their first bytes: so that a message can say what to do.

/// A kind by what people call it, and what to do about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Foreign {
    /// With its article.
    pub name: &'static str,
    pub hint: &'static str,
}

const CONVERT: &str = "save it as JPEG or PNG: a viewer's \"Export\" does it, or `magick OLD NEW.jpg`";
const TELEPHONE: &str = "save it as JPEG: a telephone's camera settings have JPEG (also called \"most compatible\"), a viewer's \"Export\" \
                         converts one, or `heif-convert OLD NEW.jpg`";
const RAW: &str = "save it as JPEG or PNG: the program that develops raw pictures exports it, or `magick OLD NEW.jpg`";
const VIDEO: &str = "take one picture of it: `ffmpeg -i OLD -frames:v 1 NEW.jpg`, or a screenshot";
const PAGE: &str = "a web page was saved under the picture's name: open the address, and save the picture itself";
const LINK: &str =
    "only a pointer to the picture is here: fetch the files of the repository's large file storage (`git lfs pull`)";
const PAGES: &str = "save the page as SVG or PNG: `pdftocairo -svg OLD NEW.svg`";
const EMPTY: &str = "the file has no bytes: copy or download it again";

/// What the bytes are, of the kinds that people have; `None` for all else.
pub fn kind(bytes: &[u8]) -> Option<Foreign> {
    let begins = |with: &[u8]| bytes.starts_with(with);
    let is = |name, hint| Some(Foreign { name, hint });
    // ISO/IEC 14496-12: a file begins with the box `ftyp`, whose first four letters are its brand; ISO/IEC 23008-12 for pictures.
    if bytes.get(4..8) == Some(b"ftyp") {
        let brands = bytes.get(8..64.min(bytes.len())).unwrap_or_default();
        let any = |names: &[&[u8; 4]]| brands.chunks(4).any(|brand| names.iter().any(|name| brand == name.as_slice()));
        return match () {
            () if any(&[b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx"]) => is("a HEIC picture", TELEPHONE),
            () if any(&[b"avif", b"avis"]) => is("an AVIF picture", CONVERT),
            () if any(&[b"mif1", b"msf1"]) => is("a HEIF picture", TELEPHONE),
            () if any(&[b"crx "]) => is("a camera's raw picture", RAW),
            () => is("a video", VIDEO),
        };
    }
    match () {
        () if bytes.is_empty() => is("an empty file", EMPTY),
        // A DNG and most makers' raw pictures are TIFF files.
        () if begins(b"II*\0") || begins(b"MM\0*") => is("a TIFF or a camera's raw picture", RAW),
        () if begins(b"BM") => is("a BMP picture", CONVERT),
        () if begins(b"\0\0\0\x0cJXL ") || begins(b"\xff\x0a") => is("a JPEG XL picture", CONVERT),
        () if begins(b"\0\0\0\x0cjP  ") || begins(b"\xff\x4f\xff\x51") => is("a JPEG 2000 picture", CONVERT),
        () if begins(b"8BPS") => is("a layered picture (PSD)", CONVERT),
        () if begins(b"%PDF") => is("a PDF", PAGES),
        () if begins(b"\x1aE\xdf\xa3") => is("a video", VIDEO),
        () if begins(b"version https://git-lfs") => is("a pointer to a large file", LINK),
        () if is_page(bytes) => is("a web page", PAGE),
        () => None,
    }
}

fn is_page(bytes: &[u8]) -> bool {
    let head =
        String::from_utf8_lossy(&bytes[..bytes.len().min(256)]).trim_start_matches('\u{FEFF}').trim_start().to_ascii_lowercase();
    head.starts_with("<!doctype html") || head.starts_with("<html")
}
