//! A bar for long work, on a terminal only.

use std::io::IsTerminal;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::report::Reporter;

pub struct Progress(ProgressBar);

impl Progress {
    /// Nothing is shown when quiet, on a pipe, or for a single thing.
    pub fn new(count: u64, what: &str, reporter: &Reporter) -> Progress {
        let bar = ProgressBar::new(count);
        let shown = !reporter.is_quiet() && count > 1 && std::io::stderr().is_terminal();
        bar.set_draw_target(if shown { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() });
        let template = format!("{{bar:40}} {{pos}}/{{len}} {what}, {{eta}} left");
        if let Ok(style) = ProgressStyle::with_template(&template) {
            bar.set_style(style);
        }
        Progress(bar)
    }

    pub fn step(&self, by: u64) {
        self.0.inc(by);
    }

    /// Takes the bar away.
    pub fn end(&self) {
        self.0.finish_and_clear();
    }
}
