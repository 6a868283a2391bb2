//! The program's commands, one file each.

pub mod ledger;
pub mod print;
