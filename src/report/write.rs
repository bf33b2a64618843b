//! Files written whole or not at all.

use super::ReportError;
use std::fs::Metadata;
use std::io::Write as _;
use std::path::{Component, Path, PathBuf};
use tempfile::NamedTempFile;

/// Why what is there is not to be replaced by a file; none where it may be.
pub fn not_replaced(there: &Metadata) -> Option<&'static str> {
    if !there.is_file() {
        return Some("it exists and is not a regular file");
    }
    there.permissions().readonly().then_some("it is read-only")
}

/// Writes a file whole or not at all.
///
/// The bytes go to a temporary file in the same folder, which then takes the target's name. An
/// existing regular file is replaced in one step and keeps its permissions and, where the system lets it, its owner; a
/// read-only one is spared; a symbolic link is followed. When anything fails the old file is untouched and nothing new is left behind.
///
/// # Errors
/// [`ReportError::Write`] when the folder is missing or not writable, or the disk is full;
/// [`ReportError::BadTarget`] when the target exists and is not a regular file, or is read-only.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), ReportError> {
    persist(prepare(path, bytes)?)
}

/// Writes a new file whole or not at all; a file that is there already stays as it is.
///
/// # Errors
/// [`ReportError::BadTarget`] when something of that name exists; [`ReportError::Write`] as [`write_whole`].
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), ReportError> {
    let exists = || ReportError::BadTarget { path: path.to_owned(), reason: "it exists already" };
    if path.symlink_metadata().is_ok() {
        return Err(exists());
    }
    let Prepared { file, target } = prepare(path, bytes)?;
    match file.persist_noclobber(&target) {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == std::io::ErrorKind::AlreadyExists => Err(exists()),
        Err(error) => Err(failed("write", &target, error.error)),
    }
}

/// Writes several files into a folder, which is created when it is missing.
///
/// All bytes are written to temporary files first; only when every one is complete do they take
/// their names, replacing files of those names. No file is ever half written, and when writing
/// fails no file has changed and a folder made here is removed again.
///
/// # Arguments
/// - `folder`: where the files go
/// - `files`: plain file names without folders, and their bytes
///
/// # Errors
/// As [`write_whole`]; [`ReportError::BadTarget`] also when a name is not a plain file name.
pub fn write_all<N: AsRef<str>, B: AsRef<[u8]>>(folder: &Path, files: &[(N, B)]) -> Result<(), ReportError> {
    for (name, _) in files {
        let mut parts = Path::new(name.as_ref()).components();
        if !matches!((parts.next(), parts.next()), (Some(Component::Normal(_)), None)) {
            let path = folder.join(name.as_ref());
            return Err(ReportError::BadTarget { path, reason: "the name is not a plain file name" });
        }
    }
    let is_new = !folder.exists();
    if is_new {
        std::fs::create_dir_all(folder).map_err(|source| failed("create", folder, source))?;
    }
    let prepared: Result<Vec<_>, _> =
        files.iter().map(|(name, bytes)| prepare(&folder.join(name.as_ref()), bytes.as_ref())).collect();
    match prepared {
        Ok(prepared) => prepared.into_iter().try_for_each(persist),
        Err(error) => {
            if is_new {
                // Best effort: the first failure is the one to report.
                let _ = std::fs::remove_dir(folder);
            }
            Err(error)
        }
    }
}

/// A complete temporary file and the name it is to take.
struct Prepared {
    file: NamedTempFile,
    target: PathBuf,
}

fn prepare(path: &Path, bytes: &[u8]) -> Result<Prepared, ReportError> {
    let target = if path.is_symlink() {
        path.canonicalize().map_err(|source| failed("follow", path, source))?
    } else {
        path.to_owned()
    };
    let existing = target.metadata().ok();
    if let Some(reason) = existing.as_ref().and_then(not_replaced) {
        return Err(ReportError::BadTarget { path: path.to_owned(), reason });
    }
    let folder = match target.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let mut file = temporary(folder).map_err(|source| failed("write", path, source))?;
    file.write_all(bytes).map_err(|source| failed("write", path, source))?;
    if let Some(existing) = existing {
        keep_owner(&file, &existing);
        file.as_file()
            .set_permissions(existing.permissions())
            .map_err(|source| failed("write", path, source))?;
    }
    file.as_file().sync_all().map_err(|source| failed("write", path, source))?;
    Ok(Prepared { file, target })
}

