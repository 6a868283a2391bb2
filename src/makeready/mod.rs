//! Making a printer ready: what it is asked, what it prints so that a person sees what it can do, and the file that follows from both.
//!
//! Nothing here decides for the maker: every value of the file says how it is known, asked of the printer, seen by a person, or guessed.
//! This room reads and writes no file; the conversation is a command's.

pub mod answers;
pub mod asking;
pub mod edges;
pub mod look;
pub mod marks;
pub mod outcome;
pub mod photograph;
pub mod questions;
pub mod ways;
