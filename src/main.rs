//! Reads the arguments, runs the command, maps the outcome to an exit code.

fn main() -> std::process::ExitCode {
    dwellhand::cli::main()
}
