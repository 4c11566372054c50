//! PROJ kept to its built-in database, and from writing to the terminal.
//!
//! PROJ tells its faults on stderr by itself (`proj_create: crs not found`), beside the message that we give for the
//! same fault; and it looks for a database where another program's installation may have told it to (`PROJ_DATA`,
//! `PROJ_LIB`, the user's folder) before it takes the one built in, which then may not fit. It reads that from the
//! environment when the program starts; a program cannot safely change its own, so it starts itself again with it, in
//! the same process.

/// Set in the program that was started again.
const DONE: &str = "SWALEWRIGHT_PROJ_BUILT_IN";

/// Starts the program again with PROJ quiet and on its own database, unless that is so already. Where it cannot be
/// done, the program goes on as it is.
pub(crate) fn proj() {
    #[cfg(unix)]
    if std::env::var_os(DONE).is_none()
        && let Ok(program) = std::env::current_exe()
    {
        use std::os::unix::process::CommandExt;
        let mut arguments = std::env::args_os();
        let name = arguments.next().unwrap_or_else(|| program.clone().into_os_string());
        let debug = std::env::var_os("PROJ_DEBUG").unwrap_or_else(|| "0".into());
        // Comes back only when it failed.
        let _ = std::process::Command::new(program)
            .arg0(name)
            .args(arguments)
            .env(DONE, "1")
            .env("PROJ_DEBUG", debug)
            .env_remove("PROJ_DATA")
            .env_remove("PROJ_LIB")
            .env("PROJ_USER_WRITABLE_DIRECTORY", "/nonexistent")
            .exec();
    }
}
