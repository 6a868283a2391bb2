//! Galleys kept by what they were made of, so that a block that did not change is not set again.
//!
//! The key is the block, the content of every picture in it, and what it was set with: style, paper, language, words of the writer's own, room in a panel, all
//! compared for equality. The faces are not in it: a cache is kept only as long as its faces are. So a kept galley is the very
//! galley that setting the block again would give.

use std::collections::HashMap;
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};

use super::blocks::Gap;
use super::context::Context;
use super::galley::Galley;
use super::style::Style;
use crate::language::{Language, OwnWords};
use crate::lengths::{Dots, Paper};
use crate::manual::document::{Block, Kind};
use crate::models::ModelId;
use crate::pictures::ContentId;

/// Above so many, galleys that the last strips did not use are let go.
const ROOM: usize = 2048;

/// How many strips back a galley may have been used last.
const REACH: u64 = 16;

#[derive(Default)]
pub struct GalleyCache {
    shelves: Mutex<HashMap<u64, Vec<Entry>>>,
    strips: AtomicU64,
}

struct Entry {
    key: Key,
    galley: Arc<Galley>,
    used: u64,
}

#[derive(Clone, PartialEq, Eq, Hash)]
struct Key {
    /// Blocks that are set as one, each with where it begins behind the first.
    kinds: Vec<(u32, Kind)>,
    gaps: [Gap; 2],
    subtitle: Option<String>,
    /// What each picture holds, or why it cannot be used: the galley says so.
    pictures: Vec<Result<ContentId, String>>,
    /// The same of each model file.
    models: Vec<Result<ModelId, String>>,
    style: Style,
    paper: Paper,
    language: Language,
    own_words: OwnWords,
    panel_room: Option<Dots>,
    shrink: u8,
}

impl GalleyCache {
    pub fn new() -> GalleyCache {
        GalleyCache::default()
    }

    /// The galley of a block, or of some that are set as one: the kept one, or the one that `set` makes.
    pub fn galley(
        &self,
        context: &Context,
        blocks: &[Block],
        gaps: [Gap; 2],
        subtitle: Option<&str>,
        set: impl FnOnce() -> Galley,
    ) -> Arc<Galley> {
        let addresses: Vec<&str> = blocks.iter().flat_map(Block::pictures).collect();
        let seen = context.pictures.look_all(&addresses);
        let pictures = seen.into_iter().map(|info| info.map(|info| info.id).map_err(|error| error.to_string())).collect();
        let figures: Vec<_> = blocks.iter().flat_map(Block::models).collect();
        let models = figures.iter().flat_map(|figure| &figure.models);
        let models = models.map(|model| context.pictures.models().id(&model.name).map_err(|error| error.to_string())).collect();
        let subtitle =
            if blocks.iter().any(|block| matches!(block.kind, Kind::Title(_))) { subtitle.map(str::to_string) } else { None };
        let key = Key {
            kinds: blocks.iter().map(|block| (block.span.start - blocks[0].span.start, block.kind.clone())).collect(),
            gaps,
            subtitle,
            pictures,
            models,
            style: context.style.clone(),
            paper: context.paper,
            language: context.language,
            own_words: context.own_words.clone(),
            panel_room: context.panel_room,
            shrink: context.shrink,
        };
        let mut hasher = DefaultHasher::new();
        key.hash(&mut hasher);
        let shelf = hasher.finish();
        let now = self.strips.load(Ordering::Relaxed);
        if let Some(entry) = self.lock().get_mut(&shelf).and_then(|entries| entries.iter_mut().find(|entry| entry.key == key)) {
            entry.used = now;
            return entry.galley.clone();
        }
        let galley = Arc::new(set());
        self.lock().entry(shelf).or_default().push(Entry { key, galley: galley.clone(), used: now });
        galley
    }

    /// Called once a strip.
    pub fn tidy(&self) {
        let now = self.strips.fetch_add(1, Ordering::Relaxed) + 1;
        let mut shelves = self.lock();
        if shelves.len() <= ROOM {
            return;
        }
        for entries in shelves.values_mut() {
            entries.retain(|entry| entry.used + REACH >= now);
        }
        shelves.retain(|_, entries| !entries.is_empty());
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, HashMap<u64, Vec<Entry>>> {
        self.shelves.lock().unwrap_or_else(|poisoned| poisoned.into_inner())
    }
}
