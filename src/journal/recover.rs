//! Cutting off a torn last record. Nothing is thrown away: it is set aside first, whole.

use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use super::chain::Torn;
use super::error::Error;

/// Keeps the torn record in `FILE.torn-N`, then cuts it off. The caller holds the lock, so nobody is still writing it.
pub(super) fn cut(file: &File, path: &Path, mut torn: Torn) -> Result<Torn, Error> {
    let (kept, mut aside) = new_aside(path)?;
    let stored = aside.write_all(&torn.bytes).and_then(|()| aside.sync_all());
    stored.map_err(Error::io("keep the torn record in", &kept))?;
    sync_folder(path)?;
    let cut = file.set_len(torn.offset).and_then(|()| file.sync_all());
    cut.map_err(Error::io("cut the torn record off", path))?;
    torn.kept = Some(kept);
    Ok(torn)
}

fn new_aside(path: &Path) -> Result<(PathBuf, File), Error> {
    let mut n = 1_u32;
    loop {
        let mut name = path.as_os_str().to_owned();
        name.push(format!(".torn-{n}"));
        let aside = PathBuf::from(name);
        match owner_only(OpenOptions::new().write(true).create_new(true)).open(&aside) {
            Ok(file) => return Ok((aside, file)),
            Err(e) if e.kind() == ErrorKind::AlreadyExists => n += 1,
            Err(e) => return Err(Error::io("keep the torn record in", &aside)(e)),
        }
    }
}

/// Files are made readable by their owner only.
pub(super) fn owner_only(options: &mut OpenOptions) -> &mut OpenOptions {
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    options
}

/// Makes a new name in a folder last.
pub(super) fn sync_folder(path: &Path) -> Result<(), Error> {
    let folder = path.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
    #[cfg(unix)]
    File::open(folder).and_then(|f| f.sync_all()).map_err(Error::io("sync the folder", folder))?;
    Ok(())
}
