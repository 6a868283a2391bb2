//! Golden pictures: a strip or a piece of one, looked at once by a person and kept as PNG under `tests/golden`.
//!
//! `compare("type/sans-9pt", &bitmap)` passes when every dot is as kept. When not, `target/golden/type/sans-9pt.diff.png`
//! shows the picture with the differing dots in red, and `….png` beside it is what was made. After looking at it, accept it
//! with `STRIPLING_ACCEPT_GOLDEN=1 cargo test`.

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use stripling::bitmap::Bitmap;

/// Compares a bitmap with the picture kept as `tests/golden/NAME.png`.
///
/// # Panics
/// When there is none, or dots differ.
#[track_caller]
pub fn compare(name: &str, made: &Bitmap) {
    compare_all([(name, made)]);
}

/// Compares all before it says which differ, so that one run shows everything that is to be looked at.
///
/// # Panics
/// As [`compare`].
#[track_caller]
pub fn compare_all<'a>(pictures: impl IntoIterator<Item = (&'a str, &'a Bitmap)>) {
    let said: Vec<String> = pictures.into_iter().filter_map(|(name, made)| difference(name, made)).collect();
    assert!(said.is_empty(), "{}", said.join("\n"));
}

/// What differs from the kept picture, in words.
fn difference(name: &str, made: &Bitmap) -> Option<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let kept = root.join("tests/golden").join(format!("{name}.png"));
    if std::env::var_os("STRIPLING_ACCEPT_GOLDEN").is_some_and(|value| value == "1") {
        write(&kept, made);
        return None;
    }
    let out = root.join("target/golden");
    let (fresh, diff) = (out.join(format!("{name}.png")), out.join(format!("{name}.diff.png")));
    let accept = "look at it, then accept it with STRIPLING_ACCEPT_GOLDEN=1";
    if !kept.exists() {
        write(&fresh, made);
        return Some(format!("no golden picture {}; what was made is {}: {accept}", kept.display(), fresh.display()));
    }
    let golden = read(&kept);
    if golden == *made {
        return None;
    }
    write(&fresh, made);
    let differing = mark(&diff, &golden, made);
    Some(format!(
        "{name}: {differing} dots differ ({} x {} kept, {} x {} made), marked red in {}: {accept}",
        golden.width(),
        golden.height(),
        made.width(),
        made.height(),
        diff.display()
    ))
}

fn file(path: &Path) -> BufWriter<File> {
    let folder = path.parent().map_or_else(PathBuf::new, Path::to_path_buf);
    fs::create_dir_all(&folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    BufWriter::new(File::create(path).unwrap_or_else(|error| panic!("{}: {error}", path.display())))
}

/// One bit deep, black dots black.
pub fn write(path: &Path, bitmap: &Bitmap) {
    let mut encoder = png::Encoder::new(file(path), bitmap.width().max(1), bitmap.height().max(1));
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::One);
    let mut data: Vec<u8> = bitmap.data().iter().map(|byte| !byte).collect();
    if data.is_empty() {
        data.push(0xFF);
    }
    encoder.write_header().and_then(|mut writer| writer.write_image_data(&data)).expect("a PNG can be written");
}

fn read(path: &Path) -> Bitmap {
    let picture = image::open(path).unwrap_or_else(|error| panic!("{}: {error}", path.display())).to_luma8();
    let mut bitmap = Bitmap::new(picture.width(), picture.height());
    for (x, y, pixel) in picture.enumerate_pixels() {
        bitmap.set(x as i32, y as i32, pixel.0[0] < 128);
    }
    bitmap
}

/// Writes what was made in grey with the differing dots in red (there, but not kept) and light red (kept, but not there); tells
/// how many differ.
fn mark(path: &Path, golden: &Bitmap, made: &Bitmap) -> usize {
    let (width, height) = (golden.width().max(made.width()).max(1), golden.height().max(made.height()).max(1));
    let mut picture = image::RgbImage::new(width, height);
    let mut differing = 0;
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let (kept, now) = (golden.get(x as i32, y as i32), made.get(x as i32, y as i32));
        differing += usize::from(kept != now);
        pixel.0 = match (kept, now) {
            (true, true) => [96, 96, 96],
            (false, false) => [255, 255, 255],
            (false, true) => [220, 0, 0],
            (true, false) => [255, 120, 120],
        };
    }
    let _ = file(path);
    picture.save(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    differing
}
