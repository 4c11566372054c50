//! PROJ kept from writing to the terminal.
//!
//! PROJ tells its faults on stderr by itself (`proj_create: crs not found`), beside the message that we give for the
//! same fault. It listens to `PROJ_DEBUG`, read when the program starts; a program cannot safely change its own
//! environment, so it starts itself again with it, in the same process. What the user has set stands.

/// Starts the program again with PROJ quiet, unless that is so already. Where it cannot be done, the line stays.
pub(crate) fn proj() {
    #[cfg(unix)]
    if std::env::var_os("PROJ_DEBUG").is_none()
        && let Ok(program) = std::env::current_exe()
    {
        use std::os::unix::process::CommandExt;
        let mut arguments = std::env::args_os();
        let name = arguments.next().unwrap_or_else(|| program.clone().into_os_string());
        // Comes back only when it failed.
        let _ = std::process::Command::new(program).arg0(name).args(arguments).env("PROJ_DEBUG", "0").exec();
    }
}
