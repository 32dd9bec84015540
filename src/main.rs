//! The program: hands the command line to the library and its answer to the system.

fn main() -> std::process::ExitCode {
    evenfire::cli::main()
}
