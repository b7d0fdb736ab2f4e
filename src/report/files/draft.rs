//! A file on its way: what fills it, and the other name under which it is written until it is whole.

use super::{UNFINISHED, WriteError};
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// What a file is filled with: bytes, or a [`Stream`].
pub trait Fill {
    /// Writes all of it.
    ///
    /// # Errors
    /// When the writer fails.
    fn fill(&self, to: &mut dyn Write) -> io::Result<()>;
}

impl<T: AsRef<[u8]>> Fill for T {
    fn fill(&self, to: &mut dyn Write) -> io::Result<()> {
        to.write_all(self.as_ref())
    }
}

/// A file that is written as it is made: nobody holds the whole of its text.
pub struct Stream<'a>(Box<Writes<'a>>);

type Writes<'a> = dyn Fn(&mut dyn Write) -> io::Result<()> + 'a;

impl<'a> Stream<'a> {
    /// A file that `write` writes.
    pub fn new(write: impl Fn(&mut dyn Write) -> io::Result<()> + 'a) -> Self {
        Self(Box::new(write))
    }
}

impl Fill for Stream<'_> {
    fn fill(&self, to: &mut dyn Write) -> io::Result<()> {
        (self.0)(to)
    }
}

/// A file being written under another name in its folder.
pub(super) struct Draft {
    file: NamedTempFile,
    target: PathBuf,
}

impl Draft {
    pub(super) fn new(
        folder: &Path,
        name: &str,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<Self, WriteError> {
        let target = folder.join(name);
        let mut builder = tempfile::Builder::new();
        builder.prefix(UNFINISHED);
        #[cfg(unix)]
        let permissions = {
            use std::os::unix::fs::PermissionsExt;
            // narrowed by the user's mask, like any new file
            fs::Permissions::from_mode(0o666)
        };
        #[cfg(unix)]
        builder.permissions(permissions);
        // the folder may have gone during long work
        let made = fs::create_dir_all(folder).and_then(|()| builder.tempfile_in(folder));
        let mut file = made.map_err(refused(&target, "created"))?;
        let written = {
            let mut buffered = io::BufWriter::new(file.as_file_mut());
            fill(&mut buffered).and_then(|()| buffered.flush())
        };
        written.and_then(|()| file.as_file().sync_all()).map_err(refused(&target, "written"))?;
        Ok(Self { file, target })
    }

    pub(super) fn put_in_place(self) -> Result<(), WriteError> {
        let Self { file, target } = self;
        file.persist(&target).map_err(|e| refused(&target, "put in place")(e.error))?;
        Ok(())
    }

    pub(super) fn put_in_free_place(self) -> Result<(), WriteError> {
        let Self { file, target } = self;
        match file.persist_noclobber(&target) {
            Ok(_) => Ok(()),
            Err(e) if e.error.kind() == io::ErrorKind::AlreadyExists => {
                Err(WriteError::Exists { path: target })
            }
            Err(e) => Err(refused(&target, "put in place")(e.error)),
        }
    }
}

/// That the system refused what was tried with a file.
pub(super) fn refused(path: &Path, tried: &'static str) -> impl FnOnce(io::Error) -> WriteError {
    let path = path.to_owned();
    move |error| WriteError::Refused { path, tried, error: plain(error) }
}

/// What the system says, without the name of the unfinished file and the words of the CSV writer around it: the message names the target.
fn plain(error: io::Error) -> io::Error {
    let error = match error.downcast::<csv::Error>().map(csv::Error::into_kind) {
        Ok(csv::ErrorKind::Io(error)) | Err(error) => error,
        Ok(_) => io::ErrorKind::InvalidData.into(),
    };
    // what the system says itself wraps nothing
    if error.get_ref().is_some() { error.kind().into() } else { error }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draft_that_fails_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("run.txt"), "old").unwrap();
        let failed = Draft::new(folder.path(), "run.txt", |to| {
            to.write_all(b"half")?;
            Err(io::Error::from(io::ErrorKind::StorageFull))
        });
        assert!(matches!(failed, Err(WriteError::Refused { tried: "written", .. })));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        assert_eq!(fs::read_to_string(folder.path().join("run.txt")).unwrap(), "old");
    }

    #[test]
    fn a_full_disk_is_named_through_the_csv_writer_too() {
        let folder = tempfile::tempdir().unwrap();
        let failed = Draft::new(folder.path(), "draws.csv", |_| {
            Err(csv::Error::from(io::Error::from(io::ErrorKind::StorageFull)).into())
        });
        let Err(WriteError::Refused { error, .. }) = failed else { panic!("it was written") };
        assert_eq!(error.kind(), io::ErrorKind::StorageFull);
    }
}
