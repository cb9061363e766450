//! What a journal asks of a disk. The real one is a file; a test has one that fails where it is told to.

use std::fmt;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Read, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};

/// One file that only grows, shared by several programs.
pub trait Disk: fmt::Debug + Send {
    /// Its length in bytes.
    fn length(&self) -> io::Result<u64>;
    /// What stands in it from a place on.
    fn read_from(&mut self, offset: u64) -> io::Result<Box<dyn Read + '_>>;
    /// Writes at its end. On an error any part of the bytes may stand there.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;
    /// Returns once everything written is sure to be there after a power cut.
    fn sync(&mut self) -> io::Result<()>;
    /// Makes it so many bytes long, surely.
    fn cut(&mut self, length: u64) -> io::Result<()>;
    /// Copies what stands in it from a place on into a new file beside it, `NAME.WHY-N`, surely. Says where.
    fn keep_aside(&mut self, why: &str, from: u64) -> io::Result<PathBuf>;
    /// Takes the lock on it, alone or shared with others who only read, if it is free.
    fn try_lock(&mut self, shared: bool) -> Result<(), TryLockError>;
    /// Lets go of the lock.
    fn unlock(&mut self);
    /// Looks whether its name still leads to it, and mends that if it can: see [`Found`]. `seen` is how many bytes whoever
    /// asks has read. The caller holds the lock.
    fn find(&mut self, _seen: u64) -> io::Result<Found> {
        Ok(Found::Here)
    }
}

/// What became of a file's name while it was open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// It leads to the file.
    Here,
    /// It was gone; the file was put back, whole, from the one that is open.
    PutBack,
    /// It leads to another file that begins with all that was read: that one is open now, not locked.
    Other,
    /// It leads to something else.
    Strange,
    /// It is gone, and whoever only looks does not put it back.
    Gone,
}

/// A file on a real disk.
#[derive(Debug)]
pub(super) struct OnDisk {
    file: File,
    path: PathBuf,
    follows: bool,
}

impl OnDisk {
    /// Makes a new file, for its owner only.
    pub(super) fn create(path: &Path) -> io::Result<Self> {
        let mut options = OpenOptions::new();
        options.read(true).append(true).create_new(true);
        let file = owner_only(&mut options).open(path)?;
        Ok(Self { file, path: path.to_owned(), follows: false })
    }

    /// Opens a file that is there, only to read it if `follows`.
    pub(super) fn open(path: &Path, follows: bool) -> io::Result<Self> {
        let file = OpenOptions::new().read(true).append(!follows).open(path)?;
        Ok(Self { file, path: path.to_owned(), follows })
    }

    /// Under another name first: whoever finds the name again finds all of it.
    fn put_back(&mut self) -> io::Result<Found> {
        let (aside, _) = new_aside(&self.path, "again")?;
        let done = self.put_back_from(&aside);
        let _ = std::fs::remove_file(&aside);
        done
    }

    fn put_back_from(&mut self, aside: &Path) -> io::Result<Found> {
        let mut new = Self { path: self.path.clone(), ..Self::open(aside, false)? };
        new.file.try_lock().map_err(io::Error::from)?;
        self.file.seek(SeekFrom::Start(0))?;
        io::copy(&mut self.file, &mut new.file)?;
        new.file.sync_all()?;
        match std::fs::hard_link(aside, &self.path) {
            Ok(()) => {}
            // Another program was faster.
            Err(e) if e.kind() == ErrorKind::AlreadyExists => return Ok(Found::Other),
            Err(e) => return Err(e),
        }
        sync_folder(&self.path)?;
        *self = new;
        Ok(Found::PutBack)
    }

    fn take_other(&mut self, seen: u64) -> io::Result<Found> {
        let mut other = Self::open(&self.path, self.follows)?;
        if other.length()? < seen || !same_beginning(&mut self.file, &mut other.file, seen)? {
            return Ok(Found::Strange);
        }
        *self = other;
        Ok(Found::Other)
    }
}

impl Disk for OnDisk {
    fn length(&self) -> io::Result<u64> {
        Ok(self.file.metadata()?.len())
    }
    fn read_from(&mut self, offset: u64) -> io::Result<Box<dyn Read + '_>> {
        self.file.seek(SeekFrom::Start(offset))?;
        Ok(Box::new(&self.file))
    }
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.file.write_all(bytes)
    }
    fn sync(&mut self) -> io::Result<()> {
        self.file.sync_data()
    }
    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.file.set_len(length).and_then(|()| self.file.sync_all())
    }
    fn keep_aside(&mut self, why: &str, from: u64) -> io::Result<PathBuf> {
        let (kept, mut aside) = new_aside(&self.path, why)?;
        self.file.seek(SeekFrom::Start(from))?;
        io::copy(&mut self.file, &mut aside)?;
        aside.sync_all()?;
        sync_folder(&self.path)?;
        Ok(kept)
    }
    fn try_lock(&mut self, shared: bool) -> Result<(), TryLockError> {
        if shared { self.file.try_lock_shared() } else { self.file.try_lock() }
    }
    fn unlock(&mut self) {
        // Letting go cannot fail in a way that matters: the lock ends with the file at the latest.
        let _ = self.file.unlock();
    }
    fn find(&mut self, seen: u64) -> io::Result<Found> {
        match std::fs::metadata(&self.path) {
            Ok(there) if same_file(&there, &self.file.metadata()?) => Ok(Found::Here),
            Ok(_) => self.take_other(seen),
            Err(e) if e.kind() != ErrorKind::NotFound => Err(e),
            Err(_) if self.follows => Ok(Found::Gone),
            Err(_) => match self.put_back()? {
                Found::Other => self.take_other(seen),
                found => Ok(found),
            },
        }
    }
}

#[cfg(unix)]
fn same_file(a: &std::fs::Metadata, b: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    (a.dev(), a.ino()) == (b.dev(), b.ino())
}

/// An open file cannot be removed there.
#[cfg(not(unix))]
fn same_file(_: &std::fs::Metadata, _: &std::fs::Metadata) -> bool {
    true
}

fn same_beginning(one: &mut File, other: &mut File, length: u64) -> io::Result<bool> {
    let mut rest = length;
    let (mut a, mut b) = (vec![0; 1 << 16], vec![0; 1 << 16]);
    one.seek(SeekFrom::Start(0))?;
    other.seek(SeekFrom::Start(0))?;
    while rest > 0 {
        let n = usize::try_from(rest).map_or(a.len(), |rest| rest.min(a.len()));
        one.read_exact(&mut a[..n])?;
        other.read_exact(&mut b[..n])?;
        if a[..n] != b[..n] {
            return Ok(false);
        }
        rest -= n as u64;
    }
    Ok(true)
}

fn new_aside(path: &Path, why: &str) -> io::Result<(PathBuf, File)> {
    let mut n = 1_u32;
    loop {
        let mut name = path.as_os_str().to_owned();
        name.push(format!(".{why}-{n}"));
        let aside = PathBuf::from(name);
        match owner_only(OpenOptions::new().write(true).create_new(true)).open(&aside) {
            Ok(file) => return Ok((aside, file)),
            Err(e) if e.kind() == ErrorKind::AlreadyExists => n += 1,
            Err(e) => return Err(e),
        }
    }
}

/// Files are made readable by their owner only.
pub fn owner_only(options: &mut OpenOptions) -> &mut OpenOptions {
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    options
}

/// Makes a new name in a folder last.
pub(super) fn sync_folder(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
    #[cfg(unix)]
    File::open(folder).and_then(|f| f.sync_all())?;
    Ok(())
}