/// Gives a file that is to replace another the owner and group of that one, where the system lets it.
#[cfg(unix)]
fn keep_owner(file: &NamedTempFile, replaced: &Metadata) {
    use std::os::unix::fs::{MetadataExt as _, fchown};
    // Only who may give files away can do this; for all others the owner is their own already.
    let _ = fchown(file.as_file(), Some(replaced.uid()), Some(replaced.gid()));
}

#[cfg(not(unix))]
fn keep_owner(_: &NamedTempFile, _: &Metadata) {}

fn persist(prepared: Prepared) -> Result<(), ReportError> {
    let Prepared { file, target } = prepared;
    file.persist(&target).map(drop).map_err(|e| failed("replace", &target, e.error))
}

fn temporary(folder: &Path) -> std::io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".endgas-");
    #[cfg(unix)]
    let mode: std::fs::Permissions = std::os::unix::fs::PermissionsExt::from_mode(0o666);
    // The usual mode of a new file, less the umask; temporary files are private otherwise.
    #[cfg(unix)]
    builder.permissions(mode);
    builder.tempfile_in(folder)
}

fn failed(action: &'static str, path: &Path, source: std::io::Error) -> ReportError {
    ReportError::Write { action, path: path.to_owned(), source }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|f| f.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn an_existing_file_is_replaced_and_no_other_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write_whole(&path, b"long old text").unwrap();
        write_whole(&path, b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(names(folder.path()), ["a.txt"]);
    }

    #[test]
    fn a_missing_folder_is_an_error_that_names_the_file() {
        let folder = tempfile::tempdir().unwrap();
        let error = write_whole(&folder.path().join("none/a.txt"), b"x").unwrap_err();
        assert!(error.to_string().contains("a.txt"), "{error}");
        assert!(names(folder.path()).is_empty());
    }

    #[test]
    fn a_new_file_never_takes_the_place_of_another() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write_new(&path, b"first").unwrap();
        assert!(matches!(write_new(&path, b"second").unwrap_err(), ReportError::BadTarget { .. }));
        assert_eq!(fs::read(&path).unwrap(), b"first");
        assert_eq!(names(folder.path()), ["a.txt"]);
    }

    #[test]
    fn a_read_only_file_is_spared() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        fs::write(&path, "old").unwrap();
        let mut permissions = fs::metadata(&path).unwrap().permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&path, permissions).unwrap();
        assert!(matches!(write_whole(&path, b"new").unwrap_err(), ReportError::BadTarget { .. }));
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(names(folder.path()), ["a.txt"]);
    }

    #[test]
    fn a_folder_in_the_way_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let error = write_whole(folder.path(), b"x").unwrap_err();
        assert!(matches!(error, ReportError::BadTarget { .. }));
    }

    #[test]
    fn several_files_go_to_a_new_folder() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("x/y");
        write_all(&target, &[("a.svg", "1"), ("b.svg", "2")]).unwrap();
        assert_eq!(names(&target), ["a.svg", "b.svg"]);
        assert_eq!(fs::read(target.join("b.svg")).unwrap(), b"2");
    }

    #[test]
    fn when_one_file_fails_none_is_changed() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("a.svg"), "old").unwrap();
        fs::create_dir(folder.path().join("b.svg")).unwrap();
        write_all(folder.path(), &[("a.svg", "new"), ("b.svg", "2")]).unwrap_err();
        assert_eq!(fs::read(folder.path().join("a.svg")).unwrap(), b"old");
        assert_eq!(names(folder.path()), ["a.svg", "b.svg"]);
    }

    #[test]
    fn names_with_folders_are_refused_before_anything_is_made() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("new");
        for name in ["../a.svg", "x/a.svg", "", "/a.svg"] {
            let error = write_all(&target, &[(name, "1")]).unwrap_err();
            assert!(matches!(error, ReportError::BadTarget { .. }), "{name}");
        }
        assert!(!target.exists());
    }

    #[cfg(unix)]
    #[test]
    fn permissions_of_an_existing_file_are_kept_and_links_followed() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write_whole(&path, b"1").unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        let link = folder.path().join("link");
        std::os::unix::fs::symlink(&path, &link).unwrap();
        write_whole(&link, b"2").unwrap();
        assert!(link.is_symlink());
        assert_eq!(fs::read(&path).unwrap(), b"2");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
    }
}
