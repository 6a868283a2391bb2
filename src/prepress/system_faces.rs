//! Faces found on this machine, for writings that neither the program nor the writer brings a face for.
//!
//! Looks only when something could not be printed otherwise, and always by the same rules; what it finds is always told, because
//! another machine may have another face, and because the licence is the writer's to check.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::language::Language;
use crate::layout::PlacedBox;
use crate::manual::source::{Level, Remark};
use crate::type_setting::{FaceSource, Faces, Facts, facts};

/// How deep folders of fonts are searched, and how many faces are taken for one manual.
const DEEPEST: usize = 6;
const MOST: usize = 4;
/// Largest font file, bytes.
pub const LARGEST_FACE: u64 = 64 << 20;

/// A face that was taken, and the characters it was taken for.
#[derive(Clone, Debug)]
pub struct Found {
    pub family: String,
    pub path: PathBuf,
    tag: String,
    characters: BTreeSet<char>,
}

/// Adds what the machine has for the writings in the text that no face has yet.
pub fn complete(faces: &mut Faces, text: &str, language: Language, folders: &[PathBuf]) -> Vec<Found> {
    let mut found = Vec::new();
    let mut files: Option<Vec<PathBuf>> = None;
    while found.len() < MOST {
        let wanted = faces.foreign(text);
        if wanted.is_empty() {
            break;
        }
        let files = files.get_or_insert_with(|| font_files(folders));
        let Some((path, bytes, facts)) = best(files, &wanted, language) else { break };
        let source = FaceSource { tag: language.tag().to_string(), bytes, index: facts.index };
        if faces.add(source).is_err() {
            files.retain(|file| *file != path);
            continue;
        }
        let characters: BTreeSet<char> = wanted.difference(&faces.foreign(text)).copied().collect();
        if characters.is_empty() {
            break;
        }
        found.push(Found { family: facts.family, path, tag: language.tag().to_string(), characters });
    }
    found
}

impl Found {
    /// What is said of it in a manual, where it sets its first character; nothing where it sets none.
    pub fn remark(&self, boxes: &[PlacedBox]) -> Option<Remark> {
        let set_here = |placed: &PlacedBox| placed.text.chars().find(|character| self.characters.contains(character));
        let lines = boxes.iter().filter(|placed| placed.kind == "line").chain(boxes);
        let (first, span) = lines.into_iter().find_map(|placed| Some((set_here(placed)?, placed.span)))?;
        let name = self.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        Some(Remark {
            rule: "system-face",
            level: Level::Warning,
            message: format!(
                "no shipped face has {first:?}: it is set in {:?}, found on this machine ({})",
                self.family,
                self.path.display()
            ),
            hint: Some(format!(
                "its licence is yours to check, and another machine may print other dots: copy the file beside the manual and name it, [faces] {} = {name:?}",
                self.tag
            )),
            span,
        })
    }
}

/// The folders in which systems keep fonts, the person's own first.
pub fn folders() -> Vec<PathBuf> {
    let home = |rest: &str| std::env::home_dir().map(|home| home.join(rest));
    let shared = |variable: &str, rest: &str| std::env::var_os(variable).map(|path| PathBuf::from(path).join(rest));
    let folders: Vec<Option<PathBuf>> = if cfg!(windows) {
        vec![shared("LOCALAPPDATA", "Microsoft\\Windows\\Fonts"), shared("WINDIR", "Fonts")]
    } else if cfg!(target_os = "macos") {
        vec![home("Library/Fonts"), Some("/Library/Fonts".into()), Some("/System/Library/Fonts".into())]
    } else {
        let own = shared("XDG_DATA_HOME", "fonts").or_else(|| home(".local/share/fonts"));
        vec![own, home(".fonts"), Some("/usr/local/share/fonts".into()), Some("/usr/share/fonts".into())]
    };
    folders.into_iter().flatten().collect()
}

/// The file whose face does best; of equals the family that comes first in the alphabet, then the folder and path that do.
fn best(files: &[PathBuf], wanted: &BTreeSet<char>, language: Language) -> Option<(PathBuf, Vec<u8>, Facts)> {
    let mut best: Option<(PathBuf, Vec<u8>, Facts)> = None;
    for file in files {
        let small = std::fs::metadata(file).is_ok_and(|known| known.is_file() && known.len() <= LARGEST_FACE);
        let Some(bytes) = small.then(|| std::fs::read(file).ok()).flatten() else { continue };
        let better = |best: &Facts, new: &Facts| {
            new.fitness.cmp(&best.fitness).then_with(|| best.family.cmp(&new.family)) == std::cmp::Ordering::Greater
        };
        let here = facts(&bytes, wanted, language).into_iter().reduce(|best, new| if better(&best, &new) { new } else { best });
        if let Some(here) = here
            && best.as_ref().is_none_or(|(.., best)| better(best, &here))
        {
            best = Some((file.clone(), bytes, here));
        }
    }
    best
}

/// All font files in the folders: folder by folder, each in the order of its paths.
fn font_files(folders: &[PathBuf]) -> Vec<PathBuf> {
    let mut files = Vec::new();
    folders.iter().for_each(|folder| gather(folder, DEEPEST, &mut files));
    files
}

fn gather(folder: &Path, deep: usize, files: &mut Vec<PathBuf>) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    let mut paths: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.sort();
    for path in paths {
        let kind = path.extension().map(|kind| kind.to_ascii_lowercase());
        match kind.as_ref().and_then(|kind| kind.to_str()) {
            Some("ttf" | "otf" | "ttc" | "otc") => files.push(path),
            _ if deep > 0 && path.is_dir() => gather(&path, deep - 1, files),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lengths::Resolution;
    use crate::type_setting::FONT_FILES;

    fn fonts(names: &[(&str, &[u8])]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for (name, bytes) in names {
            let path = folder.path().join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, bytes).unwrap();
        }
        folder
    }

    #[test]
    fn nothing_is_looked_for_when_every_writing_has_a_face() {
        let mut faces = Faces::new(Resolution::EIGHT);
        // A folder that cannot be read would do no harm; the text asks for none.
        let found = complete(&mut faces, "Tea, thé, чай, τσάι, שלום, شاي \u{2603}", Language::English, &["/nowhere".into()]);
        assert!(found.is_empty());
    }

    #[test]
    fn broken_and_unfit_files_are_passed_over() {
        let folder = fonts(&[("a.ttf", b"no font"), ("deep/sans.ttf", FONT_FILES[0]), ("b.otf", &FONT_FILES[0][..2000])]);
        let mut faces = Faces::new(Resolution::EIGHT);
        let found = complete(&mut faces, "茶を1杯", Language::Japanese, &[folder.path().into()]);
        assert!(found.is_empty());
        assert_eq!(faces.foreign("茶を1杯"), BTreeSet::from(['茶', 'を', '杯']));
    }

    #[test]
    fn files_are_gathered_in_the_order_of_their_paths() {
        let folder = fonts(&[("b.ttf", b""), ("a/z.OTF", b""), ("a/c.txt", b""), ("c.ttc", b"")]);
        let files = font_files(&[folder.path().into()]);
        let names: Vec<_> = files.iter().map(|file| file.strip_prefix(folder.path()).unwrap().display().to_string()).collect();
        assert_eq!(names, ["a/z.OTF", "b.ttf", "c.ttc"]);
    }
}
