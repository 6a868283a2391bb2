//! The picture files that lie beside a manual, used or not.

use std::path::Path;

use super::inputs::head_of;
use crate::manual::gathered::FOLDER;
use crate::strip::png;

/// Picture files by their endings, in a folder and two folders deep, as a manual would name them; without what this program wrote:
/// strips, and what was gathered.
pub(super) fn pictures_in(root: &Path, manual: &str) -> Vec<String> {
    const ENDINGS: [&str; 6] = ["png", "jpg", "jpeg", "webp", "gif", "svg"];
    const MOST: usize = 2000;
    let mut found = Vec::new();
    let mut folders = vec![(root.to_path_buf(), 0)];
    while let Some((folder, depth)) = folders.pop() {
        for entry in std::fs::read_dir(&folder).into_iter().flatten().flatten().take(MOST) {
            let path = entry.path();
            let Ok(kind) = entry.file_type() else { continue };
            if kind.is_dir() && depth < 2 && entry.file_name() != FOLDER && entry.file_name() != ".git" {
                folders.push((path, depth + 1));
            } else if kind.is_file()
                && path
                    .extension()
                    .and_then(|ending| ending.to_str())
                    .is_some_and(|ending| ENDINGS.contains(&ending.to_ascii_lowercase().as_str()))
                && !is_strip(&path, manual)
                && let Ok(inside) = path.strip_prefix(root)
            {
                found.push(inside.to_string_lossy().replace('\\', "/"));
            }
        }
    }
    found.sort();
    found.truncate(MOST);
    found
}

/// Whether a picture file is a strip of ours: named after the manual, or one bit deep as only strips are.
fn is_strip(path: &Path, manual: &str) -> bool {
    let stem = |path: &Path| path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    if path.extension().is_none_or(|ending| ending != "png") {
        return false;
    }
    let one_bit = head_of(path).is_some_and(|head| png::kind(&head) == Some([1, 0]));
    one_bit || stem(path).strip_suffix(".strip").is_some_and(|name| name.starts_with(&stem(Path::new(manual))))
}
