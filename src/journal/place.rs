//! Where journals and preferences lie if nobody says otherwise.

use std::path::{Path, PathBuf};

use etcetera::base_strategy::{BaseStrategy as _, Xdg};

use super::Error;

/// The path of a journal in the user's state folder: `$XDG_STATE_HOME/dwellhand/NAME`, or
/// `~/.local/state/dwellhand/NAME`. In the working folder for a user without a home.
pub fn default_path(name: &str) -> PathBuf {
    let state = Xdg::new().ok().and_then(|dirs| dirs.state_dir());
    state.unwrap_or_default().join("dwellhand").join(name)
}

/// The path of a file in the user's configuration folder: `$XDG_CONFIG_HOME/dwellhand/NAME`, or
/// `~/.config/dwellhand/NAME`.
pub fn config_path(name: &str) -> PathBuf {
    let config = Xdg::new().ok().map(|dirs| dirs.config_dir());
    config.unwrap_or_default().join("dwellhand").join(name)
}

/// Makes the folder a journal is to lie in, readable by its owner only. Nothing happens if it is there.
pub fn ensure_folder(path: &Path) -> Result<(), Error> {
    let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) else { return Ok(()) };
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder).map_err(Error::io("make the folder", folder))
}
