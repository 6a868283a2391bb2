//! Arguments to a command, an error to an exit code; nothing else.

use std::process::ExitCode;

fn main() -> ExitCode {
    stripling::commands::run(std::env::args_os())
}
